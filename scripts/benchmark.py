"""Time against named libraries in one run: ratios, medians of interleaved repeats.

Usage: benchmark.py [grade] [filling] [clearance] [pads] [run]; all of them without a word.
The peers come with the test extras. Absolute times belong to the machine; quote the ratios.
"""

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import shapely

ROOT = Path(__file__).resolve().parents[1]
REPEATS = 5


def timed(work: dict[str, Callable[[], object]], repeats: int = REPEATS) -> dict[str, float]:
    """Median seconds of each, interleaved; each is run once before, to compile and warm up."""
    seconds: dict[str, list[float]] = {name: [] for name in work}
    for each in work.values():
        each()
    for _ in range(repeats):
        for name, each in work.items():
            start = time.perf_counter()
            each()
            seconds[name].append(time.perf_counter() - start)
    return {name: statistics.median(own) for name, own in seconds.items()}


def told(head: str, seconds: dict[str, float], *, ours: str) -> None:
    """Print seconds and ratios to ours."""
    print(head)
    for name, own in seconds.items():
        print(f"  {name:<38} {own:9.4f} s   {own / seconds[ours]:8.2f} x ours")


def relief(side: int) -> np.ndarray:
    """Rough made-up ground with many hollows."""
    rng = np.random.default_rng(7)
    ground = rng.normal(0, 0.05, (side, side))
    x = np.arange(side) / 40
    ground += 3 * np.sin(x)[None, :] + 3 * np.cos(x / 1.7)[:, None]
    return ground.astype("float32")


def grade() -> None:
    """Grade of cells against a plain copy and xarray-spatial."""
    import xarray as xr
    from xrspatial import slope

    from playsite.terrain.grade import cell_grade_pct

    for side in (1000, 4000):
        ground = relief(side)
        out, copy = np.empty_like(ground), np.empty_like(ground)
        raster = xr.DataArray(ground, dims=["y", "x"], attrs={"res": (1, 1)})
        work = {
            "ours, output reused": lambda g=ground, o=out: cell_grade_pct(g, cell_m=1.0, out=o),
            "plain copy": lambda g=ground, c=copy: np.copyto(c, g),
            "xarray-spatial": lambda r=raster: slope(r),
        }
        told(f"Grade, {side} x {side} cells", timed(work), ours="ours, output reused")


def filling() -> None:
    """Filling of hollows against scikit-image."""
    from skimage.morphology import reconstruction

    from playsite.terrain.low_spots import filled

    for side in (1000, 2000):
        ground = relief(side)
        seed = np.full_like(ground, ground.max())
        seed[[0, -1], :], seed[:, [0, -1]] = ground[[0, -1], :], ground[:, [0, -1]]
        work = {
            "ours": lambda g=ground: filled(g),
            "scikit-image": lambda g=ground, s=seed: reconstruction(s, g, method="erosion"),
        }
        told(f"Filling, {side} x {side} cells", timed(work, 3), ours="ours")


def clearance() -> None:
    """Clearances against shapely's tree alone, which gives no ties and no lines."""
    from playsite.proximity.clearance import clearance_m

    rng = np.random.default_rng(1)
    ends = rng.uniform(0, 20_000, (100_000, 2))
    streets = shapely.linestrings(np.stack([ends, ends + rng.normal(0, 60, ends.shape)], axis=1))
    for count in (10_000, 100_000):
        corner = rng.uniform(0, 20_000, (count, 2))
        pads = shapely.box(corner[:, 0], corner[:, 1], corner[:, 0] + 30, corner[:, 1] + 20)
        work = {
            "ours": lambda p=pads: clearance_m(p, streets),
            "shapely STRtree.query_nearest": lambda p=pads: shapely.STRtree(streets).query_nearest(
                p, return_distance=True
            ),
        }
        told(f"Clearance, {count} pads, 100,000 streets", timed(work, 3), ours="ours")


def parcels(count: int) -> list[shapely.Geometry]:
    """Mixed parcels of 1 to 20 acres with 0 to 50 obstacles."""
    rng = np.random.default_rng(3)
    made = []
    for _ in range(count):
        area_m2 = 4046.86 * rng.uniform(1, 20)
        width = np.sqrt(area_m2 / rng.uniform(1, 4))
        lot = shapely.affinity.rotate(
            shapely.box(0, 0, area_m2 / width, width), rng.uniform(0, 180)
        )
        west, south, east, north = lot.bounds
        trees = rng.uniform((west, south), (east, north), (rng.integers(0, 51), 2))
        made.append(lot.difference(shapely.union_all(shapely.buffer(shapely.points(trees), 4))))
    return made


def pads() -> None:
    """Pad search: existence with exact proof, and the largest scale where nothing fits."""
    from playsite.pads.search import find_place, largest_scale

    lots = parcels(300)
    sides = {"length_m": 31.7, "width_m": 22.7}

    def search() -> None:
        for lot in lots:
            if find_place(lot, **sides) is None:
                largest_scale(lot, **sides)

    seconds = timed({"ours": search}, 3)["ours"]
    print(f"Pad search, 300 parcels of 1 to 20 acres: {1000 * seconds / 300:.1f} ms a parcel")


def run() -> None:
    """The whole run of the sample town, measured anew and with weights moved alone."""
    from playsite import rank, write_results

    with tempfile.TemporaryDirectory() as folder:
        os.environ["PLAYSITE_CACHE"] = folder
        study, out = ROOT / "sample_gis" / "study.toml", Path(folder) / "out"
        work = {
            "ours, measured anew and written": lambda: write_results(rank(study, fresh=True), out),
            "ours, nothing measured again": lambda: write_results(rank(study), out),
        }
        told("Whole run, sample town", timed(work, 3), ours="ours, measured anew and written")


PARTS = {"grade": grade, "filling": filling, "clearance": clearance, "pads": pads, "run": run}

if __name__ == "__main__":
    for word in sys.argv[1:] or PARTS:
        PARTS[word]()
