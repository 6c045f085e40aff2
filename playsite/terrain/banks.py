"""Banks of streets, rails and paths that dam a channel in the elevation, and ways through them."""

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from affine import Affine
from numpy.typing import ArrayLike, NDArray
from scipy import ndimage

from playsite.terrain._breaching import FALL, cheapest_cut
from playsite.terrain.filling import filled
from playsite.terrain.grid import cell_size_m, checked_elevation, first_centre
from playsite.terrain.run_on import run_on_mask

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Cells = NDArray[np.int64]

LEAST_DEPTH_M, LEAST_AREA_M2 = 0.25, 25.0
"""Hollows shallower or smaller than this are not asked about (a choice, no source)."""

LONGEST_CUT_M = 60.0
"""Longer culverts are not looked for (a choice, no source)."""

LEAST_BANK_M, LEAST_CATCHMENT_M2 = 0.5, 5000.0
"""A bank less high, or with less ground draining to it, needs no culvert (a choice, no source)."""

NEAR_M = 10.0
"""A mapped culvert this near is taken for the suspected one (a choice, no source)."""


@dataclass(frozen=True)
class SuspectedCulvert:
    """A place where a bank dams a channel: a culvert may run under it that no map shows.

    Attributes
    ----------
    crown
        Easting and northing of the bank's highest cell on the way through, m.
    path
        (n, 2): eastings and northings of the way from the hollow's bottom to lower ground, m.
    bank_m
        Height of the crown above the hollow's bottom, m.
    length_m
        Length of the way through that lies below the ground, m.
    depth_m
        Depth of the water if nothing runs through, m.
    volume_m3
        Volume of the water if nothing runs through, m3.
    catchment_m2
        Area that drains to the bank, m2.
    is_lower_bound
        Whether the data's edge cuts that area.
    is_mapped
        Whether a mapped culvert lies within 10 m of the way.
    """

    crown: tuple[float, float]
    path: Floats
    bank_m: float
    length_m: float
    depth_m: float
    volume_m3: float
    catchment_m2: float
    is_lower_bound: bool
    is_mapped: bool


def suspected_culverts(
    elevation: ArrayLike,
    transform: Affine,
    ways: NDArray[np.bool_],
    *,
    mapped: ArrayLike = (),
) -> list[SuspectedCulvert]:
    """Find where a street, rail or path on a bank dams a channel.

    Candidates to be looked at: the elevation is not changed. Show results with and without a way
    through.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing.
    transform
        From column and row to easting and northing, m; north-up.
    ways
        Raster, like the elevation: whether a cell lies on a street, rail or path.
    mapped
        (n, 2): eastings and northings of mapped culverts, m.

    Returns
    -------
    list of SuspectedCulvert
        The largest catchment first.

    Raises
    ------
    ValueError
        If the raster is rotated or the ways are of another shape.

    Notes
    -----
    From the lowest cell of each hollow at least 0.25 m deep and 25 m2 large, the cheapest cut to
    lower ground, at most 60 m long. It counts if it is cut mainly through the way, from one side
    to the other, both ends 0.5 m or more below the crown, and 0.5 ha or more drain to it.
    J. Lindsay, K. Dhun (2015), "Modelling surface drainage patterns in altered landscapes using
    LiDAR", Int. J. Geographical Information Science 29(3), 397-411; J. Lindsay (2016), "Efficient
    hybrid breaching-filling sink removal methods for flow path enforcement in digital elevation
    models", Hydrological Processes 30, 846-857 (both from memory).
    """
    ground, cell_m = checked_elevation(elevation).astype(np.float64), cell_size_m(transform)
    if ways.shape != ground.shape:
        raise ValueError(f"The ways are {ways.shape}, but the elevation is {ground.shape}.")
    depth = filled(ground) - ground
    labels, _ = ndimage.label(depth > 0, structure=np.ones((3, 3)))
    known = np.reshape(np.asarray(mapped, np.float64), (-1, 2))
    found = []
    for hollow, box in enumerate(ndimage.find_objects(labels), start=1):
        pool = labels[box] == hollow
        inside = depth[box][pool]
        if inside.max() < LEAST_DEPTH_M or len(inside) * cell_m**2 < LEAST_AREA_M2:
            continue
        lowest = np.unravel_index(np.where(pool, ground[box], np.inf).argmin(), pool.shape)
        pit = (int(lowest[0]) + box[0].start, int(lowest[1]) + box[1].start)
        path = cheapest_cut(ground, pit, cell_m, LONGEST_CUT_M)
        if _crosses_a_bank(ground, ways, path, cell_m):
            found.append(_suspected(ground, transform, ways, labels == hollow, path, known))
    large = [each for each in found if each.catchment_m2 >= LEAST_CATCHMENT_M2]
    return sorted(large, key=lambda each: -each.catchment_m2)


