"""Plain extra candidates for benchmarks: a grid of lots and streets in open country east of the town."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from sample_town import plan

if TYPE_CHECKING:
    from numpy.typing import NDArray

FRONT_M, DEPTH_M, ROAD_M, LOTS_IN_BLOCK = 44, 34, 12, 10


@dataclass(frozen=True)
class Country:
    """Extra parcels, the streets between them, and how far the elevation has to reach."""

    parcels: NDArray[np.object_]
    streets: list[tuple[str, shapely.LineString]]
    east_m: int
    north_m: int


def lay_country(count: int) -> Country:
    """Blocks of two rows of ten lots, in a piece of land that is about as wide as it is high."""
    if count <= 0:
        return Country(np.empty(0, dtype=object), [], plan.SIDE_M, plan.SIDE_M)
    block_m = (LOTS_IN_BLOCK * FRONT_M + ROAD_M, 2 * DEPTH_M + ROAD_M)
    blocks = -(-count // (2 * LOTS_IN_BLOCK))
    rows = max(int(np.sqrt(blocks * block_m[0] / block_m[1])), (plan.SIDE_M - ROAD_M) // block_m[1])
    columns = -(-blocks // rows)
    number = np.arange(count)
    block, place = np.divmod(number, 2 * LOTS_IN_BLOCK)
    column, row = np.divmod(block, rows)
    upper, along = np.divmod(place, LOTS_IN_BLOCK)
    west = plan.SIDE_M + ROAD_M + column * block_m[0] + along * FRONT_M
    south = ROAD_M + row * block_m[1] + upper * DEPTH_M
    parcels = shapely.box(west, south, west + FRONT_M, south + DEPTH_M)
    xs = plan.SIDE_M + ROAD_M / 2 + np.arange(columns + 1) * block_m[0]
    ys = ROAD_M / 2 + np.arange(rows + 1) * block_m[1]
    streets = [
        (f"Country Row {i + 1}", shapely.LineString([(a, y), (b, y)]))
        for i, y in enumerate(ys)
        for a, b in pairwise(xs)
    ]
    streets += [
        (f"Country Way {i + 1}", shapely.LineString([(x, a), (x, b)]))
        for i, x in enumerate(xs)
        for a, b in pairwise(ys)
    ]
    return Country(parcels, streets, int(xs[-1]) + ROAD_M, max(int(ys[-1]) + ROAD_M, plan.SIDE_M))
