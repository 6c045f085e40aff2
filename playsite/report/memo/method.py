"""How it was judged, written from the criteria's own records, so that it can't drift from them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.memo.blocks import Heading, Paragraph, Table
from playsite.report.memo.charts import value_curves
from playsite.report.memo.readings import plain_name
from playsite.report.memo.widths import shares
from playsite.report.wording import (
    WORDS,
    in_readers_units,
    joined,
    knot_text,
    percent_text,
    value_text,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.criteria._registry import Chosen
    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings

__all__ = ["method", "method_in_full"]


def method(readings: Readings, page: Page) -> Iterator[Block]:
    """Say on a page how it was judged: questions, weights, knots, and what puts a place out."""
    result = readings.result
    if not result.criteria:
        return
    units = result.study.units
    words = "; ".join(f"{word}: {reach}" for word, reach in WORDS.items())
    yield Heading("How the sites were judged")
    yield Paragraph(
        "The play area is placed to scale on each parcel, and every question is measured there, not at "
        "the middle of the parcel. A rule of law or safety puts a place out, whatever else it offers. A "
        "measured value becomes a score of 0 to 100 along a fixed line, on which 50 is acceptable. The "
        f"total adds the scores by weight. Words stand for scores ({words}). Sources and ways of measuring "
        "stand in the appendix.",
        evidence=("A",),
    )
    weighed = sorted(readings.weighed, key=lambda chosen: -chosen.weight)
    if weighed:
        yield Table(
            "What counts in the score, the heaviest first",
            ("Question", "Weight", "Ideal", "Acceptable", "Poor", "Out"),
            tuple(_short(chosen, units) for chosen in weighed),
            shares(page, 0.36, 0.08, 0.13, 0.13, 0.12, 0.18),
            bold=(0,),
            evidence=("K",),
        )
    others = [plain_name(chosen) for chosen in result.criteria if chosen.weight == 0]
    if others:
        yield Paragraph(
            f"Without weight, for rules, conditions and lists: {joined(others)}.", "note"
        )


def _short(chosen: Chosen, units: str) -> tuple[str, ...]:
    at: dict[str, list[str]] = {}
    for knot in chosen.curve.knots:
        at.setdefault(knot.name, []).append(knot_text(chosen, knot.at, units))
    out = [in_readers_units(screen.rule, units) for screen in chosen.screens]
    return (
        f"{plain_name(chosen)[:1].upper()}{plain_name(chosen)[1:]}. {chosen.criterion.question}",
        percent_text(100 * chosen.weight),
        *(" to ".join(at.get(name, [])) for name in ("ideal", "acceptable", "poor")),
        "; ".join(dict.fromkeys(out)),
    )


def method_in_full(readings: Readings, page: Page) -> Iterator[Block]:
    """Give every criterion with way and sources, the rules, and the lines from value to score."""
    result = readings.result
    units = result.study.units
    if not result.criteria:
        return
    yield Heading("Criteria in full", 2)
    rows = tuple(_question(chosen, units) for chosen in result.criteria)
    yield Table(
        "What was asked, how it was measured, and by whose rules; weights and knots stand under K",
        ("Question", "Measured, and how", "Source"),
        rows,
        shares(page, 0.18, 0.44, 0.38),
        evidence=("K",),
    )
    yield from _rules(result.criteria, units, page)
    if readings.ranked:
        yield from value_curves(readings, page.text_mm)


def _question(chosen: Chosen, units: str) -> tuple[str, ...]:
    criterion = chosen.criterion
    said = [str(source) for source in criterion.sources]
    said += [knot.source for knot in chosen.curve.knots]
    how = f"{_sentence(criterion.plain)} {criterion.method}"
    return (
        f"{plain_name(chosen).capitalize()}. {criterion.question}",
        in_readers_units(how.strip(), units),
        "; ".join(dict.fromkeys(filter(None, said))),
    )


def _rules(criteria: tuple[Chosen, ...], units: str, page: Page) -> Iterator[Block]:
    rules = tuple(
        (
            _sentence(in_readers_units(screen.rule, units)),
            f"{screen.out_when} {value_text(screen.limit, screen.unit, units)}",
            str(screen.source),
        )
        for chosen in criteria
        for screen in chosen.screens
    )
    if rules:
        yield Heading("Rules that put a place out", 3)
        yield Table(
            "Rules that put a place out", ("Rule", "Out", "Source"), rules,
            shares(page, 0.45, 0.2, 0.35),
        )  # fmt: skip
    remedies = tuple(
        (
            _sentence(in_readers_units(condition.rule, units)),
            f"below {value_text(condition.limit, condition.unit, units)}",
            _sentence(condition.needs),
            str(condition.source),
        )
        for chosen in criteria
        for condition in chosen.criterion.conditions
    )
    if remedies:
        yield Heading("Where a remedy is needed", 3)
        yield Table(
            "Where a site is ranked only with a remedy", ("Where", "From", "Needs", "Source"), remedies,
            shares(page, 0.34, 0.14, 0.26, 0.26),
        )  # fmt: skip


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}".rstrip(".") + "." if text else ""