def _crosses_a_bank(ground: Floats, ways: Flags, path: Cells, cell_m: float) -> bool:
    """Whether a cut goes through a way, from side to side, and the way stands on a bank."""
    if len(path) == 0:
        return False
    rows, columns = path.T
    on_way, heights = ways[rows, columns], ground[rows, columns]
    if on_way[0] or on_way[-1] or not on_way.any():
        return False
    cut = _cut_m(heights, _chainage_m(path, cell_m))
    if cut[on_way].sum() < 0.5 * cut.sum():
        return False
    if heights[on_way].max() - max(heights[0], heights[-1]) < LEAST_BANK_M:
        return False
    margin = math.ceil(NEAR_M / cell_m)
    first = np.maximum(path.min(axis=0) - margin, 0)
    last = path.max(axis=0) + margin + 1
    sides, _ = ndimage.label(~ways[first[0] : last[0], first[1] : last[1]])
    ends = path[[0, -1]] - first
    return bool(sides[tuple(ends[0])] != sides[tuple(ends[1])])


def _suspected(
    ground: Floats, transform: Affine, ways: Flags, pool: Flags, path: Cells, known: Floats
) -> SuspectedCulvert:
    rows, columns = path.T
    east, north, cell_m = first_centre(transform)
    places = np.column_stack([east + columns * cell_m, north - rows * cell_m])
    heights, chainage_m = ground[rows, columns], _chainage_m(path, cell_m)
    crown = int(np.where(ways[rows, columns], heights, -np.inf).argmax())
    through = chainage_m[_cut_m(heights, chainage_m) > 0]
    above = run_on_mask(ground, transform, pool)
    water = (filled(ground) - ground)[pool]
    near = shapely.dwithin(shapely.LineString(places), shapely.points(known), NEAR_M)
    return SuspectedCulvert(
        crown=(float(places[crown, 0]), float(places[crown, 1])),
        path=places,
        bank_m=float(heights[crown] - heights[0]),
        length_m=float(through[-1] - through[0] + cell_m),
        depth_m=float(water.max()),
        volume_m3=float(water.sum() * cell_m**2),
        catchment_m2=above.catchment_m2,
        is_lower_bound=above.is_lower_bound,
        is_mapped=bool(np.any(near)),
    )


def _chainage_m(path: Cells, cell_m: float) -> Floats:
    """Length of the way up to each of its cells, m."""
    steps = np.hypot(*np.diff(path, axis=0).T) * cell_m
    return np.concatenate([[0.0], np.cumsum(steps)])


def _cut_m(heights: Floats, chainage_m: Floats) -> Floats:
    """Depth of a cut that falls from its first cell, at each cell, m."""
    return np.maximum(0.0, heights - heights[0] + FALL * chainage_m)


