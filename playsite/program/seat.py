"""One seat from which the age areas are seen."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Point

from playsite.program.equipment import SWINGS
from playsite.program.layout import Seat

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from playsite.program.layout import Layout, PlacedPiece

__all__ = ["SIGHT_M", "best_seat"]

SIGHT_M = 25.0
_HIDES_M = 1.0
_STEP_M = 2.0
_CELL_M = 1.5  # its middle lies beside the piece in the narrowest zone, 3 ft
_BENCH_M = 0.6  # middle of a bench to the outer line


def best_seat(layout: Layout) -> Seat | None:
    """Seat in the ring or in a strip from which the least seen age area is seen best.

    Points of the use zones are looked at every 1.5 m; a piece over 1 m hides what is behind it,
    but for swings, which one sees through. Common practice, no source: one seat sees both age
    areas, at most 25 m away.

    Returns
    -------
    Seat or None
        None where there is neither ring nor strip to sit in.
    """
    seats = _places(layout)
    if not len(seats) or not layout.pieces:
        return None
    walls = [piece.body for piece in layout.pieces if _hides(piece)]
    looked = [_points(piece, layout) for piece in layout.pieces]
    seen = [_seen(seats, points, walls) for points in looked]
    ages = sorted({piece.ages for piece in layout.pieces})
    shares = np.zeros((len(ages), len(seats)))
    for k, age in enumerate(ages):
        own = [i for i, piece in enumerate(layout.pieces) if piece.ages == age]
        shares[k] = np.hstack([seen[i] for i in own]).mean(axis=1)
    blind = sum((~by_piece.any(axis=1)).astype(np.float64) for by_piece in seen)
    best = int(np.argmax(shares.min(axis=0) + 0.01 * shares.mean(axis=0) - blind))
    return Seat(
        Point(seats[best]),
        {age: 100 * float(share) for age, share in zip(ages, shares[:, best], strict=True)},
        tuple(
            piece.label
            for piece, by_piece in zip(layout.pieces, seen, strict=True)
            if not by_piece[best].any()
        ),
    )


def _hides(piece: PlacedPiece) -> bool:
    """Whether one can't see over or through a piece; one of unknown height counts as high."""
    known = piece.zone.piece
    high = known.height_m is None or known.height_m > _HIDES_M
    return high and known.kind not in SWINGS


def _places(layout: Layout) -> NDArray[np.float64]:
    """Where a seat may stand: along the middle of strips, and inside the pad's outer line."""
    lines = []
    for strip in layout.strips:
        west, south, east, north = strip.bounds
        x, y = (west + east) / 2, (south + north) / 2
        ends = [(x, south), (x, north)] if north - south > east - west else [(west, y), (east, y)]
        lines.append(shapely.LineString(ends))
    if layout.ring_m > 2 * _BENCH_M:
        lines.append(layout.pad.buffer(-_BENCH_M, join_style="mitre").exterior)
    points = [
        shapely.line_interpolate_point(line, np.arange(_STEP_M / 2, line.length, _STEP_M))
        for line in lines
    ]
    found: NDArray[np.float64] = shapely.get_coordinates(np.array([*itertools.chain(*points)]))
    return found


def _points(piece: PlacedPiece, layout: Layout) -> NDArray[np.float64]:
    """Middles of cells of a piece's zone, outside all pieces."""
    west, south, east, north = piece.use_zone.bounds
    x, y = (
        low + (high - low) * (np.arange(count) + 0.5) / count
        for low, high in ((west, east), (south, north))
        for count in [math.ceil((high - low) / _CELL_M)]
    )
    grid = np.column_stack([axis.ravel() for axis in np.meshgrid(x, y)])
    free = shapely.contains_xy(piece.use_zone, grid)
    for other in layout.pieces:
        free &= ~shapely.contains_xy(other.body, grid)
    kept: NDArray[np.float64] = grid[free]
    return kept


def _seen(
    seats: NDArray[np.float64], points: NDArray[np.float64], walls: Sequence[shapely.Polygon]
) -> NDArray[np.bool_]:
    """(seats, points): near enough, and no wall between."""
    pairs = np.empty((len(seats), len(points), 2, 2))
    pairs[:, :, 0], pairs[:, :, 1] = seats[:, None], points[None]
    near: NDArray[np.bool_] = (
        np.hypot(*np.moveaxis(pairs[:, :, 0] - pairs[:, :, 1], -1, 0)) <= SIGHT_M
    )
    lines = shapely.linestrings(pairs.reshape(-1, 2, 2)).reshape(near.shape)
    for wall in walls:
        shapely.prepare(wall)
        near &= ~shapely.intersects(wall, lines)
    return near
