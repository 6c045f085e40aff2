"""The results: every ranked site in order, and the short list question by question."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from playsite.report.memo.blocks import Heading, Paragraph, Table
from playsite.report.memo.charts import score_bars, total_bars
from playsite.report.memo.readings import plain_name
from playsite.report.memo.widths import shares
from playsite.report.wording import (
    joined,
    ordinal,
    percent_text,
    plain_cell,
    score_range_text,
    score_text,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.criteria._registry import Chosen
    from playsite.report.memo.blocks import Block, Page, Parts
    from playsite.report.memo.readings import Readings

__all__ = ["all_ranked", "matrix", "results"]

_MOST_RANKED = 40
_NAMES = 0.85  # of the width of a site, for the names of questions


def results(readings: Readings, page: Page) -> Iterator[Block]:
    """Give the scores of all ranked sites, those of the short list by question, and the matrix."""
    if not readings.ranked:
        return
    yield Heading("Results")
    if readings.result.shows_order:
        yield total_bars(readings.result, page.text_mm)
        yield Heading("The short list, question by question", 2)
        yield matrix(readings, page)
    yield score_bars(readings, page.text_mm)


def all_ranked(readings: Readings, page: Page) -> Iterator[Block]:
    """List every ranked site, where that says more than the short list does."""
    if not readings.result.shows_order:
        return
    yield Heading("All ranked sites", 2)
    yield _ranking(readings, page)
    if len(readings.ranked) > _MOST_RANKED:
        yield Paragraph(f"The first {_MOST_RANKED} are listed; sites.csv has all.", "note")


def _ranking(readings: Readings, page: Page) -> Table:
    ranks = [int(site["rank"]) for site in readings.ranked]
    needs = readings.result.conditions.groupby("parcel_id")["needs"].agg(list).to_dict()
    rows = []
    for site in readings.ranked[:_MOST_RANKED]:
        rank = int(site["rank"])
        rows.append(
            (
                ordinal(rank) + (", tied" if ranks.count(rank) > 1 else ""),
                readings.title(site),
                score_text(site["score"]),
                score_range_text(site["score_low"], site["score_high"]),
                percent_text(100 * float(site["known_share"])),
                joined([plain_cell(need) for need in needs.get(site["parcel_id"], [])]),
            )
        )
    return Table(
        "Ranked sites, best first",
        ("Rank", "Site", "Score of 100", "Range", "Known", "Only with"),
        tuple(rows),
        shares(page, 0.1, 0.27, 0.1, 0.14, 0.08, 0.31),
        bold=(0, 2),
        evidence=tuple(f"S{site['site_no']}" for site in readings.short_list),
    )


def matrix(readings: Readings, page: Page) -> Table:
    """Put questions against the sites of the short list, value and word."""
    sites = readings.short_list
    rows = []
    for chosen in readings.weighed:
        name = plain_name(chosen)
        cells = [_value_and_word(readings, site, chosen) for site in sites]
        rows.append((name[:1].upper() + name[1:], *cells))
    rows.append(("Score", *(f"{score_text(site['score'])} of 100" for site in sites)))
    names = [f"Site {site['site_no']}" for site in sites]
    return Table(
        f"Measured values and words of {joined(names)}",
        ("Question", *names),
        tuple(rows),
        tuple(
            share * page.text_mm / (_NAMES + max(len(sites), 3))
            for share in (_NAMES, *[1.0] * len(sites))
        ),
        bold=(0,),
        evidence=tuple(f"{letter}{site['site_no']}" for letter in "VS" for site in sites),
    )


def _value_and_word(readings: Readings, site: dict[str, Any], chosen: Chosen) -> Parts:
    value, word = readings.value(site, chosen), readings.marked_word(site, chosen)
    return word if word.endswith(value) else ((f"{value} ", True), (word, False))