def let_through(
    elevation: ArrayLike,
    transform: Affine,
    lines: Iterable[shapely.LineString],
    *,
    reach_m: float = 3.0,
) -> Floats:
    """Elevation with the water let through along mapped culverts and under bridges.

    Parameters
    ----------
    elevation
        2-D array, m; NaN where missing.
    transform
        From column and row to easting and northing, m; north-up.
    lines
        Centre lines of culverts and bridged channels, either way round.
    reach_m
        Maps are not exact: each end is led to the lowest cell within this distance, m.

    Returns
    -------
    ndarray of float64
        A copy, m. Along each line no cell lies above an even fall between its two ends; none is
        raised. Lines with fewer than two known cells change nothing.

    Raises
    ------
    ValueError
        If the raster is rotated or the reach below 0.

    Examples
    --------
    >>> wall = np.array([[3.0, 3, 9, 3, 1]] * 3)
    >>> culvert = shapely.LineString([(0.5, 1.5), (4.5, 1.5)])
    >>> let_through(wall, Affine(1, 0, 0, 0, -1, 3), [culvert], reach_m=0)[1]
    array([3. , 2.5, 2. , 1.5, 1. ])
    """
    if not 0 <= reach_m < math.inf:
        raise ValueError(f"The reach must be 0 m or more, but it is {reach_m}.")
    ground = checked_elevation(elevation).astype(np.float64)
    grid = first_centre(transform)
    cut = ground.copy()
    for line in lines:
        cells = _cells_of(ground, line, grid, reach_m)
        if len(cells) < 2:
            continue
        rows, columns = cells.T
        heights = ground[rows, columns]
        if heights[-1] > heights[0]:
            rows, columns, heights = rows[::-1], columns[::-1], heights[::-1]
        along = _chainage_m(np.column_stack([rows, columns]), 1.0)
        even = heights[0] + (heights[-1] - heights[0]) * along / along[-1]
        falling = np.minimum.accumulate(np.minimum(heights, even))
        lowered = np.minimum(heights, np.maximum(falling, heights[-1]))
        np.minimum.at(cut, (rows, columns), lowered)
    return cut


def _cells_of(
    ground: Floats, line: shapely.LineString, grid: tuple[float, float, float], reach_m: float
) -> Cells:
    """Rows and columns of the known cells along a line, its ends led to the lowest cell near."""
    east, north, cell_m = grid
    rows, columns = ground.shape
    west, top = east - cell_m / 2, north + cell_m / 2
    box = (west, top - rows * cell_m, west + columns * cell_m, top)
    at = shapely.get_coordinates(shapely.clip_by_rect(line, *box))
    if len(at) == 0:
        return np.empty((0, 2), np.int64)
    corners = np.column_stack([(north - at[:, 1]) / cell_m, (at[:, 0] - east) / cell_m])
    ends = [_lowest_near(ground, corner, reach_m / cell_m) for corner in corners[[0, -1]]]
    way = np.vstack([ends[0], corners, ends[1]])
    pieces = [
        np.linspace(a, b, 2 + math.ceil(4 * np.abs(b - a).max()))
        for a, b in itertools.pairwise(way)
    ]
    cells = np.round(np.vstack(pieces)).astype(np.int64)
    inside = ((cells >= 0) & (cells < ground.shape)).all(axis=1)
    cells = cells[inside]
    cells = cells[np.isfinite(ground[cells[:, 0], cells[:, 1]])]
    moved = np.concatenate([[True], np.diff(cells, axis=0).any(axis=1)])
    return cells[moved[: len(cells)]]


def _lowest_near(ground: Floats, corner: Floats, reach: float) -> Floats:
    """Row and column of the lowest known cell within reach, in cells; else the corner itself."""
    first = np.maximum(np.ceil(corner - reach), 0).astype(np.int64)
    last = np.floor(corner + reach).astype(np.int64) + 1
    near = ground[first[0] : max(last[0], 0), first[1] : max(last[1], 0)]
    rows, columns = np.indices(near.shape)
    close = np.hypot(rows + first[0] - corner[0], columns + first[1] - corner[1]) <= reach
    heights = np.where(close & np.isfinite(near), near, np.inf)
    if not np.isfinite(heights).any():
        return corner
    lowest = np.unravel_index(int(heights.argmin()), heights.shape)
    at: Floats = first.astype(np.float64) + lowest
    return at
