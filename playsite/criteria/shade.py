"""Shade: the share of the pad under crowns or north-east of them, a first version."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve, Knot
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd
    import numpy.typing as npt

    from playsite.site import Site

__all__ = ["CRITERION"]

_ASSUMED_HEIGHT_M = 8.0
_SHADOW_OF_HEIGHT = 0.6  # between noon (0.3) and 3 pm (0.9) at 40 degrees north in June
_NORTH_EAST = np.sqrt(0.5)
_REACH_M = 60.0  # beyond any crown and its shadow: 0.6 of a tree of 75 m, and 15 m of crown
_PRACTICE = "common practice, no source"


def crown_share_pct(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Share of the pad under crowns or in their shadow to the north-east.

    First version: each crown as a disc, swept 0.6 of the tree's height to the north-east, where
    the shade of early afternoon falls north of the tropics. No sun positions and no buildings.
    """
    trees = site.layer("trees")
    if not len(trees):
        note = pd.Series("the trees layer holds none near", index=pads.index)
        return Measured(pd.Series(0.0, index=pads.index), note=note)
    near = trees.sindex.query(pads.geometry, predicate="dwithin", distance=_REACH_M)[1]
    shadows = _shadows(trees.iloc[np.unique(near)])
    shapes = pads.geometry.to_numpy()
    pad, shadow = shapely.STRtree(shadows).query(shapes, predicate="intersects")
    share = np.zeros(len(pads))
    for row in np.unique(pad):
        under = shapely.union_all(shadows[shadow[pad == row]])
        share[row] = 100 * shapely.area(shapely.intersection(shapes[row], under)) / shapes[row].area
    return Measured(pd.Series(np.clip(share, 0, 100), index=pads.index))


def _shadows(trees: gpd.GeoDataFrame) -> npt.NDArray[np.object_]:
    """Crown and its shadow as one shape a tree; a tree of unknown crown casts none that is known."""
    trees = trees[trees["crown_m"].notna() | (trees.geom_type != "Point")]
    shapes = trees.geometry.to_numpy()
    points = shapely.get_type_id(shapes) == 0
    crowns = np.where(points, shapely.buffer(shapes, trees["crown_m"].fillna(0.0)), shapes)
    height_m = trees["height_m"].fillna(_ASSUMED_HEIGHT_M).to_numpy(float)
    xy, tree = shapely.get_coordinates(crowns, return_index=True)
    moved = xy + (_SHADOW_OF_HEIGHT * _NORTH_EAST * height_m[tree])[:, None]
    corners = np.concatenate([xy, moved])
    owner = np.concatenate([tree, tree])
    order = np.argsort(owner, kind="stable")
    hulls: npt.NDArray[np.object_] = shapely.convex_hull(
        shapely.linestrings(corners[order], indices=owner[order])
    )
    return hulls


CRITERION = Criterion(
    name="shade",
    question="Is enough of the play area in shade when children play?",
    plain="share of the play area under crowns or north-east of them",
    unit=Unit.PERCENT,
    needs=("trees",),
    measure=crown_share_pct,
    curve=Curve(
        (
            Knot("poor", 5.0, 0.0, _PRACTICE),
            Knot("acceptable", 15.0, 0.5, _PRACTICE),
            Knot("ideal", 30.0, 1.0, _PRACTICE),
            Knot("still_ideal", 60.0, 1.0, _PRACTICE),
            Knot("too_much", 85.0, 0.5, _PRACTICE),
        ),
        Unit.PERCENT,
    ),
    weight=6,
    plausible=(0, 100),
    group="Sun and trees",
    # Not quick: a pad must not be drawn under trees that would have to go for it.
    cost="full",
    sources=(Source("Pub. 325, 2.1: sun exposure is a siting factor, no figure given"),),
    field_task="Photograph the shade at 10, 13 and 16 o'clock; note trees that would have to go.",
)
