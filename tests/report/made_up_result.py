"""A builder of small made-up results: a town on a grid, for tests of reports and for looking at.

Everything is made up: streets, names, values. Only the shape of the records is real.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
from affine import Affine
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from playsite.criteria._contract import Criterion, Screen, Source
from playsite.criteria._curve import Curve
from playsite.criteria._registry import Chosen
from playsite.program import RequiredPad
from playsite.ranking.scores import ranks, totals
from playsite.result import GRADE_AREA_COLUMNS, Result, Study
from playsite.terrain.drawn_ground import cut_and_fill
from playsite.terrain.earthwork import earthwork, section
from playsite.units import Unit

CRS = "EPSG:32617"  # UTM 17 north: metres
WEST, SOUTH = 500_000.0, 4_400_000.0
LOT_M, BLOCK_M, STREET_M = 60.0, 80.0, 11.0
PAD = RequiredPad(31.7, 22.7, "swings, slide, climber and spring rocker with their use zones")
STATUSES = ("ranked",) * 6 + ("screened out",) * 3 + ("does not fit",) * 2 + ("not assessed",)
ALONG = ("Mill Lane", "Harrow Road", "Tanner Row", "Sallow Lane", "Kiln Street", "Field Way")
ACROSS = ("Weir Street", "Chapel Street", "Quarry Street", "Larch Street", "Bell Street")
PLACES = ("green", "yard", "corner", "meadow", "lots", "school field", "nursery", "common", "depot")


def _curve(unit: Unit, **knots: float) -> Curve:
    falling = knots["ideal"] < knots["poor"]
    return (Curve.falling if falling else Curve.rising)(**knots, unit=unit, source="made up")


def _criterion(name, plain, unit, group, needs, curve, screens=(), task=""):
    def measure(pads, site):
        raise NotImplementedError

    measure.__doc__ = f"Made-up way to measure: {plain}."
    measure.__name__ = f"{name}_{unit.value}"
    return Criterion(
        name=name,
        question=f"How good is the {plain}?",
        plain=plain,
        unit=unit,
        needs=needs,
        measure=measure,
        curve=curve,
        weight=10,
        plausible=(0, 1e6),
        group=group,
        cost="quick",
        screens=screens,
        sources=(Source("A handbook, made up, 2010"),),
        field_task=task,
    )


def made_up_criteria() -> tuple[Chosen, ...]:
    """Six criteria of four units in five groups, all of the same weight."""
    steep = Screen(
        "steeper than 15 %", 15, Unit.PERCENT, "above", Source("made up"), short="too steep"
    )
    near = Screen(
        "unfenced water within 6 m", 6, Unit.METRE, "below", Source("made up"), short="near water"
    )
    m, pct, ratio = Unit.METRE, Unit.PERCENT, Unit.RATIO
    made = (
        ("fit", "room to spare on the lot", ratio, "Space and law", ("parcels",),
         _curve(ratio, poor=1, acceptable=1.15, ideal=1.5), (), ""),
        ("grade", "slope of the ground under the play area", pct, "Ground", ("elevation",),
         _curve(pct, ideal=2, acceptable=4.5, poor=8), (steep,), "Walk it with a level."),
        ("traffic", "distance to the nearest traffic", m, "Hazards", ("streets",),
         _curve(m, poor=5, acceptable=20, ideal=60), (), "Look for a gap in the fence."),
        ("open_water", "distance to open water", m, "Hazards", ("water",),
         _curve(m, poor=10, acceptable=30, ideal=60), (near,), "Walk the bank for a fence."),
        ("shade", "share of the play area in shade, 10 to 4", pct, "Sun and trees", ("trees",),
         _curve(pct, poor=5, acceptable=15, ideal=30), (), "Look at 10, 1 and 4 o'clock."),
        ("restroom", "walk to an open restroom", m, "Getting there", ("restrooms",),
         _curve(m, ideal=60, acceptable=120, poor=200), (), "Try the door; read the hours."),
    )  # fmt: skip
    return tuple(
        Chosen(
            c := _criterion(name, plain, unit, group, needs, curve, screens, task),
            c.curve,
            c.screens,
            1 / len(made),
            10,
            "playsite",
        )
        for name, plain, unit, group, needs, curve, screens, task in made
    )


def made_up_result(
    parcels: int = 12,
    *,
    statuses: tuple[str, ...] | None = None,
    names: dict[int, str] | None = None,
    tied: int = 1,
    units: str = "feet",
    findings: tuple = (),
    base_map: bool = True,
    seed: int = 4,
) -> Result:
    """Make a result of so many parcels.

    Parameters
    ----------
    statuses
        One a parcel, or fewer: then they are repeated in turn.
    names
        Site number to name, for those that should have another one.
    tied
        How many sites share the first place.
    """
    rng = np.random.default_rng(seed)
    turn = itertools.cycle(statuses or STATUSES)
    status = [next(turn) for _ in range(parcels)]
    lots = _lots(parcels, rng)
    sites = _sites(status, names or {}, tied, rng)
    frames = _frames(sites, lots, rng)
    criteria = made_up_criteria()
    kinds = {"parcels": "2025", "elevation": "2023", "streets": "2025", "water": "2024"}
    layers = pd.DataFrame(
        [(k, f"{k}.gpkg", k, d, 10, "0" * 64, "Made-up county") for k, d in kinds.items()],
        columns=["kind", "path", "layer", "date", "features", "sha256", "credit"],
    )
    return Result(
        study=Study(
            title="Wrenfold: where to put the playground",
            units=units,
            profile="public",
            least_known_pct=60,
            made_on="2026-03-03",
            version="0.1.0",
            crs=CRS,
            line_error_m=3.0,
            setbacks="20 ft front, 10 ft side",
            folder=Path("study"),
        ),
        pad=PAD,
        criteria=criteria,
        sites=sites,
        measurements=_measurements(sites, criteria, rng),
        base_map=_base_map(lots, rng) if base_map else {},
        findings=tuple(findings),
        layers=layers,
        **frames,
    )


def with_no_evidence(result: Result) -> Result:
    """The same result with nothing to draw beside parcels and pads."""
    empty = {
        name: getattr(result, name).iloc[:0]
        for name in (
            *("alternatives", "ghosts", "low_spots", "evidence", "contours", "grade_areas"),
            *("earthwork", "sections", "grading", "arrows"),
        )
    }
    return replace(result, **empty)


def with_scores_of_measurements(result: Result) -> Result:
    """The same result, with the totals and ranks that its measurements give, as a run has them."""
    weights = {each.name: each.weight for each in result.criteria}
    ranked = result.ranked["parcel_id"]
    table = result.measurements.pivot_table(
        index="parcel_id", columns="criterion", values="score", dropna=False
    )
    table = table.loc[ranked, list(weights)]
    total = totals(table, weights)
    sites = result.sites.set_index("parcel_id")
    sites.loc[ranked, list(total.columns)] = total
    sites["rank"] = ranks(sites["score"])
    return replace(
        result,
        sites=sites.reset_index().sort_values(["rank", "status", "site_no"]).reset_index(drop=True),
    )


def _lots(parcels: int, rng) -> gpd.GeoSeries:
    """Place lots in blocks of two by two between streets, a little turned and of uneven depth."""
    columns = max(3, math.ceil(math.sqrt(parcels * 1.5)))
    shapes = []
    for place in range(parcels):
        row, column = divmod(place, columns)
        x = WEST + column * LOT_M * 1.6 + (column // 2) * STREET_M * 3
        y = SOUTH + row * BLOCK_M * 1.2 + (row // 2) * STREET_M * 3
        wide, deep = rng.uniform(42, LOT_M), rng.uniform(46, BLOCK_M * 0.9)
        shapes.append(affinity.rotate(box(x, y, x + wide, y + deep), rng.uniform(-9, 9)))
    return gpd.GeoSeries(shapes, crs=CRS)


def _sites(status, names, tied, rng) -> pd.DataFrame:
    order = {"ranked": 0, "does not fit": 1, "screened out": 2, "not assessed": 3}
    scores = np.where(np.array(status) == "ranked", rng.uniform(0.3, 0.86, len(status)), np.nan)
    rows = pd.DataFrame(
        {
            "parcel_id": [f"P-{n:05d}" for n in range(1, len(status) + 1)],
            "site_no": range(1, len(status) + 1),
            "status": status,
            "score": scores,
        }
    )
    rows["name"] = [
        names.get(
            n, f"{ALONG[n % 6]} {PLACES[n % 9]}" if n % 3 else f"{100 + 7 * n} {ACROSS[n % 5]}"
        )
        for n in rows["site_no"]
    ]
    best = rows.loc[rows["score"].nlargest(tied).index]
    rows.loc[best.index, "score"] = best["score"].max() if len(best) else np.nan
    rank = rows["score"].round(9).rank(method="min", ascending=False)
    rows["rank"] = rank.astype("Int64")
    rows["score_low"], rows["score_high"] = rows["score"] - 0.05, rows["score"] + 0.04
    rows["known_share"] = 0.92
    rows["pad_easting"] = rows["pad_northing"] = np.nan
    rows["pad_rotation_deg"] = rng.uniform(0, 90, len(rows)).round()
    rows["conditions"] = ""
    rows["reason"] = [
        {"not assessed": "The elevation does not reach this parcel"}.get(s, "") for s in status
    ]
    rows["_order"] = rows["status"].map(order)
    rows = rows.sort_values(["rank", "_order", "site_no"], na_position="last")
    return rows.drop(columns="_order").reset_index(drop=True)


def _frames(sites: pd.DataFrame, lots: gpd.GeoSeries, rng) -> dict[str, pd.DataFrame]:
    by_no = {n: lots.iloc[n - 1] for n in sites["site_no"]}
    where = [by_no[n] for n in sites["site_no"]]
    fits = sites["status"] != "does not fit"
    pads = [
        _pad(lot.centroid, turn) for lot, turn in zip(where, sites["pad_rotation_deg"], strict=True)
    ]
    sites["pad_easting"] = [p.centroid.x for p in pads]
    sites["pad_northing"] = [p.centroid.y for p in pads]
    placed = sites[["parcel_id", "site_no", "status", "rank", "score"]].assign(
        easting=sites["pad_easting"],
        northing=sites["pad_northing"],
        rotation_deg=sites["pad_rotation_deg"],
        largest_scale=1.2,
        shape="",
    )
    geo = gpd.GeoDataFrame(placed, geometry=pads, crs=CRS)
    ranked = geo[geo["status"] == "ranked"]
    return {
        "ledger": _ledger(sites),
        "misses": _misses(sites, rng),
        "conditions": _conditions(sites),
        "unknowns": _unknowns(sites),
        "parcels": gpd.GeoDataFrame(
            sites[["parcel_id", "name", "status"]].assign(owner="Town"), geometry=where, crs=CRS
        ),
        "pads": geo[fits].reset_index(drop=True),
        "alternatives": _alternatives(ranked.iloc[:40]),
        "ghosts": gpd.GeoDataFrame(
            sites.loc[~fits, ["parcel_id"]].assign(scale=0.54),
            geometry=[p for p, fit in zip(pads, fits, strict=True) if not fit],
            crs=CRS,
        ),
        "low_spots": _low_spots(ranked.iloc[:40]),
        "grade_areas": _grade_areas(ranked.iloc[:40]),
        "evidence": _evidence(ranked),
        "contours": _contours(ranked.iloc[:3]),
        **_earth(ranked.iloc[:1]),
    }


def _pad(at: Point, turn_deg: float) -> Polygon:
    half_long, half_wide = PAD.length_m / 2, PAD.width_m / 2
    level = box(at.x - half_long, at.y - half_wide, at.x + half_long, at.y + half_wide)
    return affinity.rotate(level, turn_deg)


def _ledger(sites: pd.DataFrame) -> pd.DataFrame:
    rows = [
        (parcel, rule, area, 0.0, "m2", "made up")
        for parcel in sites["parcel_id"]
        for rule, area in (("setbacks from the lot lines", 812.0), ("drainage easement", 230.0))
    ]
    columns = ["parcel_id", "rule", "removed_m2", "margin", "unit", "source"]
    return pd.DataFrame(rows, columns=columns)


def _misses(sites: pd.DataFrame, rng) -> pd.DataFrame:
    rows = []
    for place, site in enumerate(sites.itertuples()):
        if site.status == "does not fit":
            rows.append((site.parcel_id, "fit", "play area does not fit", "too tight",
                         0.54, 1.0, -0.46, "ratio", "made up"))  # fmt: skip
        elif site.status == "screened out" and place % 2:
            value = round(float(rng.uniform(16, 24)), 1)
            rows.append((site.parcel_id, "grade", "steeper than 15 %", "too steep",
                         value, 15.0, 15.0 - value, "pct", "made up"))  # fmt: skip
        elif site.status == "screened out":
            value = round(float(rng.uniform(1, 5.5)), 1)
            rows.append((site.parcel_id, "open_water", "unfenced water too near", "near water",
                         value, 6.0, value - 6.0, "m", "made up"))  # fmt: skip
    columns = [
        "parcel_id",
        "criterion",
        "rule",
        "short",
        "value",
        "limit",
        "margin",
        "unit",
        "source",
    ]
    return pd.DataFrame(rows, columns=columns)


def _conditions(sites: pd.DataFrame) -> pd.DataFrame:
    ranked = sites[sites["status"] == "ranked"].iloc[1:2]
    rows = [
        (parcel, "traffic", "nearer to a collector street than its class allows",
         "a fence or other barrier along the street", 14.0, 20.0, "m", "made up")
        for parcel in ranked["parcel_id"]
    ]  # fmt: skip
    columns = ["parcel_id", "criterion", "rule", "needs", "value", "limit", "unit", "source"]
    return pd.DataFrame(rows, columns=columns)


def _unknowns(sites: pd.DataFrame) -> pd.DataFrame:
    ranked = sites[sites["status"] != "does not fit"]
    rows = [(p, "shade", "Look at 10, 1 and 4 o'clock.") for p in ranked["parcel_id"][::3]]
    return pd.DataFrame(rows, columns=["parcel_id", "criterion", "task"])


def _measurements(sites: pd.DataFrame, criteria: tuple[Chosen, ...], rng) -> pd.DataFrame:
    rows = []
    placed = sites[sites["status"] != "does not fit"]
    for chosen in criteria:
        c = chosen.criterion
        spread = [knot.at for knot in chosen.curve.knots]
        values = rng.uniform(spread[0], spread[-1], len(placed)).round(2)
        if c.name == "shade":
            values[::3] = np.nan
        scores = chosen.curve.score(values)
        layer = c.needs[0]
        for parcel, value, score in zip(placed["parcel_id"], values, scores, strict=True):
            note = "Harrow Road, a collector." if c.name == "traffic" else ""
            rows.append(
                (parcel, c.name, value, c.unit.value, value * 0.95, value * 1.05, score, "map", value,
                 value * 0.8 if c.unit.value == "m" else np.nan, layer, "2024", c.method, "A handbook, made up, 2010", note)
            )  # fmt: skip
    columns = ["parcel_id", "criterion", "value", "unit", "low", "high", "score", "origin",
               "map_value", "straight_m", "layer", "layer_date", "method", "source", "note"]  # fmt: skip
    return pd.DataFrame(rows, columns=columns)


def _alternatives(ranked: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    moved = ranked.geometry.translate(9, 7).rotate(20)
    table = ranked[["parcel_id", "easting", "northing", "rotation_deg", "score"]]
    return gpd.GeoDataFrame(table.copy(), geometry=moved, crs=CRS)


def _low_spots(ranked: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    spots = [
        affinity.scale(Point(x + 24, y - 22).buffer(7), 1.5, 0.8)
        for x, y in zip(ranked["easting"], ranked["northing"], strict=True)
    ][::2]
    return gpd.GeoDataFrame(
        {
            "low_spot": range(len(spots)),
            "standing": "credible",
            "depth_m": 0.15,
            "area_m2": 150.0,
            "volume_m3": 9.0,
            "probability": 0.8,
            "depth_low_m": 0.11,
            "depth_high_m": 0.19,
            "catchment_m2": 900.0,
            "spill_easting": [spot.bounds[2] for spot in spots],
            "spill_northing": [spot.centroid.y for spot in spots],
            "soaked_away_h": np.nan,
        },
        index=range(len(spots)),
        geometry=spots,
        crs=CRS,
    )


def _grade_areas(ranked: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Strips of 12 m round each pad, as steep as the knots of the grade's curve, and one unknown."""
    ends = [(0.0, 2.0), (2.0, 4.5), (4.5, 8.0), (8.0, math.inf), (math.nan, math.nan)]
    rows = [
        (
            site.parcel_id,
            *pair,
            box(
                site.easting - 30 + 12 * k,
                site.northing - 25,
                site.easting - 18 + 12 * k,
                site.northing + 25,
            ),
        )
        for site in ranked.itertuples()
        for k, pair in enumerate(ends)
    ]
    return gpd.GeoDataFrame(rows, columns=list(GRADE_AREA_COLUMNS), geometry="geometry", crs=CRS)


