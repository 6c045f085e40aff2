"""A very large town on one page: every parcel with its reason, what was measured for the first ones."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from playsite.problems import Finding

if TYPE_CHECKING:
    from playsite.result import Result

__all__ = ["MOST_DETAILED", "MOST_SITES", "lightened", "most_scores"]

MOST_SITES = 20_000
"""Up to so many parcels, all that was measured is on the page."""
MOST_DETAILED = 2_000
"""Past that, it is there for so many, in the order of the ranking."""

_ROOM_BYTES, _BYTES_A_PARCEL, _BYTES_A_SCORE = 6_500_000, 53, 2.7
"""What scores may take of a page of 7 MB beside the parcels, as measured on made-up towns."""

_TABLES = ("measurements", "ledger", "conditions", "unknowns", "evidence", "alternatives")


def most_scores(parcels: int, criteria: int) -> int:
    """Ranked sites of which the page has room for all scores, so that they change places on it."""
    room = _ROOM_BYTES - _BYTES_A_PARCEL * parcels
    return max(MOST_DETAILED, int(room / _BYTES_A_SCORE / max(criteria, 1)))


def lightened(result: Result, *, most: int = MOST_SITES, detailed: int = MOST_DETAILED) -> Result:
    """Keep what was measured for the first parcels in the order of the ranking, and say so loudly.

    Every parcel stays, with its state, score or reason. A result that is small enough is given
    back as it is.
    """
    if len(result.sites) <= most:
        return result
    kept = set(result.sites["parcel_id"].iloc[:detailed])
    tables = {name: getattr(result, name) for name in _TABLES}
    cut = {
        name: table[table["parcel_id"].isin(kept)].reset_index(drop=True)
        for name, table in tables.items()
    }
    ranked, moving = len(result.ranked), most_scores(len(result.sites), len(result.criteria))
    whose = f"all {ranked:,}" if ranked <= moving else f"the first {moving:,} of {ranked:,}"
    said = Finding(
        f"What was measured is on this page for the first {detailed:,} of {len(result.sites):,} "
        f"parcels, in the order of the ranking. When weights are moved, {whose} ranked sites change "
        "places, by scores rounded to a thousandth of a point.",
        "For all of them it stands in measurements.csv.",
        weight="loud",
    )
    return replace(result, **cut, findings=(said, *result.findings))
