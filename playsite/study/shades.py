"""Shade of the foremost pads by hour: shares for a table, and shapes to draw."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np

from playsite.engine import in_threads
from playsite.result import SHADE_COLUMNS
from playsite.sun.casters import some
from playsite.sun.pad_shade import FAR_M, scene_of, side_strips
from playsite.sun.seasons import SHOWN_HOURS, places_on_earth, shown_months, shown_suns
from playsite.sun.shade import shaded_pct, shadows_on
from playsite.sun.surface_shade import shadows_of_tops

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from playsite.site import Site

__all__ = ["shade_table"]

_AROUND_M = 25.0


def shade_table(pads: gpd.GeoDataFrame, site: Site) -> gpd.GeoDataFrame:
    """Shade on and round each pad at 10, 13 and 16 o'clock by the sun, in two months.

    Without the trees that building the pad would take.

    Parameters
    ----------
    pads
        As criteria get them.
    site
        Gives trees, buildings and the ground.

    Returns
    -------
    GeoDataFrame
        ``SHADE_COLUMNS`` and the shade within 25 m of the pad, on the level of the pad. Empty
        without trees or a surface model: the shade is not known then. Missing where the sun is too low.
    """
    if not (site.has("trees") or site.has("surface")) or not len(pads):
        return gpd.GeoDataFrame(columns=[*SHADE_COLUMNS, "geometry"], geometry=[], crs=pads.crs)
    centres = np.column_stack([pads["easting"], pads["northing"]]).astype(float)
    latitude, north = places_on_earth(centres, pads.crs)

    def of_one(row: int) -> list[tuple[object, ...]]:
        pad, name = pads.geometry.iloc[row], pads["parcel_id"].iloc[row]
        return [(name, *rest) for rest in _of_pad(pad, site, latitude[row], north[row])]

    rows = [one for many in in_threads(of_one, list(range(len(pads)))) for one in many]
    columns = [*SHADE_COLUMNS, "geometry"]
    return gpd.GeoDataFrame(rows, columns=columns, geometry="geometry", crs=pads.crs)


def _of_pad(
    pad: BaseGeometry, site: Site, latitude_deg: float, north_deg: float
) -> list[tuple[object, ...]]:
    suns = shown_suns(latitude_deg, north_deg)
    around = pad.buffer(_AROUND_M)
    level_m = site.level_of(pad)
    tops = None if np.isnan(level_m) else site.tops_near(around, far_m=FAR_M)
    if tops is None and not site.has("trees"):
        return []
    scene = scene_of(pad, site.bodies, suns, level_m=level_m, around_m=_AROUND_M, tops=tops)
    if scene.tops is not None:
        shadows = shadows_of_tops(around, scene.tops, suns, level_m=level_m)
    else:
        sized = some(scene.crowns, scene.crowns.is_sized)
        shadows = shadows_on(around, sized, scene.walls, suns, level_m=level_m)
    strips, _ = side_strips(pad)
    shares = shaded_pct([pad, *strips], shadows)
    # The side with most shade over all of these hours: that is where seats would stand.
    known = np.nan_to_num(shares[:, 1:])
    seats = 1 + int(known.mean(axis=0).argmax())
    times = [(month, hour) for month in shown_months(latitude_deg) for hour in SHOWN_HOURS]
    return [
        (*time, share[0], share[seats], None if shade is None else shade.intersection(around))
        for time, share, shade in zip(times, shares, shadows, strict=True)
    ]