def _evidence(ranked: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    rows, shapes = [], []
    for site in ranked.itertuples():
        at = Point(site.easting, site.northing)
        ways = {
            "traffic": ("Harrow Road", [(0, 11), (0, 48)]),
            "restroom": ("Town hall restroom", [(16, 0), (40, -6), (60, -30), (104, -34)]),
        }
        for criterion, (label, steps) in ways.items():
            rows.append((site.parcel_id, criterion, label))
            shapes.append(LineString([(at.x + dx, at.y + dy) for dx, dy in steps]))
    table = pd.DataFrame(rows, columns=["parcel_id", "criterion", "label"])
    return gpd.GeoDataFrame(table, geometry=gpd.GeoSeries(shapes, crs=CRS), crs=CRS)


def _contours(ranked: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    rows, shapes = [], []
    for site in ranked.itertuples():
        for step in range(-3, 4):
            y = site.northing + step * 14
            rows.append((site.parcel_id, 120.0 + step * 0.5))
            shapes.append(
                LineString(
                    [(site.easting + x, y + 4 * math.sin(x / 25)) for x in range(-70, 71, 7)]
                )
            )
    table = pd.DataFrame(rows, columns=["parcel_id", "elevation_m"])
    return gpd.GeoDataFrame(table, geometry=gpd.GeoSeries(shapes, crs=CRS), crs=CRS)


def _earth(ranked: gpd.GeoDataFrame) -> dict[str, pd.DataFrame]:
    """Level the pads on a made-up slope of 6 % with a bump, as a run does."""
    done = [_levelled(site) for site in ranked.itertuples()]
    names = ("earthwork", "sections", "grading", "arrows")
    if not done:
        return {}
    return {name: pd.concat([each[name] for each in done], ignore_index=True) for name in names}


def _levelled(site) -> dict[str, pd.DataFrame]:
    at, pad = np.arange(-60.0, 60.0) + 0.5, site.geometry
    x, y = np.meshgrid(at, -at)
    ground = 120 + 0.06 * y + 0.3 * np.exp(-((x - 8) ** 2 + y**2) / 60)
    transform = Affine(1, 0, site.easting - 60, 0, -1, site.northing + 60)
    work = earthwork(ground, transform, pad, land=pad.buffer(0.8, join_style="mitre"))
    finish, banks = work.levelled.finish, work.banks
    drawn = section(ground, transform, pad, finish, footprint=banks.footprint, beyond_m=36)
    cut, fill = cut_and_fill(ground, transform, pad, finish)
    shapes = {"cut": cut.union(banks.cut_shape), "fill": fill.union(banks.fill_shape)}
    rows = [(kind, math.nan, shape) for kind, shape in shapes.items()]
    rows += [("wall", wall.height_m, wall.line) for wall in banks.walls]
    own = {"parcel_id": site.parcel_id, "part": 1}
    arrows = [Point(site.easting + dx, site.northing - 20) for dx in (-24, -12, 0, 12, 24)]
    figures = {
        "cut_m3": work.cut.m3 + work.bank_cut.m3,
        "fill_m3": work.fill.m3 + work.bank_fill.m3,
        "import_m3": work.brought_in.m3,
        "export_m3": work.taken_away.m3,
        "plus_minus_m3": 12.0,
        "topsoil_m3": work.topsoil.m3,
        "wall_m": sum(wall.length_m for wall in banks.walls),
        "wall_height_m": max(wall.height_m for wall in banks.walls),
        "wall_needs_permit": False,
        "deepest_cut_m": work.levelled.deepest_cut_m,
        "highest_fill_m": work.levelled.highest_fill_m,
        "crossfall_pct": finish.grade_pct,
        "direction_deg": finish.direction_deg,
        "finish_m": finish.height_m,
        "easting": finish.easting_m,
        "northing": finish.northing_m,
        "two_levels_cut_saved_m3": math.nan,
        "two_levels_step_m": math.nan,
        "two_levels_ramp_m": math.nan,
    }
    return {
        "earthwork": gpd.GeoDataFrame([own | figures], geometry=[banks.footprint], crs=CRS),
        "sections": pd.DataFrame(
            {
                **own,
                "distance_m": drawn.distance_m,
                "ground_m": drawn.ground_m,
                "finish_m": drawn.finish_m,
            }
        ),
        "grading": gpd.GeoDataFrame(
            [own | {"kind": kind, "height_m": height} for kind, height, _ in rows],
            geometry=[shape for *_, shape in rows],
            crs=CRS,
        ),
        "arrows": gpd.GeoDataFrame(
            {"parcel_id": site.parcel_id, "grade_pct": 6.0},
            geometry=[LineString([(p.x, p.y + 2.5), (p.x, p.y - 2.5)]) for p in arrows],
            crs=CRS,
            index=range(len(arrows)),
        ),
    }


def _base_map(lots: gpd.GeoSeries, rng) -> dict[str, gpd.GeoDataFrame]:
    west, south, east, north = lots.total_bounds + np.array([-90, -90, 90, 90])
    lines, names = [], []
    for place, x in enumerate(np.arange(west + 50, east, 2 * LOT_M * 1.6 + STREET_M * 3)):
        lines.append(LineString([(x, south), (x + 14, north)]))
        names.append(ACROSS[place % 5])
    for place, y in enumerate(np.arange(south + 50, north, 2 * BLOCK_M * 1.2 + STREET_M * 3)):
        lines.append(LineString([(west, y), ((west + east) / 2, y + 18), (east, y)]))
        names.append(ALONG[place % 6])
    kinds = ["local" if place % 4 else "collector" for place in range(len(lines))]
    streets = gpd.GeoSeries(lines, crs=CRS)
    count = min(len(lots) * 6, 4000)
    spots = rng.uniform([west, south], [east, north], (count, 2))
    houses = [affinity.rotate(box(x, y, x + 11, y + 8), t) for (x, y), t in zip(spots, rng.uniform(0, 90, count), strict=True)]  # fmt: skip
    paved = streets.buffer(STREET_M).union_all()
    houses = gpd.GeoSeries([h for h in houses if h.disjoint(paved)], crs=CRS)
    free = houses[houses.disjoint(lots.union_all())]
    pond = affinity.scale(Point(west + 95, south + 60).buffer(38), 1.3, 0.9)
    return {
        "streets": gpd.GeoDataFrame(
            {"class": kinds, "name": names}, geometry=streets.buffer(STREET_M / 2), crs=CRS
        ),
        "street_lines": gpd.GeoDataFrame(
            {"class": kinds, "name": names}, geometry=streets, crs=CRS
        ),
        "water": gpd.GeoDataFrame({"name": ["Mill Pond"]}, geometry=[pond], crs=CRS),
        "buildings": gpd.GeoDataFrame(geometry=free.reset_index(drop=True), crs=CRS),
        "trees": gpd.GeoDataFrame(geometry=gpd.points_from_xy(*(spots[::3] + 9).T), crs=CRS),
        "restrooms": gpd.GeoDataFrame(geometry=[Point(west + 240, south + 90)], crs=CRS),
    }
