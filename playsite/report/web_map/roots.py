"""Root zones of trees near the foremost pads, as rings for the page to draw."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.criteria.roots import MOST_ROOTS_M, ROOT_DIAMETERS
from playsite.report.web_map.shapes import DEGREES, steps

if TYPE_CHECKING:
    from playsite.result import Result

__all__ = ["root_zones"]

FOREMOST = 40
NEAR_M = 40.0


def root_zones(result: Result) -> list[list[int]]:
    """Give ``[x, y, radius]`` of each zone, in millionths of a degree and decimetres.

    Only of trees whose stem is known, within 40 m of one of the first 40 pads.
    """
    trees = result.base_map.get("trees")
    pads = result.pads[result.pads["status"] == "ranked"].head(FOREMOST)
    if trees is None or "diameter_m" not in trees or not len(pads):
        return []
    near = np.unique(trees.sindex.query(pads.geometry, predicate="dwithin", distance=NEAR_M)[1])
    known = trees.iloc[near].dropna(subset="diameter_m")
    radius_m = np.minimum(ROOT_DIAMETERS * known["diameter_m"].astype(float), MOST_ROOTS_M)
    places = shapely.get_coordinates(known.geometry.centroid.to_crs(DEGREES))
    return [
        [*steps(at[None, :]), round(10 * float(radius))]
        for at, radius in zip(places, radius_m, strict=True)
    ]
