"""Grade, filling and accumulation by size of the raster, against named libraries."""

import numpy as np
from affine import Affine

from benchmarks.timing import Work, in_sizes


def relief(side: int) -> np.ndarray:
    """Rough made-up ground, some 40 % of it in hollows: waves of 3 m and white noise of 5 cm."""
    rng = np.random.default_rng(7)
    ground = rng.normal(0, 0.05, (side, side)).astype("float32")
    x = np.arange(side, dtype="float32") / 40
    ground += 3 * np.sin(x)[None, :]
    ground += 3 * np.cos(x / 1.7)[:, None]
    return ground


def metres(side: int) -> Affine:
    """Cells of one metre."""
    return Affine(1, 0, 0, 0, -1, side)


def grade_works(side: int) -> Work:
    """Grade of cells against a plain copy and xarray-spatial."""
    import xarray as xr
    from xrspatial import slope

    from playsite.terrain.grade import cell_grade_pct

    ground = relief(side)
    out, copy = np.zeros_like(ground), np.zeros_like(ground)
    raster = xr.DataArray(ground, dims=["y", "x"], attrs={"res": (1, 1)})
    return {
        "ours, output reused": lambda: cell_grade_pct(ground, cell_m=1.0, out=out),
        "plain copy, output reused": lambda: np.copyto(copy, ground),
        "ours, output new": lambda: cell_grade_pct(ground, cell_m=1.0),
        "plain copy, output new": ground.copy,
        "xarray-spatial": lambda: slope(raster),
    }


def filling_works(side: int) -> Work:
    """Filling of hollows against topotoolbox and, where it is not too slow, others."""
    import pyflwdir
    import topotoolbox
    from skimage.morphology import reconstruction

    from playsite.terrain.filling import filled

    ground = relief(side)
    grid = topotoolbox.GridObject()
    grid.z, grid.cellsize, grid.transform = ground, 1.0, metres(side)
    work = {"ours": lambda: filled(ground), "topotoolbox": grid.fillsinks}
    if side <= 2000:
        seed = np.full_like(ground, ground.max())
        seed[[0, -1], :], seed[:, [0, -1]] = ground[[0, -1], :], ground[:, [0, -1]]
        work["pyflwdir"] = lambda: pyflwdir.dem.fill_depressions(ground)
        work["scikit-image"] = lambda: reconstruction(seed, ground, method="erosion")
    return work


def accumulation_works(side: int) -> Work:
    """Accumulation from raw ground, and of ways already known, against pyflwdir."""
    import pyflwdir

    from playsite.terrain.run_on import accumulate

    ground, where = relief(side), metres(side)
    return {
        "ours, one way": lambda: accumulate(ground, where, multiple=False),
        "ours, divided": lambda: accumulate(ground, where, multiple=True),
        "pyflwdir, one way": lambda: pyflwdir.from_dem(ground).upstream_area(),
    }


WORKS = {
    "grade": grade_works,
    "filling": filling_works,
    "accumulation": accumulation_works,
}


def grade(sizes: list[int]) -> None:
    """Grade of cells: the aim is at most 2 x a plain copy, output reused."""
    in_sizes("grade", sizes, grade_works, repeats=9, ours="ours, output reused")


def filling(sizes: list[int]) -> None:
    """Filling of hollows: the aim is at least 1.6 x topotoolbox at 4,000 and 8,000."""
    in_sizes("filling", sizes, filling_works, repeats=5, ours="ours")


def accumulation(sizes: list[int]) -> None:
    """Accumulation from raw ground: the aim is at least 2 x pyflwdir, one way each."""
    in_sizes("accumulation", sizes, accumulation_works, repeats=3, ours="ours, one way")
    the_same_ways(sizes[0])


def the_same_ways(side: int) -> None:
    """Adding up alone, over the very same ways, with the same result."""
    import pyflwdir

    from benchmarks.timing import timed, told
    from playsite.terrain.run_on import _added_up, _routes

    routes = _routes(relief(side), multiple=False)
    known = ~np.isnan(routes.level).ravel()
    ways = routes.ways.reshape(routes.level.shape)[1:-1, 1:-1]
    codes = np.array([32, 64, 128, 16, 1, 8, 4, 2])[np.log2(np.maximum(ways, 1)).astype(int)]
    d8 = np.where(ways > 0, codes, 0).astype(np.uint8)
    work = {
        "ours": lambda: _added_up(routes, known, ~known),
        "pyflwdir": lambda: pyflwdir.from_array(d8, ftype="d8").upstream_area(),
    }
    ours = routes.of_raster(work["ours"]())
    if not np.array_equal(ours, work["pyflwdir"]()):
        raise AssertionError("Over the same ways both must add up to the same.")
    told(f"Adding up over the same ways, {side} x {side} cells", timed(work), ours="ours")


def drained(pads: int = 300) -> None:
    """What drains through many pads, against following the water of each uphill over all the ground."""
    from benchmarks.timing import timed, told
    from playsite.terrain.arriving import arriving_m2
    from playsite.terrain.drainage import drainage
    from playsite.terrain.run_on import pad_mask
    from playsite.terrain.run_on_range import drained_m2

    side = 1000
    ground, where, rng = relief(side), metres(side), np.random.default_rng(3)
    ways = drainage(ground, where)
    places = rng.uniform([0, 0, 0], [side, side, 180], (pads, 3))
    masks = [pad_mask(ground.shape, where, place, length_m=32, width_m=23) for place in places]
    cells = [np.argwhere(mask) for mask in masks]
    work = {
        "ours, all pads at once": lambda: arriving_m2(ways, cells),
        "each followed uphill": lambda: [drained_m2(ways, mask) for mask in masks],
    }
    np.testing.assert_allclose(*(each() for each in work.values()), rtol=1e-9, atol=1e-6)
    told(
        f"Land above {pads} pads, {side} x {side} cells",
        timed(work, repeats=3),
        ours="ours, all pads at once",
    )
