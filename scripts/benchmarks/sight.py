"""Lines of sight to pads, by how many look."""

import numpy as np
import shapely

from benchmarks.terrain import relief
from benchmarks.timing import timed


def sight() -> None:
    """Lines of sight to pads over ground, houses and crowns, by how many look: time and memory."""
    import tracemalloc

    from affine import Affine

    from playsite.terrain.sight import in_the_way, sees

    rng = np.random.default_rng(12)
    ground, side = relief(1000).astype("float64"), 1000.0
    count = 600
    corner = rng.uniform(0, side, (count, 2))
    houses = shapely.box(*corner.T, *(corner + rng.uniform(8, 14, corner.shape)).T)
    crowns = rng.uniform((0, 0, 5, 2, 3), (side, side, 9, 6, 6), (4 * count, 5))
    took: dict[int, float] = {}
    for eyes in (50, 200):
        middles = rng.uniform(150, side - 150, (100, 2))

        def whole(m: object = middles, n: int = eyes) -> None:
            for x, y in m:
                near = np.abs(crowns[:, :2] - (x, y)).max(axis=1) < 120
                beside = np.abs(corner - (x, y)).max(axis=1) < 120
                low, high = np.zeros(beside.sum()), np.full(beside.sum(), 6.0)
                place = Affine(1, 0, 0, 0, -1, side)
                way = in_the_way(
                    crowns[near], houses[beside], low, high, ground=ground, transform=place
                )
                at = rng.uniform((x - 110, y - 110, 3), (x + 110, y + 110, 4), (n, 3))
                to = rng.uniform((x - 15, y - 11, 3), (x + 15, y + 11, 3.5), (50, 3))
                sees(at, to, way)

        took[eyes] = timed({"ours": whole}, 1)["ours"]
        tracemalloc.start()
        whole(middles[:10])
        peak_mb = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        each_us = 1e6 * took[eyes] / (100 * eyes * 50)
        print(
            f"Sight, 100 pads of 50 points, {eyes} eyes each: {took[eyes]:.2f} s, "
            f"{each_us:.1f} us a line, {peak_mb:.0f} MB"
        )
    print(f"  time grows as n^{np.log(took[200] / took[50]) / np.log(4):.2f} of the eyes")
