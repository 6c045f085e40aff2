"""A very large town on one page: the first sites in full, the rest left to the tables."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from playsite.problems import Finding

if TYPE_CHECKING:
    from playsite.result import Result

__all__ = ["MOST_SITES", "lightened"]

MOST_SITES = 20_000
"""Parcels that a page can hold and still be moved about; the rest stand in sites.csv."""

_TABLES = (
    *("sites", "measurements", "ledger", "misses", "conditions", "unknowns"),
    *("parcels", "pads", "alternatives", "ghosts", "evidence"),
)


def lightened(result: Result, *, most: int = MOST_SITES) -> Result:
    """Keep the first parcels in the order of the ranking, and say loudly that others are left out.

    A result that is small enough is given back as it is.
    """
    if len(result.sites) <= most:
        return result
    kept = set(result.sites["parcel_id"].iloc[:most])
    tables = {name: getattr(result, name) for name in _TABLES}
    cut = {
        name: table[table["parcel_id"].isin(kept)].reset_index(drop=True)
        for name, table in tables.items()
    }
    said = Finding(
        f"This page shows the first {most:,} of {len(result.sites):,} parcels, in the order of the "
        "ranking.",
        "All of them stand in sites.csv and sites.gpkg.",
        weight="loud",
    )
    return replace(result, **cut, findings=(said, *result.findings))
