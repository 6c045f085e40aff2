"""What residents said: who answered, three counts side by side, comments by place and question."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from playsite.report.ballot_words import all_sites, ballot_sentences
from playsite.report.firm_facts import criterion_name, rows_of
from playsite.report.memo.ballot_chart import ballot_figure
from playsite.report.memo.blocks import Heading, Paragraph, Table
from playsite.report.plain_text import one_line
from playsite.report.wording import is_missing, ordinal

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings

__all__ = ["residents"]

_MOST_SITES, _MOST_TOPICS, _LONGEST = 20, 20, 160


def residents(readings: Readings, page: Page) -> Iterator[Block]:
    """Give the sentences, the counts of each group, and the comments."""
    ballots, names = readings.result.ballots, all_sites(readings.result)
    if ballots is None:
        return
    yield Heading("What residents said")
    for sentence in ballot_sentences(readings.result):
        yield Paragraph(sentence, evidence=("B",))
    for drawn in ballot_figure(ballots.counts["all"], names, page.text_mm):
        yield replace(drawn, evidence=("B",))
    for group, count in ballots.counts.items():
        table = count.table.sort_values(["points", "approvals"], ascending=False, kind="stable")
        rows = tuple(
            (
                names[str(row["index"])],
                ordinal(rank)
                if (rank := readings.firm.rank.get(str(row["index"])))
                else "not ranked",
                *(_cell(row[column]) for column in ("approvals", "first_choices", "points")),
                _duels(row),
            )
            for row in rows_of(table.head(_MOST_SITES).reset_index())
        )
        who = "all ballots" if group == "all" else f"ballots of {group}"
        yield Table(
            f"Counts of {who}",
            (f"Site ({count.ballots:,} {who})", "By score", "Approve it", "Put it first", "Points", "Wins, losses"),
            rows,
            tuple(page.text_mm * share for share in (0.3, 0.14, 0.14, 0.14, 0.14, 0.14)),
            bold=(0,),
            evidence=("B",),
        )  # fmt: skip
    yield from _comments(readings, names, page)


def _cell(value: float) -> str:
    return "" if is_missing(value) else f"{value:,.1f}".removesuffix(".0")


def _duels(row: dict[Any, Any]) -> str:
    return "" if is_missing(row["wins"]) else f"{row['wins']:.0f}, {row['losses']:.0f}"


def _comments(readings: Readings, names: dict[str, str], page: Page) -> Iterator[Block]:
    comments = readings.result.ballots.comments if readings.result.ballots else None
    if comments is None or comments.empty:
        return
    topics: dict[tuple[str, str], list[str]] = {}
    for row in rows_of(comments):
        topics.setdefault((row["parcel_id"], row["criterion"]), []).append(row["comment"])
    order = sorted(topics.items(), key=lambda item: -len(item[1]))
    rows = tuple(
        (
            names[parcel],
            criterion_name(about).capitalize() if about else "Something else",
            f"{len(said):,}",
            one_line(said[0], _LONGEST),
        )
        for (parcel, about), said in order[:_MOST_TOPICS]
    )
    yield Table(
        "Comments by site and question",
        ("Site", "About", "Times", "One of them"),
        rows,
        tuple(page.text_mm * share for share in (0.14, 0.2, 0.08, 0.58)),
    )
