"""Grade at the scale of a pad over the lots of the foremost pads, in the classes of its own curve."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import geopandas as gpd

from playsite.engine import in_threads
from playsite.pads.pad_rectangles import rectangles_of_pads
from playsite.result import GRADE_AREA_COLUMNS
from playsite.terrain.grade_areas import grade_areas

if TYPE_CHECKING:
    from collections.abc import Sequence

    from playsite.criteria._registry import Chosen
    from playsite.site import Site

__all__ = ["grade_area_table"]


def grade_area_table(
    pads: gpd.GeoDataFrame, parcels: gpd.GeoSeries, site: Site, chosen: Sequence[Chosen]
) -> gpd.GeoDataFrame:
    """Lots by the grade of the ground under a window as large as the pad, turned as the pad is.

    Of a pad in several rectangles the largest is the window. Classes end at the knots of the
    grade's curve.

    Parameters
    ----------
    pads
        As criteria get them.
    parcels
        Outlines by ``parcel_id``.
    site
        Gives the ground.
    chosen
        Criteria in use; without the grade nothing is drawn.

    Returns
    -------
    GeoDataFrame
        ``GRADE_AREA_COLUMNS``: least and greatest grade of a class, % (inf: no end; both missing
        where the ground is not known), and its part of the lot.
    """
    breaks = next(([k.at for k in each.curve.knots] for each in chosen if each.name == "grade"), [])
    ground, columns = site.ground, [*GRADE_AREA_COLUMNS]
    if not breaks or ground is None or not ground.elevation.size or not len(pads):
        return gpd.GeoDataFrame(columns=columns, geometry=[], crs=pads.crs)
    rectangles = rectangles_of_pads(pads)
    largest = rectangles.worst(rectangles.sides_m.prod(axis=1))
    ends = [0.0, *breaks, math.inf]

    def of_one(row: int) -> list[tuple[object, ...]]:
        name, place = pads["parcel_id"].iloc[row], rectangles.places[largest[row]]
        found = grade_areas(
            ground.elevation,
            ground.transform,
            parcels.loc[name],
            at=tuple(place),
            sides_m=tuple(rectangles.sides_m[largest[row]]),
            breaks_pct=breaks,
        )
        return [
            (name, *((math.nan, math.nan) if step is None else ends[step : step + 2]), shape)
            for step, shape in found
        ]

    rows = [one for many in in_threads(of_one, list(range(len(pads)))) for one in many]
    return gpd.GeoDataFrame(rows, columns=columns, geometry="geometry", crs=pads.crs)
