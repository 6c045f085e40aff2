"""The motion: what a council may be asked to do on the strength of a screening, and no more."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.wording import joined, plain_cell

if TYPE_CHECKING:
    from playsite.report.memo.readings import Readings

__all__ = ["motion"]

_FEW = 3


def motion(readings: Readings) -> str:
    """One sentence to vote on: which sites go to field visit, survey and concept design."""
    sites = readings.short_list
    if not sites:
        return (
            "that staff come back with more land, a smaller play area, or rules that may be changed, since no "
            "parcel passes every rule as they stand."
        )
    taken = _to_take(readings)
    named = [readings.title(site) for site in taken]
    if len(taken) > 1:  # names with commas in them make no list
        named = [title.replace(", ", " (", 1) + ")" * (", " in title) for title in named]
    conditions = _conditions(readings)
    only = f", each only with what it needs ({conditions})" if conditions else ""
    first = "that " + (
        f"{named[0]}{',' if ',' in named[0] else ''} be taken"
        if len(named) == 1
        else f"{joined(named)} be taken together, since present data don't part them,"
    )
    if not readings.result.shows_order:
        first = (
            f"that {joined(named)} be taken"
            if len(named) == 1
            else f"{joined(named)} be compared and taken"
        )
        first = first if first.startswith("that") else f"that {first}"
    return (
        f"{first} to a field visit, a survey and a concept design{only}; and that the council choose once these "
        "are in. This study alone is no ground to build on."
    )


def _to_take(readings: Readings) -> list[dict[str, object]]:
    """Give the first site and those that can't be told from it, of the short list."""
    sites = readings.short_list
    if not readings.result.shows_order:
        return sites[:_FEW]
    rank = sites[0]["rank"]
    tied = [site for site in sites if site["rank"] == rank]
    near = {*readings.firm.too_close, *(site["parcel_id"] for site in tied)}
    return [site for site in sites if site is sites[0] or site["parcel_id"] in near]


def _conditions(readings: Readings) -> str:
    taken = {site["parcel_id"]: f"Site {site['site_no']}" for site in _to_take(readings)}
    rows = readings.result.conditions
    told = [
        f"{taken[parcel]}: {plain_cell(needs)}"
        for parcel, needs in zip(rows["parcel_id"], rows["needs"], strict=True)
        if parcel in taken
    ]
    return "; ".join(dict.fromkeys(told))
