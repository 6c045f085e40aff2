"""Water at the chosen pads: what two storms bring, where it goes, and what pipes the ground asks for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.criteria._soil_groups import soil_groups
from playsite.study.ways_off import WELCOME, freeboard_m, way_off_parcel
from playsite.terrain.levelling import Finish
from playsite.terrain.pad_pieces import heights_m
from playsite.terrain.pad_storm import (
    CHILD_SAFE_M2_S,
    DRAINED_H,
    FREEBOARD_M,
    SWALE_MOST_M,
    Arriving,
    curve_number,
    peak_m3_s,
    runoff_coefficient,
    runoff_m3,
    soaked_away_h,
    swale_m,
)
from playsite.terrain.underdrain import pipe_advice

if TYPE_CHECKING:
    from collections.abc import Mapping

    from shapely.geometry.base import BaseGeometry

    from playsite._storm_settings import StormTable
    from playsite.criteria._contract import Measured
    from playsite.site import Site

__all__ = ["WATER_COLUMNS", "water_table"]

WATER_COLUMNS = (
    "parcel_id",
    "run_on_m2",
    "run_on_low_m2",
    "run_on_high_m2",
    "hard_share_pct",
    "runoff_coefficient",
    "curve_number",
    "peak_10_year_m3_s",
    "peak_100_year_m3_s",
    "runoff_10_year_m3",
    "runoff_100_year_m3",
    "swale_depth_m",
    "soaked_away_h",
    "outlet_m",
    "ten_year",
    "edge_flow_m2_s",
    "freeboard_m",
    "leaves_to",
    "hundred_year",
    "soil_group",
    "underdrain",
)

_SURE_M = 0.02


def water_table(
    pads: gpd.GeoDataFrame,
    parcels: gpd.GeoSeries,
    site: Site,
    storm: StormTable,
    measured: Mapping[str, Measured],
    earthwork: gpd.GeoDataFrame,
) -> gpd.GeoDataFrame:
    """Storm checks of each pad, with the way of the water that leaves it.

    Screening, not design: an engineer checks drainage, and local codes govern.

    Parameters
    ----------
    pads
        As criteria get them; only these are worked on.
    parcels
        Outlines by ``parcel_id``.
    site
        Gives ground, soils, streets, easements, inlets and water.
    storm
        Rain of two storms as the study gives it; what is missing is not told.
    measured
        Of ``run_on`` and ``outlet``, where the study uses them.
    earthwork
        As `playsite.study.earthworks.earthwork_table` gives it, of the same pads.

    Returns
    -------
    GeoDataFrame
        ``WATER_COLUMNS`` and the way of the water as a line. ``ten_year`` and ``hundred_year`` are
        "passes", "fails" or "unknown". Of a play area in several parts the finish of the first
        counts.
    """
    soils = soil_groups(pads, site.layer("soils")).to_dict("index")
    finish = earthwork[earthwork["part"] == 1].set_index("parcel_id")
    run_on, outlet = measured.get("run_on"), measured.get("outlet")
    hard = _hard_land(site)
    rows = []
    for pad_id, pad in pads.iterrows():
        soil = soils[pad_id]
        land = _arriving(run_on, pad_id, hard, site, soil["group"])
        level = _finish(finish, pad["parcel_id"])
        line, leaves_to = way_off_parcel(pad.geometry, parcels.loc[pad["parcel_id"]], site)
        facts: dict[str, Any] = {
            "parcel_id": pad["parcel_id"],
            **_range_of(run_on, pad_id),
            **_storms(land, storm),
            "outlet_m": _value(outlet, pad_id),
            "freeboard_m": freeboard_m(pad.geometry, level, site),
            "leaves_to": leaves_to,
            "soil_group": soil["group"],
            "geometry": line,
        }
        facts["edge_flow_m2_s"] = facts["peak_100_year_m3_s"] / _shorter_side_m(pad.geometry)
        facts["ten_year"], facts["hundred_year"] = _ten_year(facts), _hundred_year(facts)
        facts["underdrain"] = _advice(facts["outlet_m"], soil)
        rows.append(facts)
    columns = [*WATER_COLUMNS, "geometry"]
    return gpd.GeoDataFrame(pd.DataFrame(rows, columns=columns), geometry="geometry", crs=pads.crs)


def _value(got: Measured | None, pad_id: Any) -> float:
    return math.nan if got is None else float(got.value.loc[pad_id])


def _range_of(run_on: Measured | None, pad_id: Any) -> dict[str, float]:
    ends = {"run_on_m2": _value(run_on, pad_id)}
    for name in ("low", "high"):
        series = None if run_on is None else getattr(run_on, name)
        ends[f"run_on_{name}_m2"] = math.nan if series is None else float(series.loc[pad_id])
    return ends


def _hard_land(site: Site) -> shapely.STRtree | None:
    """Roofs and pavement; None where the study has neither layer, or only one: then it isn't known."""
    if not (site.has("buildings") and site.has("streets")):
        return None
    parts = [site.layer("buildings").geometry, site.pavement.geometry]
    lots = site.layer("lots").geometry
    parts.append(lots[lots.geom_type.str.endswith("Polygon")] if len(lots) else lots)
    return shapely.STRtree(np.concatenate([part.to_numpy() for part in parts]))


