"""Ways for trucks and accessible routes to pads, by the number of pads and by how far they go."""

import tracemalloc
from collections.abc import Callable

import geopandas as gpd
import numpy as np
import shapely

from benchmarks.terrain import relief
from benchmarks.timing import timed

SIDE_M = 1000.0


def _told(head: str, took: dict[int, float], peak: Callable[[], object], of: str) -> None:
    tracemalloc.start()
    peak()
    peak_mb = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    (small, first), (large, last) = took.items()
    growth = np.log(last / first) / np.log(large / small)
    print(head)
    for size, seconds in took.items():
        print(f"  {size:>5} {of}: {seconds:7.2f} s")
    print(f"  time grows as n^{growth:.2f}; 10 pads at most {peak_mb:.0f} MB beside compiled code")


def routes() -> None:
    """Truck and accessible route: time and memory, pads among houses, trees and fences."""
    trucks()
    wheelchairs()


def trucks() -> None:
    """Ways for trucks that need a search: each pad behind houses, trees and a fence with a gate."""
    from playsite.routes.truck_way import truck_way

    rng = np.random.default_rng(13)

    def scene(obstacles: int) -> tuple[list[object], gpd.GeoSeries, gpd.GeoDataFrame]:
        corner = rng.uniform((-100, 5), (100, 55), (obstacles, 2))
        shapes = shapely.box(*corner.T, *(corner + rng.uniform(1, 9, corner.shape)).T)
        rows = {"kind": "building", "worth_m": np.inf, "worth_per_m": 0.0}
        standing = gpd.GeoDataFrame(rows, geometry=shapes, index=range(obstacles))
        pads = [shapely.box(x, -25, x + 31.7, -2.3) for x in rng.uniform(-60, 30, 10)]
        return pads, gpd.GeoSeries([shapely.box(-250, 70, 250, 77)]), standing

    took: dict[int, float] = {}
    for obstacles in (20, 80):
        pads, street, standing = scene(obstacles)

        def whole(p: object = pads, r: object = street, s: object = standing) -> None:
            for pad in p:
                truck_way(pad, r, s)

        took[obstacles] = timed({"ours": whole}, 1)["ours"]
    _told("Ways for trucks, 10 pads 70 m off the street", took, whole, "things round each")


def wheelchairs() -> None:
    """Accessible routes over hilly ground, by how far the walk is."""
    from affine import Affine

    from playsite.routes.accessible_way import accessible_way

    rng = np.random.default_rng(14)
    ground = relief(int(SIDE_M)).astype("float64")
    at = Affine(1, 0, 0, 0, -1, SIDE_M)
    corner = rng.uniform(0, SIDE_M, (400, 2))
    houses = shapely.box(*corner.T, *(corner + rng.uniform(8, 14, corner.shape)).T)
    middles = rng.uniform(300, SIDE_M - 300, (10, 2))
    took: dict[int, float] = {}
    for far_m in (40, 120):

        def whole(d: float = far_m) -> None:
            for x, y in middles:
                pad = shapely.box(x, y, x + 31.7, y + 22.7)
                walk = shapely.box(x - 200, y + 22.7 + d, x + 200, y + 24.7 + d)
                near = houses[~shapely.intersects(houses, pad)]
                accessible_way(pad, [walk], ground, at, near)

        took[far_m] = timed({"ours": whole}, 1)["ours"]
    _told("Accessible routes, 10 pads", took, whole, "m to the walk")
