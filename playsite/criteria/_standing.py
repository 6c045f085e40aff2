"""What stands in the way of trucks and of new walks: shared by the criteria of routes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from playsite.site import Site

__all__ = [
    "PRICES",
    "ROOT_DIAMETERS",
    "Price",
    "blocks_of_walks",
    "blocks_that_move",
    "blocks_that_stay",
    "standing_before_trucks",
]

Price = tuple[float, float]

PRICES: dict[str, Price] = {
    "root zone": (5.0, 1.0),
    "steep ground": (10.0, 2.0),
    "other people's land": (20.0, 2.0),
    "fence": (30.0, 0.0),
    "tree": (60.0, 0.0),
    "building": (np.inf, 0.0),
    "water": (np.inf, 0.0),
    "wetland": (np.inf, 0.0),
    "playground": (np.inf, 0.0),
}
"""Detour in metres that is made rather than take one such thing away or cross it, and for each metre
of way in it (common practice, no source)."""

ROOT_DIAMETERS = 12.0
"""Radius of a root zone in diameters of the stem: BS 5837:2012, 4.6; 15 m at most."""

_MOST_ROOT_M = 15.0
_STEM_M = 0.3  # of a stem of unknown diameter
_ROOT_OF_CROWN = 1.0  # of a tree without a diameter the crown stands for the roots
_STREAM_HALF_M = 0.5
_GATE_HALF_M = 0.05


def standing_before_trucks(site: Site) -> gpd.GeoDataFrame:
    """All that a truck drives round, opens or crosses with care: ``kind``, its price, ``geometry``.

    Every gate is a hole in its fence: a crew has the key. Ground too steep is not among it.
    """
    stems, roots = _trees(site)
    shapes = {
        "root zone": roots,
        "other people's land": site.layer("lots").geometry,
        "fence": fences_without_gates(site),
        "tree": stems,
        "building": site.layer("buildings").geometry,
        "water": _banks(site),
        "wetland": _wetlands(site),
        "playground": site.layer("playgrounds").geometry,
    }
    parts = [priced(own, kind, site.layers.crs) for kind, own in shapes.items() if len(own)]
    if not parts:
        return priced(gpd.GeoSeries([], crs=site.layers.crs), "building", site.layers.crs)
    return gpd.GeoDataFrame(pd.concat(parts, ignore_index=True), crs=site.layers.crs)


def priced(shapes: gpd.GeoSeries, kind: str, crs: object) -> gpd.GeoDataFrame:
    """Shapes of one kind with what sparing them is worth."""
    one, per_m = PRICES[kind]
    columns: dict[str, Any] = {"kind": kind, "worth_m": one, "worth_per_m": per_m}
    own = np.asarray(shapes, dtype=object)
    return gpd.GeoDataFrame(columns, index=range(len(own)), geometry=own, crs=crs)


def blocks_of_walks(site: Site) -> gpd.GeoSeries:
    """What no new walk may cross: buildings, water, wetlands, stems, fences but for their gates."""
    return _one_after_another([blocks_that_stay(site), *blocks_that_move(site).values()], site)


def blocks_that_stay(site: Site) -> gpd.GeoSeries:
    """What nobody moves for a walk: buildings, water, wetlands."""
    return _one_after_another(
        [site.layer("buildings").geometry, _banks(site), _wetlands(site)], site
    )


def blocks_that_move(site: Site) -> dict[str, gpd.GeoSeries]:
    """What can be opened or taken out for a walk, by its name: fences and stems of trees."""
    return {"fences": fences_without_gates(site), "trees": _trees(site)[0]}


def _one_after_another(parts: list[gpd.GeoSeries], site: Site) -> gpd.GeoSeries:
    kept = [part.reset_index(drop=True) for part in parts if len(part)]
    return pd.concat(kept, ignore_index=True) if kept else gpd.GeoSeries([], crs=site.layers.crs)


def fences_without_gates(site: Site) -> gpd.GeoSeries:
    """Fences, walls and hedges of any height, with holes where gates are, shut or open."""
    fences = site.layer("fences")
    if not len(fences):
        return fences.geometry
    gates = fences.geometry[fences["is_gate"]]
    lines = fences.geometry[~fences["is_gate"]]
    if len(gates):
        lines = lines.difference(gates.buffer(_GATE_HALF_M, cap_style="flat").union_all())
    return lines[~lines.is_empty]


def _banks(site: Site) -> gpd.GeoSeries:
    """Water as ground; a stream that is drawn as a line gets a width that nobody has told."""
    water = site.layer("water").geometry
    is_line = water.geom_type.isin(["LineString", "MultiLineString", "LinearRing"])
    banks: gpd.GeoSeries = water.where(~is_line, water.buffer(_STREAM_HALF_M))
    return banks


def _wetlands(site: Site) -> gpd.GeoSeries:
    """Wetlands that were found, without the land in which somebody looked."""
    wetlands = site.layer("wetlands")
    if not len(wetlands):
        return wetlands.geometry
    return wetlands.geometry[~wetlands["searched"].fillna(value=False).astype(bool)]


def _trees(site: Site) -> tuple[gpd.GeoSeries, gpd.GeoSeries]:
    """Stems and root zones of all trees."""
    trees = site.layer("trees")
    if not len(trees):
        return trees.geometry, trees.geometry
    middle = trees.geometry.centroid
    stem_m = trees["diameter_m"].astype(float)
    root_m = (ROOT_DIAMETERS * stem_m).fillna(_ROOT_OF_CROWN * trees["crown_m"].astype(float))
    root_m = root_m.clip(upper=_MOST_ROOT_M)
    stems = middle.buffer(stem_m.fillna(_STEM_M) / 2, quad_segs=2)
    return stems, middle[root_m > 0].buffer(root_m[root_m > 0], quad_segs=4)
