"""The first pages: the answer, what is asked of the council, and all it needs to decide that."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from playsite.report.cost_words import site_costs, summary_sentence
from playsite.report.memo.blocks import Callout, Heading, Paragraph, Table
from playsite.report.memo.firm import clear_lead_sentence, too_close_sentence
from playsite.report.memo.land import nearest_misses
from playsite.report.memo.motion import motion
from playsite.report.memo.overview_map import overview
from playsite.report.memo.readings import plain_name, rows_of
from playsite.report.memo.results import matrix
from playsite.report.memo.widths import shares
from playsite.report.money import money_text
from playsite.report.wording import (
    answer_parts,
    in_readers_units,
    joined,
    nearest_miss_sentence,
    ordinal,
    plain_cell,
    reason_sentence,
    score_range_text,
    score_text,
    shared_condition_sentence,
    tally_sentence,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings

__all__ = ["opening"]

_MOST_NAMED = 4
_COUNT = re.compile(r"\b\d+ (?:sites|others)\b")


def opening(readings: Readings, page: Page) -> Iterator[Block]:
    """Give the answer, the motion, the reasons in short, the map and the short list."""
    result = readings.result
    parts = tuple(answer_parts(result))
    counts = any(_COUNT.search(text) for text, _ in parts)
    yield Paragraph(parts, "title", evidence=("L", "F") if counts else ())
    yield Paragraph(tally_sentence(result), "judgment", evidence=("L",))
    for finding in result.findings:
        if finding.weight == "loud":
            told = (finding.what, finding.done, finding.remedy)
            text = " ".join(f"{part.rstrip('.')}." for part in told if part)
            said = in_readers_units(text, result.study.units)
            yield Callout((("Before you rely on this: ", True), (said, False)), evidence=("D",))
    yield Heading("Action requested")
    yield Paragraph(
        (("Motion to consider: ", True), (motion(readings), False)), evidence=_keys(readings, "S")
    )
    yield Heading("Summary")
    yield from _reasons(readings)
    yield from _conditions(readings)
    if result.shows_order:
        yield overview(readings, page)
        yield _short_list(readings, page)
    elif not readings.ranked:
        yield from _nearest_misses(readings, page)
    else:
        yield Paragraph(
            "With fewer than four sites an order says little, so none is given. The sites stand by number."
        )
        yield overview(readings, page)
        yield matrix(readings, page)


def _keys(readings: Readings, letter: str) -> tuple[str, ...]:
    """Keys of the first of the short list."""
    return tuple(f"{letter}{site['site_no']}" for site in readings.short_list[:1])


def _reasons(readings: Readings) -> Iterator[Block]:
    """Why, how close, at what cost, and what is not known: a sentence each."""
    result = readings.result
    sites = readings.short_list
    if not sites:
        miss = nearest_miss_sentence(result)
        if miss:
            yield Paragraph(miss, evidence=("L",))
        return
    first = sites[0] if result.shows_order else None
    number = sites[0]["site_no"]
    said: list[tuple[str, str, tuple[str, ...]]] = []
    if first is not None:
        close = too_close_sentence(readings.firm) or clear_lead_sentence(readings.firm)
        said = [("Why. ", _why(readings, first), (f"V{number}",)), ("How close. ", close, ("F",))]
        cost = summary_sentence(result, first)
        said.append(("Cost. ", cost, (f"C{number}", "C")))
    said.append(("Not known yet. ", _unknown(readings), ()))
    for head, text, keys in said:
        if text:
            yield Paragraph(((head, True), (text, False)), evidence=keys)


def _why(readings: Readings, site: dict[str, Any]) -> str:
    """Name the strengths and the weaknesses that move the first site's score most."""
    by_word: dict[str, list[str]] = {"strong": [], "weak": []}
    ordered = sorted(
        readings.weighed,
        key=lambda chosen: -chosen.weight * abs(readings.score(site, chosen) - 0.5),
    )
    for chosen in ordered:
        word = readings.word(site, chosen).split(",")[0]
        if word in by_word:
            by_word[word].append(f"{plain_name(chosen)} ({readings.value(site, chosen)})")
    said = [
        f"{lead} {joined(names[:_MOST_NAMED])}."
        for lead, names in (
            (f"What counts most in favor of Site {site['site_no']}:", by_word["strong"]),
            ("Against it:", by_word["weak"]),
        )
        if names
    ]
    return " ".join(said)


def _unknown(readings: Readings) -> str:
    """Name what no map told of the sites of the short list."""
    unknown = [
        plain_name(chosen)
        for chosen in readings.weighed
        if any(readings.word(site, chosen) == "unknown" for site in readings.short_list)
    ]
    if not unknown:
        return ""
    listed = joined(unknown)
    return (
        f"{listed[:1].upper()}{listed[1:]}, at one or more sites of the short list. What is unknown "
        "makes a score a range; the site sheets name the field task for each."
    )


def _conditions(readings: Readings) -> Iterator[Callout]:
    """Say each remedy once, for all sites of the short list that need it by one rule."""
    numbers = {site["parcel_id"]: site["site_no"] for site in readings.short_list}
    alike: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for row in rows_of(readings.result.conditions):
        if row["parcel_id"] in numbers:
            alike.setdefault((str(row["needs"]), str(row["rule"])), []).append(row)
    for rows in alike.values():
        own = list(dict.fromkeys(numbers[row["parcel_id"]] for row in rows))
        said = shared_condition_sentence(rows, readings.result.study.units)
        names = joined([f"Site {number}" for number in own])
        yield Callout(
            ((f"{names}: ", True), (said, False)), evidence=tuple(f"S{number}" for number in own)
        )


def _nearest_misses(readings: Readings, page: Page) -> Iterator[Block]:
    """List the parcels that come nearest, where none is ranked."""
    rows = tuple(
        (readings.title(site), reason_sentence(site, readings.result))
        for site in nearest_misses(readings)
    )
    if rows:
        yield Table(
            "The nearest misses, nearest first",
            ("Nearest misses", "Why not"),
            rows,
            shares(page, 0.3, 0.7),
            evidence=("L",),
        )


def _short_list(readings: Readings, page: Page) -> Table:
    """Set the short list with score, cost and conditions; all ranked sites stand with the results."""
    ranks = [int(site["rank"]) for site in readings.ranked]
    needs = readings.result.conditions.groupby("parcel_id")["needs"].agg(list).to_dict()
    costs = readings.result.costs
    money = {} if costs is None else site_costs(costs)
    rows = []
    for site in readings.short_list:
        rank = int(site["rank"])
        own = money.get(str(site["parcel_id"]))
        priced = () if not money else tuple(
            money_text(own[name], costs.currency) if own and costs else "" for name in ("p50", "p80")
        )  # fmt: skip
        rows.append(
            (
                ordinal(rank) + (", tied" if ranks.count(rank) > 1 else ""),
                readings.title(site),
                score_text(site["score"]),
                score_range_text(site["score_low"], site["score_high"]).removeprefix("likely "),
                *priced,
                joined([plain_cell(need) for need in needs.get(site["parcel_id"], [])])
                or "nothing",
            )
        )
    head = (
        "Rank",
        "Site",
        "Score",
        "Likely",
        *(("Even odds", "Budget") if money else ()),
        "Ranked only with",
    )
    widths = (0.1, 0.28, 0.07, 0.1, *((0.11, 0.11) if money else ()), 0.23)
    keys = tuple(f"{letter}{site['site_no']}" for site in readings.short_list for letter in "SC")
    return Table(
        "The short list, best first",
        head,
        tuple(rows),
        shares(page, *widths),
        bold=(0, 2),
        evidence=keys,
    )