def _arriving(
    run_on: Measured | None, pad_id: Any, hard: shapely.STRtree | None, site: Site, group: object
) -> Arriving:
    """Land that drains to a pad, by its outline as it is drawn."""
    area_m2 = _value(run_on, pad_id)
    known = group if isinstance(group, str) else None
    shapes = None if run_on is None else run_on.evidence
    own = [] if shapes is None else shapes.geometry[shapes["pad_id"] == pad_id].tolist()
    if not own or site.ground is None:
        return Arriving(area_m2, math.nan if hard is None else 0.0, 0.0, 0.0, known)
    outline = own[0]
    corners = shapely.get_coordinates(outline)
    height_m = heights_m(site.ground.elevation, site.ground.transform, corners[:, 0], corners[:, 1])
    length_m = shapely.length(shapely.minimum_rotated_rectangle(outline)) / 2
    fall_m = float(np.nanmax(height_m) - np.nanmin(height_m)) if np.isfinite(height_m).any() else 0
    share = math.nan if hard is None else _share(outline, hard)
    return Arriving(area_m2, share, length_m, fall_m, known)


def _share(outline: BaseGeometry, hard: shapely.STRtree) -> float:
    near = hard.geometries[hard.query(outline, predicate="intersects")]
    return float(shapely.intersection(outline, shapely.union_all(near)).area / outline.area)


def _storms(land: Arriving, storm: StormTable) -> dict[str, float]:
    ten, hundred = storm.intensity_10_year_mm_h, storm.intensity_100_year_mm_h
    peak = math.nan if ten is None else peak_m3_s(land, ten, rare=False)
    rare = math.nan if hundred is None else peak_m3_s(land, hundred, rare=True)
    rains = {"10": storm.rain_10_year_mm, "100": storm.rain_100_year_mm}
    return {
        "hard_share_pct": 100 * land.hard_share,
        "runoff_coefficient": runoff_coefficient(land),
        "curve_number": curve_number(land),
        "peak_10_year_m3_s": peak,
        "peak_100_year_m3_s": rare,
        **{
            f"runoff_{years}_year_m3": math.nan if rain is None else runoff_m3(land, rain)
            for years, rain in rains.items()
        },
        "swale_depth_m": swale_m(peak),
        "soaked_away_h": math.nan
        if storm.rain_10_year_mm is None
        else soaked_away_h(storm.rain_10_year_mm, land.group),
    }


def _finish(finish: gpd.GeoDataFrame, parcel_id: str) -> Finish | None:
    if parcel_id not in finish.index or math.isnan(finish.loc[parcel_id, "finish_m"]):
        return None
    row = finish.loc[parcel_id]
    return Finish(
        row["crossfall_pct"], row["direction_deg"], row["finish_m"], row["easting"], row["northing"]
    )


def _shorter_side_m(pad: BaseGeometry) -> float:
    """Shorter side of the box round a pad: the narrowest edge that water may cross."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(pad))[:3]
    return float(np.hypot(*np.diff(corners, axis=0).T).min())


def _ten_year(facts: Mapping[str, Any]) -> str:
    swale_holds = _holds(facts["swale_depth_m"], SWALE_MOST_M)
    by_pipe = math.isfinite(facts["outlet_m"])
    drained = True if by_pipe else _holds(facts["soaked_away_h"], DRAINED_H)
    return _verdict([swale_holds, drained])


def _hundred_year(facts: Mapping[str, Any]) -> str:
    above_m = facts["freeboard_m"]
    # heights are no surer: a pad that lies this near the limit is not settled
    unsettled = math.isnan(above_m) or abs(above_m - FREEBOARD_M) < _SURE_M
    escapes = None if unsettled else above_m >= FREEBOARD_M
    to = str(facts["leaves_to"])
    welcome = None if to == "unknown" else to in WELCOME
    return _verdict([_holds(facts["edge_flow_m2_s"], CHILD_SAFE_M2_S), escapes, welcome])


def _holds(value: float, most: float) -> bool | None:
    return None if math.isnan(value) else value <= most


def _verdict(tests: list[bool | None]) -> str:
    if any(each is False for each in tests):
        return "fails"
    return "unknown" if any(each is None for each in tests) else "passes"


def _advice(outlet_m: float, soil: Mapping[Any, Any]) -> str:
    """First sentence of the advice on the underdrain."""
    unknown = math.isnan(outlet_m)
    group, deep = soil["group"], float(soil["water_table_m"])
    advice = pipe_advice(
        group if isinstance(group, str) else None,
        has_outlet=None if unknown else math.isfinite(outlet_m),
        water_table_m=None if math.isnan(deep) else deep,
    )
    return advice[0]
