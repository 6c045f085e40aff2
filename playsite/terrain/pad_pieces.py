"""A pad cut into the pieces that the cells make of it, and the ground's height at any point."""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from affine import Affine
from numpy.typing import NDArray

from playsite.terrain.grid import checked_half_sides_m, first_centre

Floats = NDArray[np.float64]
Ground = NDArray[np.floating]
Rectangle = tuple[float, float, float, float, float]
"""Easting m, northing m, rotation of the long side in degrees anticlockwise from east, length m,
width m."""

LARGEST_PIECE_M = 1.0
"""Larger cells are cut up, or a zero line through them would cost digits."""


@dataclass(frozen=True)
class Pieces:
    """Pieces of a pad, one entry for each: whole cells, and at the edge what is inside the pad.

    Attributes
    ----------
    x_m, y_m
        Centre of gravity, m from ``origin``, so that large coordinates cost no digits.
    area_m2
        Area, m2.
    height_m
        Height of the ground at the centre of gravity, m; NaN where not known.
    origin
        Easting and northing of the pad's own centre of gravity, m.
    """

    x_m: Floats
    y_m: Floats
    area_m2: Floats
    height_m: Floats
    origin: tuple[float, float]

    @property
    def known_share(self) -> float:
        """Share of the pad's area with a known height, 0 to 1."""
        return float(self.area_m2[np.isfinite(self.height_m)].sum() / self.area_m2.sum())


def pad_polygon(pad: shapely.Polygon | Rectangle) -> shapely.Polygon:
    """Outline of a pad, anticlockwise, from a polygon or a rectangle's five numbers.

    Raises
    ------
    ValueError
        If the polygon is not valid, is empty or has holes, or a side is not above 0.

    Examples
    --------
    >>> pad_polygon((100, 50, 90, 4, 2)).bounds
    (99.0, 48.0, 101.0, 52.0)
    """
    if not isinstance(pad, shapely.Polygon):
        easting_m, northing_m, rotation_deg, length_m, width_m = pad
        a, b = checked_half_sides_m(length_m, width_m)
        turn = math.radians(rotation_deg)
        corners = np.array([(a, b), (-a, b), (-a, -b), (a, -b)])
        # a quarter turn must not leave 6e-17 where nothing is
        cosine, sine = round(math.cos(turn), 15), round(math.sin(turn), 15)
        turned = corners @ np.array([[cosine, sine], [-sine, cosine]])
        return shapely.Polygon(turned + np.array([easting_m, northing_m]))
    if not pad.is_valid or pad.is_empty or pad.interiors:
        raise ValueError(
            "A pad must be one valid polygon without holes, but it is "
            f"{shapely.is_valid_reason(pad).lower()} with {len(pad.interiors)} holes."
        )
    return shapely.orient_polygons(pad)


def pad_pieces(ground: Ground, transform: Affine, outline: shapely.Polygon) -> Pieces:
    """Cut a pad along the lines between cells.

    A piece's height is that at its own centre of gravity, so a plane is summed exactly, whatever
    the pad's rotation.
    """
    x0, y0, cell_m = first_centre(transform)
    parts = math.ceil(cell_m / LARGEST_PIECE_M)
    side = cell_m / parts
    west, south, east, north = outline.bounds
    # the lattice goes on beyond the raster: what lies there is part of the pad, but not known
    left, top = x0 - cell_m / 2, y0 + cell_m / 2
    columns = np.arange(math.floor((west - left) / side), math.ceil((east - left) / side))
    rows = np.arange(math.floor((top - north) / side), math.ceil((top - south) / side))
    x, y = (axis.ravel() for axis in np.meshgrid(left + columns * side, top - rows * side))
    cells = shapely.box(x, y - side, x + side, y)
    shapely.prepare(outline)
    whole = shapely.contains_properly(outline, cells)
    cut = ~whole & shapely.intersects(outline, cells)
    cells[cut] = shapely.intersection(outline, cells[cut])
    cells = cells[whole | cut]
    area_m2 = shapely.area(cells)
    cells, area_m2 = cells[area_m2 > 0], area_m2[area_m2 > 0]
    centre, middle = shapely.centroid(cells), outline.centroid
    at_x, at_y = shapely.get_x(centre), shapely.get_y(centre)
    return Pieces(
        x_m=at_x - middle.x,
        y_m=at_y - middle.y,
        area_m2=area_m2,
        height_m=heights_m(ground, transform, at_x, at_y),
        origin=(middle.x, middle.y),
    )


def heights_m(ground: Ground, transform: Affine, x: Floats, y: Floats) -> Floats:
    """Height of the ground at points, m: bilinear between the centres of cells.

    Beside a missing cell it is the height of the point's own cell; NaN where that is missing or
    the point lies off the raster.

    Parameters
    ----------
    ground
        2-D elevation, m, of two cells a side at the least; NaN where missing.
    transform
        North-up.
    x, y
        Eastings and northings, m, of one shape.

    Examples
    --------
    >>> ground = np.array([[0.0, 1, 2], [10, 11, 12], [20, 21, np.nan]])
    >>> at = np.array([1.0, 2.9, 2.5, 3.1])
    >>> heights_m(ground, Affine(1, 0, 0, 0, -1, 3), at, np.array([2.0, 1.4, 0.5, 2.5]))
    array([ 5.5, 12. ,  nan,  nan])
    """
    rows, columns = ground.shape
    if min(rows, columns) < 2:
        raise ValueError(f"The ground must be two cells a side or more, but it is {ground.shape}.")
    x0, y0, cell_m = first_centre(transform)
    across, down = (x - x0) / cell_m, (y0 - y) / cell_m
    inside = (across >= -0.5) & (across <= columns - 0.5) & (down >= -0.5) & (down <= rows - 0.5)
    across, down = np.where(inside, across, 0), np.where(inside, down, 0)
    column = np.clip(np.floor(across), 0, columns - 2).astype(np.int64)
    row = np.clip(np.floor(down), 0, rows - 2).astype(np.int64)
    u, v = across - column, down - row
    north = (1 - u) * ground[row, column] + u * ground[row, column + 1]
    south = (1 - u) * ground[row + 1, column] + u * ground[row + 1, column + 1]
    height_m = (1 - v) * north + v * south
    own = ground[
        np.minimum(np.rint(down).astype(np.int64), rows - 1),
        np.minimum(np.rint(across).astype(np.int64), columns - 1),
    ]
    return np.where(inside, np.where(np.isfinite(height_m), height_m, own), np.nan)
