"""What changed in the cost of each site between two runs, and by which lines."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from playsite.report.changes import (
    MOST_OTHERS,
    MOST_OWN,
    picture_of,
    sentences_of,
    site_changes,
)
from playsite.report.map_off import map_off_sentences
from playsite.report.money import money_text
from playsite.report.wording import joined, records, site_title

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import pandas as pd

    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = ["TOTAL", "cost_change_lines", "note_lines"]

TOTAL = "total"
"""Name of the line that adds up a site's others."""
_MOST_LINES = 3


def note_lines(before: Result, after: Result) -> list[str]:
    """Say what is different in a later result of the same study: its sites, then their cost."""
    changes = site_changes(picture_of(before), picture_of(after))
    said = [*(sentences_of(changes) or ["No site changes its place."]), *map_off_sentences(after)]
    if before.costs is not None and after.costs is not None:
        titles = {str(row["parcel_id"]): site_title(row) for row in records(after.sites)}
        lines = cost_change_lines(before.costs.lines, after.costs.lines, titles)
        said += [f"Cost, beside the score: {line}" for line in lines]
    return said


def cost_change_lines(
    was: pd.DataFrame, now: pd.DataFrame, titles: Mapping[str, str]
) -> Iterator[str]:
    """Say how the cost of each site changed that was priced both times; nothing where none did.

    Parameters
    ----------
    was, now
        Rows of ``costs.csv``, those of ``total`` among them.
    titles
        Name of each parcel's site, in the order in which to tell them.
    """
    before, after = _by_parcel(was), _by_parcel(now)
    alike: dict[str, list[str]] = {}
    for parcel, title in titles.items():
        if parcel in before and parcel in after:
            why = _why(before[parcel], after[parcel])
            if why:
                sums = _sums(before[parcel][TOTAL], after[parcel][TOTAL])
                alike.setdefault(why, []).append(f"{title}: {sums}: {why}")
    told = [*alike.values()]
    for first, *rest in told[:MOST_OWN]:
        sites = "site" if len(rest) == 1 else "sites"
        also = f"; the same lines at {len(rest):,} other {sites}" if rest else ""
        yield f"{first}{also}."
    more = sum(len(some) for some in told[MOST_OWN:])
    if more:
        yield f"{more:,} more sites cost something else."
    for word, some, others in (
        ("priced now", after, before),
        ("no longer priced", before, after),
    ):
        names = [titles.get(parcel, parcel) for parcel in some if parcel not in others]
        more = len(names) - MOST_OTHERS
        if names:
            yield f"{word}: {joined([*names[:MOST_OTHERS], *([f'{more:,} more'] if more > 0 else [])])}"


def _by_parcel(table: pd.DataFrame) -> dict[str, dict[str, Row]]:
    found: dict[str, dict[str, Row]] = {}
    for row in records(table):
        found.setdefault(str(row["parcel_id"]), {})[str(row["line"])] = row
    return found


def _sums(was: Row, now: Row) -> str:
    """Median and budget of a site, before and now."""
    currency = str(now["unit"])
    odds, budget = (
        " to ".join(money_text(_amount(side, name), currency) for side in (was, now))
        for name in ("p50", "p80")
    )
    return f"even odds from {odds}, budget from {budget}"


def _why(was: Mapping[str, Row], now: Mapping[str, Row]) -> str:
    """Lines that moved most; empty where none did."""
    lines = [
        each
        for name in dict.fromkeys((*now, *was))
        if name != TOTAL and (each := _line(name, was.get(name), now.get(name)))
    ]
    lines.sort(key=lambda each: -each[0])
    if not lines or TOTAL not in was or TOTAL not in now:
        return ""
    currency = str(now[TOTAL]["unit"])
    more = len(lines) - _MOST_LINES
    why = [_said(change, currency) for _, change in lines[:_MOST_LINES]]
    # names of lines hold commas
    return "; ".join([*why, *([f"{more} other lines"] if more > 0 else [])])


def _line(
    name: str, was: Row | None, now: Row | None
) -> tuple[float, tuple[str, float, str]] | None:
    """Give how much a line moved, and its name, the amount to tell and what became of it."""
    if was is None or now is None:
        amount = _amount(now or was, "p50")
        size = 0.0 if math.isnan(amount) else abs(amount)
        return size, (name, amount, "new" if was is None else "gone")
    sides = [_amount(side, "p50") for side in (was, now)]
    if math.isnan(sides[0]) or math.isnan(sides[1]):
        if math.isnan(sides[0]) and math.isnan(sides[1]):
            return None
        known = math.isnan(sides[0])
        amount = sides[1] if known else sides[0]
        return abs(amount), (name, amount, "known now" if known else "no longer known")
    moved = sides[1] - sides[0]
    return None if abs(moved) < 1 else (abs(moved), (name, moved, ""))


def _said(change: tuple[str, float, str], currency: str) -> str:
    name, amount, word = change
    if word:
        return f"{name} {word} ({money_text(amount, currency)})"
    return f"{name} {money_text(abs(amount), currency)} {'more' if amount > 0 else 'less'}"


def _amount(row: Any, name: str) -> float:
    value = row[name]
    return math.nan if value is None or value != value else float(value)  # noqa: PLR0124
