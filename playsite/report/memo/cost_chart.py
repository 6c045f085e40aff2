"""Cost against score: sites that no other beats are filled and joined by steps, the others open."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.cost_words import site_costs
from playsite.report.ink import INK
from playsite.report.memo.blocks import Figure
from playsite.report.memo.inks import drawing, letter, pictures_of
from playsite.report.money import money_text
from playsite.report.wording import joined, points

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from playsite.cost.record import Costs
    from playsite.report.memo.readings import Readings

    Dot = tuple[str, float, float, float, bool]  # label, score, P50, P80, efficient

__all__ = ["MOST_DOTS", "cost_and_score"]

MOST_DOTS = 20
_HEIGHT_MM, _LEFT_MM, _FOOT_MM, _HEAD_MM = 74.0, 22.0, 11.0, 4.0


def cost_and_score(readings: Readings, costs: Costs, width_mm: float) -> Figure:
    """Draw each priced site's cost by even odds (dot) and its budget (tick) over its score."""
    rows = site_costs(costs)
    dots = [
        (f"Site {site['site_no']}", float(site["score"]) * 100, row["p50"], row["p80"], row["is_efficient"])
        for site in readings.ranked[:MOST_DOTS]
        if (row := rows.get(str(site["parcel_id"]))) is not None
    ]  # fmt: skip
    with drawing(width_mm, _HEIGHT_MM) as figure:
        box = (
            _LEFT_MM / width_mm,
            _FOOT_MM / _HEIGHT_MM,
            (width_mm - _LEFT_MM - 8) / width_mm,
            (_HEIGHT_MM - _FOOT_MM - _HEAD_MM) / _HEIGHT_MM,
        )
        axes = figure.add_axes(box)
        _frame(axes, dots, costs.currency)
        _steps(axes, dots)
        for dot in dots:
            _dot(axes, dot)
        _labels(axes, dots)
        drawn = pictures_of(figure)
    good = [dot for dot in dots if dot[4]]
    told = joined([f"{label} {points(score / 100)} for {money_text(p50, costs.currency)}" for label, score, p50, _, _ in dots])  # fmt: skip
    names = joined([dot[0] for dot in good])
    verb = "gives" if len(good) == 1 else "give"
    return Figure(
        drawn=drawn,
        width_mm=width_mm,
        height_mm=_HEIGHT_MM,
        alt=f"Cost against score. {told}.",
        finding=f"{names} {verb} the most score for the money; every other site is beaten by one of them.",
        key="Dot: cost by even odds; tick above it: budget (four chances in five). Filled: no other site of which as much is known scores as well for as little. Cost is in no score.",
    )


def _frame(axes: Axes, dots: list[Dot], currency: str) -> None:
    scores = [dot[1] for dot in dots]
    low, high = min(dot[2] for dot in dots), max(dot[3] for dot in dots)
    room = max(high - low, 1.0) * 0.12
    axes.set_xlim(max(min(scores) - 6, 0), min(max(scores) + 10, 104))
    axes.set_ylim(low - room, high + room)
    axes.set_axis_off()
    left, right = axes.get_xlim()
    bottom, top = axes.get_ylim()
    axes.plot([left, right], [bottom, bottom], color=INK["ink"], linewidth=0.7)
    step = _round_step((top - bottom) / 4)
    mark = step * (bottom // step + 1)
    while mark < top:
        axes.plot([left, right], [mark, mark], color=INK["out-hatch"], linewidth=0.4, zorder=1)
        letter(axes, left - (right - left) * 0.01, mark, money_text(mark, currency), ha="right", size=7.5)  # fmt: skip
        mark += step
    for score in range(0, 101, 10):
        if left <= score <= right:
            letter(axes, score, bottom - (top - bottom) * 0.05, str(score), ha="center", size=7.5)
    letter(axes, (left + right) / 2, bottom - (top - bottom) * 0.13, "score of 100", ha="center", size=7.5, ink="ink-3")  # fmt: skip


def _steps(axes: Axes, dots: list[Dot]) -> None:
    """Join the efficient sites by steps, cheapest first."""
    best = sorted((dot for dot in dots if dot[4]), key=lambda dot: (dot[2], dot[1]))
    axes.step(
        [dot[1] for dot in best], [dot[2] for dot in best], where="pre",
        color=INK["overprint"], linewidth=0.9, linestyle=(0, (3, 2)), zorder=2,
    )  # fmt: skip


def _dot(axes: Axes, dot: Dot) -> None:
    _, score, p50, p80, is_efficient = dot
    axes.plot([score, score], [p50, p80], color=INK["ink"], linewidth=0.6, zorder=3)
    axes.plot([score - 0.5, score + 0.5], [p80, p80], color=INK["ink"], linewidth=0.8, zorder=3)
    axes.plot(
        [score], [p50], marker="o", markersize=5, zorder=4, linestyle="none",
        markerfacecolor=INK["overprint"] if is_efficient else INK["sheet"],
        markeredgecolor=INK["overprint-deep"], markeredgewidth=0.9,
    )  # fmt: skip


def _labels(axes: Axes, dots: list[Dot]) -> None:
    """Name the dots, efficient ones first; a name that has no room beside its dot gives way."""
    (left, right), (bottom, top) = axes.get_xlim(), axes.get_ylim()
    wide, high = (right - left) * 0.065, (top - bottom) * 0.055
    gap = (right - left) * 0.01
    taken = [(x - gap, x + gap, y - high / 3, y + high / 3) for _, x, y, _, _ in dots]
    for label, x, y, _, is_efficient in sorted(dots, key=lambda dot: not dot[4]):
        for start, align in ((x + gap, "left"), (x - gap, "right")):
            ends = (start, start + wide) if align == "left" else (start - wide, start)
            box = (*ends, y - high / 2, y + high / 2)
            if not any(_overlap(box, other) for other in taken):
                taken.append(box)
                weight = "bold" if is_efficient else "normal"
                letter(axes, start, y, label, size=7, weight=weight, ha=align, halo=True, zorder=5)
                break


def _overlap(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] < other[1] and other[0] < one[1] and one[2] < other[3] and other[2] < one[3]


def _round_step(rough: float) -> float:
    """Round step near a rough one: 1, 2 or 5 times a power of ten."""
    power = 10.0 ** (len(str(int(max(rough, 1)))) - 1)
    return next((power * times for times in (1, 2, 5, 10) if power * times >= rough), power * 10)
