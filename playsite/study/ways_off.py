"""Where water that leaves a pad runs, and how high the finish lies above it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely
import shapely.ops

from playsite.study.earthworks import ground_near
from playsite.terrain.filling import filled
from playsite.terrain.grid import cells_within
from playsite.terrain.way_down import way_down

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from playsite.site import Site
    from playsite.terrain.levelling import Finish

__all__ = ["WELCOME", "freeboard_m", "way_off_parcel"]

_AROUND_M, _RING_M = 60.0, (3.0, 6.0)
_BEYOND_M = 20.0  # how far the way is shown beyond the parcel's line
_STREET_M, _DRAIN_WORDS = 10.0, "drain|storm|sewer|water"
_NOBODY = "land that no parcel of the study covers"
WELCOME = ("a street", "a drainage easement", "open water", "an inlet", _NOBODY)
"""What may receive the water of a play area; a neighbour's parcel may not."""


def freeboard_m(pad: BaseGeometry, finish: Finish | None, site: Site) -> float:
    """How far the lowest finish lies above the lowest place beside the pad, hollows full, m."""
    near = ground_near(pad, site.ground, elevation=site.drained, around_m=_AROUND_M)
    if finish is None or near is None:
        return math.nan
    cut, transform = near
    ring = shapely.difference(pad.buffer(_RING_M[1]), pad.buffer(_RING_M[0]))
    level = filled(cut.astype(float))[cells_within(ring, cut.shape, transform)]
    if not np.isfinite(level).any():
        return math.nan
    corners = shapely.get_coordinates(shapely.get_parts(pad)[0])
    lowest_m = float(np.min(finish.at_m(corners[:, 0], corners[:, 1])))
    return lowest_m - float(np.nanmin(level))


def way_off_parcel(
    pad: BaseGeometry, parcel: BaseGeometry, site: Site
) -> tuple[shapely.LineString | None, str]:
    """Follow the water from the lowest place beside a pad until it is off the parcel."""
    land = shapely.union(parcel, pad)
    near = ground_near(land, site.ground, elevation=site.drained, around_m=_AROUND_M)
    if near is None:
        return None, "unknown"
    cut, transform = near
    ring = shapely.difference(pad.buffer(_RING_M[1]), pad.buffer(_RING_M[0]))
    beside = cells_within(ring, cut.shape, transform) & np.isfinite(cut)
    if not beside.any():
        return None, "unknown"
    row, column = np.unravel_index(np.argmin(np.where(beside, cut, np.inf)), cut.shape)
    line = way_down(cut, transform, *(transform @ (int(column) + 0.5, int(row) + 0.5)))
    if line is None:
        return None, _received(shapely.Point(*(transform @ (column + 0.5, row + 0.5))), site)
    outside = shapely.difference(line, parcel)
    if outside.is_empty:
        return line, _received(shapely.Point(line.coords[-1]), site, on_own=True)
    first = shapely.get_parts(outside)[0]
    left_m = shapely.line_locate_point(line, shapely.Point(first.coords[0]))
    shown = shapely.ops.substring(line, 0, left_m + _BEYOND_M)
    return shown, _received(line.interpolate(min(line.length, left_m + 1.0)), site)


def _received(place: shapely.Point, site: Site, *, on_own: bool = False) -> str:
    """What lies where the water leaves: in words that a council reads."""
    near = place.buffer(_STREET_M)
    if len(site.layer("inlets")) and site.layer("inlets").intersects(near).any():
        return "an inlet"
    easements = site.layer("easements")
    if (
        len(easements)
        and (
            easements["kind"].astype(str).str.contains(_DRAIN_WORDS, case=False)
            & easements.intersects(place)
        ).any()
    ):
        return "a drainage easement"
    if site.layer("water").intersects(near).any():
        return "open water"
    if on_own:
        return "the parcel itself"
    parcels = site.layers.parcels
    within = parcels.index[parcels.contains(place)]
    if len(within):
        return f"the neighbouring parcel {within[0]}"
    return "a street" if site.pavement.intersects(near).any() else _NOBODY
