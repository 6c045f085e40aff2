"""A very large town on one page: every parcel with its reason, what was measured for the first ones."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from playsite.problems import Finding

if TYPE_CHECKING:
    from playsite.result import Result

__all__ = ["MOST_DETAILED", "MOST_SITES", "lightened"]

MOST_SITES = 20_000
"""Up to so many parcels, all that was measured is on the page."""
MOST_DETAILED = 2_000
"""Past that, it is there for so many, in the order of the ranking."""

_TABLES = ("measurements", "ledger", "conditions", "unknowns", "evidence", "alternatives")


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
    said = Finding(
        f"What was measured is on this page for the first {detailed:,} of {len(result.sites):,} "
        "parcels, in the order of the ranking; only those of them that are ranked change places "
        "when weights are moved.",
        "For all of them it stands in measurements.csv.",
        weight="loud",
    )
    return replace(result, **cut, findings=(said, *result.findings))
