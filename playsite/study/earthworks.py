"""Earthwork of the chosen pads: what levelling each would move, and a section through it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import pandas as pd
import shapely

from playsite.engine import in_threads
from playsite.result import SECTION_COLUMNS
from playsite.study.taking import takers
from playsite.terrain.along import window_of
from playsite.terrain.earthwork import Allowances, earthwork
from playsite.terrain.levelling import Finish
from playsite.terrain.pad_section import section
from playsite.terrain.tie_in import LEAST_WALL_M, PERMIT_M, REACH_M
from playsite.terrain.two_levels import two_levels

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from affine import Affine
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from playsite.settings import Setbacks
    from playsite.site import Ground, Site
    from playsite.study.taking import Taker
    from playsite.terrain.two_levels import TwoLevels

__all__ = [
    "EARTHWORK_COLUMNS",
    "earthwork_table",
    "finish_of",
    "ground_near",
    "in_the_way",
    "section_table",
]

EARTHWORK_COLUMNS = (
    "parcel_id",
    "part",
    "cut_m3",
    "fill_m3",
    "import_m3",
    "export_m3",
    "plus_minus_m3",
    "at_most_m3",
    "topsoil_m3",
    "boxout_m3",
    "tie_in_area_m2",
    "tie_in_unknown_m",
    "wall_m",
    "wall_height_m",
    "wall_needs_permit",
    "deepest_cut_m",
    "highest_fill_m",
    "crossfall_pct",
    "direction_deg",
    "finish_m",
    "easting",
    "northing",
    "two_levels_cut_saved_m3",
    "two_levels_step_m",
    "two_levels_ramp_m",
)

_ROUND_M = 6.0  # of ground drawn beyond the longest bank
_AROUND_M = REACH_M + 10.0


def earthwork_table(
    pads: gpd.GeoDataFrame,
    parcels: gpd.GeoSeries,
    site: Site,
    setbacks: Setbacks,
    *,
    surfacing_m2: float | None = None,
) -> gpd.GeoDataFrame:
    """Earth that levelling each pad would move.

    Screening, not a bid: no borings, no survey, and call 811 before anyone digs.

    Parameters
    ----------
    pads
        As criteria get them: ``parcel_id`` and outline; only these are worked on.
    parcels
        Outlines by ``parcel_id``: banks end at the parcel's line.
    site
        Gives the ground with its noise, and what stands in the way of a bank.
    setbacks
        Roots of trees that a bank must keep off.
    surfacing_m2
        Area of safety surfacing that is boxed out, of all parts; None: all of the pad.

    Returns
    -------
    GeoDataFrame
        ``EARTHWORK_COLUMNS``, one row a part of a pad (two loose areas have two), and the outline
        of pad and banks. Cut is as it lies, banks included, without box-out; fill is compacted.
        ``export_m3`` holds the box-out, ``topsoil_m3`` stays on the site. ``plus_minus_m3`` is the
        standard error of what is brought or taken from the elevation's noise, ``at_most_m3`` the
        same were all of it off one way. Where too little of the ground is known all are missing;
        without a step of 15 cm or more that saves cut, so are the columns of two levels.
    """
    ground, taken = site.ground, takers(site, setbacks)

    def of_one(item: tuple[str, BaseGeometry]) -> list[tuple[object, ...]]:
        parcel_id, pad = item
        blocks, land, rows = in_the_way(pad, taken), parcels.loc[parcel_id], []
        boxed = 1.0 if surfacing_m2 is None else surfacing_m2 / pad.area
        for number, part in enumerate(shapely.get_parts(pad), start=1):
            rows.append((parcel_id, number, *_moved(part, land, blocks, ground, boxed * part.area)))
        return rows

    items = list(zip(pads["parcel_id"], pads.geometry, strict=True))
    found = [row for rows in in_threads(of_one, items) for row in rows]
    return gpd.GeoDataFrame(
        found, columns=[*EARTHWORK_COLUMNS, "geometry"], geometry="geometry", crs=pads.crs
    )


def section_table(earthworks: gpd.GeoDataFrame, pads: gpd.GeoDataFrame, site: Site) -> pd.DataFrame:
    """Section through each part of each pad, along its fall, for a drawing.

    Parameters
    ----------
    earthworks
        As `earthwork_table` gives it, of the same pads.
    pads, site
        As for `earthwork_table`.

    Returns
    -------
    DataFrame
        ``SECTION_COLUMNS``: distance from the pad's middle, negative on its upper side; height of
        the ground (missing where not known) and of pad and banks (missing where the ground
        stays).
    """
    outline_of = dict(zip(pads["parcel_id"], pads.geometry, strict=True))
    tables = [pd.DataFrame(columns=list(SECTION_COLUMNS))]
    for row in earthworks[earthworks["finish_m"].notna()].itertuples():
        part = shapely.get_parts(outline_of[row.parcel_id])[row.part - 1]
        near = ground_near(part, site.ground)
        if near is None:
            continue
        drawn = section(
            *near, part, finish_of(row), footprint=row.geometry, beyond_m=REACH_M + _ROUND_M
        )
        values = {
            "parcel_id": row.parcel_id,
            "part": row.part,
            "distance_m": drawn.distance_m,
            "ground_m": drawn.ground_m,
            "finish_m": drawn.finish_m,
        }
        tables.append(pd.DataFrame(values))
    return pd.concat(tables[1:] or tables, ignore_index=True)


def finish_of(row: Any) -> Finish:
    """Finished plane of a row of the earthwork."""
    return Finish(row.crossfall_pct, row.direction_deg, row.finish_m, row.easting, row.northing)


def in_the_way(pad: BaseGeometry, taken: Sequence[Taker]) -> BaseGeometry | None:
    """What a bank must end at: streets, houses, water, easements, wires' land, roots; None: nothing.

    Margins kept round them are for pads and bind no bank, but for those of roots.
    """
    around = pad.buffer(_AROUND_M)
    removals = [
        each.removal(around, None if each.radii_m is not None else 0.0)
        for each in taken
        if not each.rule.startswith("overhead")
    ]
    shapes = [each.shape for each in removals if each is not None]
    return shapely.union_all(shapes) if shapes else None


def ground_near(
    pad: BaseGeometry,
    ground: Ground | None,
    *,
    elevation: NDArray[np.floating] | None = None,
    around_m: float = _AROUND_M,
) -> tuple[NDArray[np.floating], Affine] | None:
    """Ground round a pad, as far as its banks reach, or another elevation of the same cells.

    None where there is none.
    """
    whole = elevation if elevation is not None or ground is None else ground.elevation
    if ground is None or whole is None or min(whole.shape) < 2:
        return None
    cut, transform = window_of(whole, ground.transform, pad.buffer(around_m).bounds)
    return (cut, transform) if min(cut.shape) > 1 else None


def _moved(
    part: shapely.Polygon,
    land: BaseGeometry,
    blocks: BaseGeometry | None,
    ground: Ground | None,
    boxed_m2: float,
) -> tuple[object, ...]:
    """Figures of one part in the order of the columns, and the outline of pad and banks."""
    near = ground_near(part, ground)
    done = None
    if near is not None and ground is not None:
        done = earthwork(
            *near,
            part,
            allowances=Allowances(surfacing_m2=boxed_m2),
            land=land,
            in_the_way=blocks,
            noise_m=ground.noise_m,
            noise_length_m=ground.noise_length_m,
        )
    if near is None or done is None:
        return (*[math.nan] * 12, None, *[math.nan] * 10, None)
    banks, level = done.banks, done.levelled
    wall_height_m = max((wall.height_m for wall in banks.walls), default=0.0)
    return (
        done.cut.m3 + done.bank_cut.m3,
        done.fill.m3 + done.bank_fill.m3,
        done.brought_in.m3,
        done.taken_away.m3,
        done.taken_away.plus_minus_m3,
        done.taken_away.at_most_m3,
        done.topsoil.m3,
        done.box_out.m3,
        banks.area_m2,
        banks.unknown_m,
        sum(wall.length_m for wall in banks.walls),
        wall_height_m,
        wall_height_m > PERMIT_M,
        level.deepest_cut_m,
        level.highest_fill_m,
        level.finish.grade_pct,
        level.finish.direction_deg,
        level.finish.height_m,
        level.finish.easting_m,
        level.finish.northing_m,
        *_stepped(two_levels(*near, part)),
        banks.footprint,
    )


def _stepped(levels: TwoLevels | None) -> tuple[float, float, float]:
    """Cut saved, step and ramp of a pad in two levels; missing where that helps nothing."""
    if levels is None or levels.cut_saved_m3 <= 0 or levels.step_m < LEAST_WALL_M:
        return math.nan, math.nan, math.nan
    return levels.cut_saved_m3, levels.step_m, levels.ramp_m
