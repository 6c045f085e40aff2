"""What binds a pad on each side, and which one change would let it fit where it doesn't."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import pandas as pd
import shapely

from playsite.engine import in_threads
from playsite.pads.rectangles import rectangles_of
from playsite.pads.relaxing import relaxations
from playsite.pads.sides import room_at_sides
from playsite.result import RELAXATION_COLUMNS, ROOM_COLUMNS
from playsite.study.taking import removals_of, rules_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from shapely.geometry.base import BaseGeometry

    from playsite.program import RequiredPad
    from playsite.settings import Setbacks
    from playsite.site import Site
    from playsite.study.taking import Taker

__all__ = ["relaxation_table", "room_table"]

_REACH_M = 60.0


def relaxation_table(
    parcels: Mapping[str, BaseGeometry],
    pad: RequiredPad,
    site: Site,
    setbacks: Setbacks,
    taken: Sequence[Taker],
) -> pd.DataFrame:
    """Which single change would let the pad fit on parcels where it doesn't.

    Returns
    -------
    DataFrame
        ``RELAXATION_COLUMNS``, the least change of each parcel first; a parcel without a row
        needs more than one change.
    """

    def of_one(item: tuple[str, BaseGeometry]) -> list[tuple[object, ...]]:
        parcel_id, parcel = item
        found = relaxations(
            parcel,
            rules_of(parcel, site, setbacks, taken),
            length_m=pad.length_m,
            width_m=pad.width_m,
            line_error_m=setbacks.line_error_m,
        )
        return [
            (
                parcel_id,
                each.kind,
                each.rule,
                each.source,
                each.limit_m,
                each.fits_at_m,
                each.change_m,
            )
            for each in found
        ]

    rows = [row for rows in in_threads(of_one, list(parcels.items())) for row in rows]
    return pd.DataFrame(rows, columns=list(RELAXATION_COLUMNS))


def room_table(
    pads: gpd.GeoDataFrame,
    parcels: gpd.GeoSeries,
    site: Site,
    setbacks: Setbacks,
    taken: Sequence[Taker],
) -> gpd.GeoDataFrame:
    """What lies beyond each side of a pad, and how far.

    Parameters
    ----------
    pads
        ``parcel_id`` and outline; an L is left out, since it has no four sides.
    parcels
        Outlines by ``parcel_id``.

    Returns
    -------
    GeoDataFrame
        ``ROOM_COLUMNS``, with the line that was measured; sides with nothing within 60 m are
        left out.
    """

    def of_one(item: tuple[str, BaseGeometry]) -> list[tuple[object, ...]]:
        return list(_rooms(*item, parcels.loc[item[0]], site, setbacks, taken))

    items = list(zip(pads["parcel_id"], pads.geometry, strict=True))
    rows = [row for rows in in_threads(of_one, items) for row in rows]
    return gpd.GeoDataFrame(rows, columns=list(ROOM_COLUMNS), geometry="geometry", crs=pads.crs)


def _rooms(
    parcel_id: str,
    pad: BaseGeometry,
    parcel: BaseGeometry,
    site: Site,
    setbacks: Setbacks,
    taken: Sequence[Taker],
) -> Iterator[tuple[object, ...]]:
    window = shapely.box(*pad.buffer(_REACH_M + 1).bounds)
    limits = [
        (each.rule, shapely.intersection(each.shape, window))
        for each in removals_of(parcel, site, setbacks, taken)
    ]
    near = shapely.intersection(parcel, window)
    for part in shapely.get_parts(pad):
        if len(rectangles_of(part)) != 1:
            continue
        for room in room_at_sides(part, limits, parcel=near, reach_m=_REACH_M):
            if room.line is not None:
                line = shapely.LineString(room.line)
                yield parcel_id, room.direction, room.distance_m, room.limit, line
