"""Charts of the memo: the title is the finding, uncertainty is an ink whisker with ends."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from playsite.report.ink import INK
from playsite.report.memo.blocks import Figure
from playsite.report.memo.inks import drawing, letter, pictures_of, score_ink
from playsite.report.memo.readings import plain_name, score_range
from playsite.report.wording import (
    answer_sentence,
    joined,
    knot_text,
    points,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Drawing

    from playsite.criteria._registry import Chosen
    from playsite.report.memo.readings import Readings
    from playsite.result import Result

__all__ = ["SHOWN_SITES", "score_bars", "total_bars", "value_curves"]

SHOWN_SITES = 20
"""Bars of the total in one chart; the tables have all."""

_ROW_MM, _GROUP_ROW_MM, _HEAD_MM, _FOOT_MM = 3.8, 4.0, 5.0, 7.0
_CURVES, _CURVES_ACROSS = 16, 4


def total_bars(result: Result, width_mm: float) -> Figure:
    """Total of each ranked site with its likely range, best first."""
    sites = result.ranked.head(SHOWN_SITES).to_dict("records")
    height_mm = _HEAD_MM + _FOOT_MM + _ROW_MM * len(sites)
    with drawing(width_mm, height_mm) as figure:
        axes = _panel(figure, (34, _FOOT_MM, width_mm - 40, _ROW_MM * len(sites)), len(sites))
        for place, site in enumerate(sites):
            score = float(site["score"])
            _bar(axes, place, score, (float(site["score_low"]), float(site["score_high"])))
            letter(axes, -1.5, place, f"Site {site['site_no']}", ha="right", weight="bold")
            end = max(score, _finite(float(site["score_high"]), score)) * 100
            letter(axes, end + 1.5, place, str(points(score)), weight="bold", halo=True)
        drawn = pictures_of(figure)
    listed = joined([f"Site {site['site_no']} {points(site['score'])}" for site in sites])
    return Figure(
        drawn=drawn,
        width_mm=width_mm,
        height_mm=height_mm,
        alt=f"Bars of the total score with likely range. {listed}.",
        finding=answer_sentence(result),
        key="Score of 100 with its likely range (line with ends). Gray lines: 50 is acceptable, 75 is strong.",
        evidence=("A",),
    )


def score_bars(readings: Readings, width_mm: float) -> Figure:
    """Score by criterion, one panel a site, criteria in the same order everywhere."""
    criteria, sites = readings.weighed, readings.short_list
    names_mm, rows = 32.0, len(criteria)
    panel_mm = (width_mm - names_mm) / len(sites)
    height_mm = _HEAD_MM + _FOOT_MM + _GROUP_ROW_MM * rows
    with drawing(width_mm, height_mm) as figure:
        for number, site in enumerate(sites):
            at = (names_mm + number * panel_mm, _FOOT_MM, panel_mm - 4, _GROUP_ROW_MM * rows)
            axes = _panel(figure, at, rows)
            letter(axes, 0, -1, f"Site {site['site_no']}", weight="bold", size=8.5)
            for place, chosen in enumerate(criteria):
                row = readings.row(site, chosen)
                _criterion_bar(axes, place, chosen, row)
                if number == 0:
                    letter(axes, -4, place, plain_name(chosen), ha="right")
        drawn = pictures_of(figure)
    return Figure(
        drawn=drawn,
        width_mm=width_mm,
        height_mm=height_mm,
        alt=_bars_alt(criteria, sites, readings),
        finding=_bars_finding(criteria, sites, readings),
        key="Score of each criterion; the line with ends is its likely range. Gray lines at 50 and 75. "
        "Unknown is drawn as unknown, never as zero.",
        evidence=("A",),
    )


def _panel(figure: Drawing, at_mm: tuple[float, float, float, float], rows: int) -> Axes:
    wide, high = figure.get_size_inches() * 25.4
    left, low, width, height = at_mm
    axes = figure.add_axes((left / wide, low / high, width / wide, height / high))
    axes.set_xlim(0, 100)
    axes.set_ylim(rows - 0.4, -0.6)
    axes.set_axis_off()
    for mark in (50, 75):
        axes.plot([mark, mark], [-0.6, rows - 0.4], color=INK["out-hatch"], linewidth=0.6, zorder=1)
    axes.plot([0, 0], [-0.6, rows - 0.4], color=INK["ink"], linewidth=0.7, zorder=3)
    size = 7.5 if width > 40 else 6.5
    for at, word in ((25, "weak"), (61, "fair"), (90, "strong")):
        letter(axes, at, rows + 0.1, word, size=size, ink="ink-3", ha="center")
    return axes


def _bar(axes: Axes, place: float, score: float, reach: tuple[float, float] | None) -> None:
    axes.barh(
        place, score * 100, height=0.56, color=score_ink(score),
        edgecolor=INK["overprint-deep"], linewidth=0.6, zorder=2,
    )  # fmt: skip
    if reach is None or not all(map(math.isfinite, reach)):
        return
    low, high = (100 * end for end in reach)
    for width, ink in ((2.4, "sheet"), (0.9, "ink")):
        axes.plot([low, high], [place, place], color=INK[ink], linewidth=width, zorder=4)
        for end in (low, high):
            axes.plot(
                [end, end], [place - 0.2, place + 0.2], color=INK[ink], linewidth=width, zorder=4
            )


def _criterion_bar(axes: Axes, place: int, chosen: Chosen, row: Mapping[str, Any] | None) -> None:
    if row is None or not math.isfinite(float(row["score"])):
        axes.barh(
            place, 100, height=0.56, color=INK["sheet"], hatch="....",
            edgecolor=INK["unknown-dot"], linewidth=0.5, linestyle=":", zorder=2,
        )  # fmt: skip
        letter(axes, 50, place, "unknown", size=7.5, ha="center", halo=True, zorder=5)
        return
    _bar(axes, place, float(row["score"]), score_range(chosen, row))


def _bars_finding(
    criteria: Iterable[Chosen], sites: list[dict[str, Any]], readings: Readings
) -> str:
    """Say the plainest thing that holds: which criterion is weak at most of these sites."""
    said = []
    for chosen in criteria:
        words = [readings.word(site, chosen) for site in sites]
        if words.count("weak") * 2 > len(sites):
            said.append(plain_name(chosen))
    if not said:
        return (
            "No criterion is weak at most of these sites."
            if len(sites) > 1
            else "Score by criterion."
        )
    verb = "is" if len(said) == 1 else "are"
    where = "at most of these sites" if len(sites) > 1 else "here"
    whole = joined(said)
    return f"{whole[:1].upper()}{whole[1:]} {verb} weak {where}."


def _bars_alt(criteria: Iterable[Chosen], sites: list[dict[str, Any]], readings: Readings) -> str:
    lines = []
    for site in sites:
        words = [f"{plain_name(chosen)} {readings.word(site, chosen)}" for chosen in criteria]
        lines.append(f"Site {site['site_no']}: {', '.join(words)}")
    return f"Bars of score by criterion. {'. '.join(lines)}."


def value_curves(readings: Readings, width_mm: float) -> Iterator[Figure]:
    """Draw how each value becomes a score, with the sites as dots on the line; a page a figure."""
    criteria = readings.weighed
    for start in range(0, len(criteria), _CURVES):
        yield _curves(readings, criteria[start : start + _CURVES], width_mm)


def _curves(readings: Readings, criteria: list[Chosen], width_mm: float) -> Figure:
    down = math.ceil(len(criteria) / _CURVES_ACROSS)
    cell_mm, high_mm = width_mm / _CURVES_ACROSS, 36.0
    with drawing(width_mm, down * high_mm) as figure:
        for number, chosen in enumerate(criteria):
            row, column = divmod(number, _CURVES_ACROSS)
            left, low = column * cell_mm + 6, (down - 1 - row) * high_mm + 8
            at = (left, low, cell_mm - 11, high_mm - 16)
            _curve_panel(figure, at, readings.result, chosen, readings.short_list, readings)
        drawn = pictures_of(figure)
    return Figure(
        drawn=drawn,
        width_mm=width_mm,
        height_mm=down * high_mm,
        alt="Lines from measured value to score for "
        + joined([plain_name(chosen) for chosen in criteria])
        + ", with the short-listed sites as dots; the table of the method has the same figures.",
        finding="The lines from value to score were fixed before any site was seen.",
        key="Squares: ideal, acceptable and poor, as the table says. Dots: sites by number. Up is better.",
    )


def _curve_panel(
    figure: Drawing, at_mm: tuple[float, float, float, float], result: Result,
    chosen: Chosen, sites: list[dict[str, Any]], readings: Readings,
) -> None:  # fmt: skip
    wide, high = figure.get_size_inches() * 25.4
    left, low, width, height = at_mm
    axes = figure.add_axes((left / wide, low / high, width / wide, height / high))
    knots = chosen.curve.knots
    span = knots[-1].at - knots[0].at
    start, end = max(0.0, knots[0].at - 0.25 * span), knots[-1].at + 0.25 * span
    start = min(start, knots[0].at)
    axes.set_xlim(start, end)
    axes.set_ylim(-4, 112)
    axes.set_axis_off()
    for face, bottom, top in (("overprint-wash", 75, 100), ("margin", 50, 75)):
        axes.fill_between([start, end], bottom, top, color=INK[face], linewidth=0, zorder=0)
    axes.plot([start, end], [0, 0], color=INK["ink"], linewidth=0.6, zorder=1)
    along = np.array([start, *(knot.at for knot in knots), end])
    axes.plot(along, 100 * chosen.curve.score(along), color=INK["ink"], linewidth=1.1, zorder=2)
    last = -span
    for knot in knots:
        axes.scatter(
            [knot.at], [100 * knot.score], marker="s", s=11, zorder=3,
            facecolor=INK["sheet"], edgecolor=INK["ink"], linewidth=0.8,
        )  # fmt: skip
        text = knot_text(chosen, knot.at, result.study.units, in_words=False)
        crowded = (knot.at - last) / (end - start) < 0.2
        last = -span if crowded else knot.at
        letter(axes, knot.at, -29 if crowded else -14, text, size=7, ink="ink-3", ha="center")
    letter(axes, start, 126, plain_name(chosen), size=8.5, weight="bold")
    _dots(axes, chosen, sites, readings, (start, end))


def _dots(
    axes: Axes, chosen: Chosen, sites: list[dict[str, Any]], readings: Readings,
    ends: tuple[float, float],
) -> None:  # fmt: skip
    """Put each site on the line at its score, above what the curve reads there."""
    labels: dict[tuple[float, float], list[str]] = {}
    for site in sites:
        score, reads = readings.score(site, chosen), readings.reads(site, chosen)
        if math.isnan(score) or math.isnan(reads):
            continue
        at = min(max(reads, ends[0]), ends[1])
        labels.setdefault((at, score * 100), []).append(str(site["site_no"]))
    above = 11.0
    for (at, score), numbers in sorted(labels.items()):
        axes.plot(
            [at, at], [0, score], color=INK["overprint"], linewidth=0.5, linestyle=":", zorder=1.5
        )
        axes.scatter([at], [score], s=15, color=INK["overprint-deep"], zorder=4)
        above = -above  # neighbors alternate, so that their numbers stand apart
        letter(axes, at, score + abs(above) if above < 0 else score - abs(above), ", ".join(numbers),
               size=7, weight="bold", ha="center", halo=True, zorder=5)  # fmt: skip


def _finite(value: float, otherwise: float) -> float:
    return value if math.isfinite(value) else otherwise
