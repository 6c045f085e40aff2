"""A section through a pad for a drawing: the ground, and the finish with its banks."""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from affine import Affine
from numpy.typing import ArrayLike

from playsite.terrain.grid import cell_size_m, checked_elevation
from playsite.terrain.levelling import Finish
from playsite.terrain.pad_pieces import Floats, Rectangle, heights_m, pad_polygon
from playsite.terrain.tie_in import RUN_PER_RISE


@dataclass(frozen=True)
class Section:
    """A section, one entry for each point along it.

    Attributes
    ----------
    distance_m
        Distance from the pad's centre of gravity, m; negative on the upper side.
    ground_m
        Height of the ground, m; NaN where not known.
    finish_m
        Height of the pad and, beyond it, of its banks, m; NaN where the ground stays as it is.
    """

    distance_m: Floats
    ground_m: Floats
    finish_m: Floats


def section(
    elevation: ArrayLike,
    transform: Affine,
    pad: shapely.Polygon | Rectangle,
    finish: Finish,
    *,
    direction_deg: float | None = None,
    run_per_rise: float = RUN_PER_RISE,
    beyond_m: float = 10.0,
) -> Section:
    """Section through a pad's centre of gravity.

    Parameters
    ----------
    elevation, transform, pad, finish
        As for :func:`playsite.terrain.tie_in.tie_in`.
    direction_deg
        Direction in which it is drawn, degrees clockwise from north; None for the finish's fall.
    run_per_rise
        Banks, m along for each m up.
    beyond_m
        How far to draw on each side of the pad, m.
    """
    ground, outline = checked_elevation(elevation), pad_polygon(pad)
    turn = math.radians(finish.direction_deg if direction_deg is None else direction_deg)
    ahead = np.array([math.sin(turn), math.cos(turn)])
    centre = shapely.get_coordinates(outline.centroid)[0]
    far = outline.length * ahead
    crossing = shapely.intersection(outline, shapely.LineString([centre - far, centre + far]))
    from_centre_m = (shapely.get_coordinates(crossing) - centre) @ ahead
    first_m, last_m = from_centre_m.min(), from_centre_m.max()
    step_m = min(cell_size_m(transform) / 2, 0.25)
    beyond = step_m * np.arange(1.0, math.ceil(beyond_m / step_m) + 1)
    inside = np.linspace(first_m, last_m, math.ceil((last_m - first_m) / step_m) + 1)
    distance_m = np.concatenate([first_m - beyond[::-1], inside, last_m + beyond])
    x, y = (centre + distance_m[:, None] * ahead).T
    ground_m = heights_m(ground, transform, x, y)
    finish_m = finish.at_m(x, y)
    first, last = len(beyond), len(beyond) + len(inside) - 1
    for edge, outward in ((first, -1), (last, 1)):
        bank = slice(edge, None, outward)
        finish_m[bank] = _bank(ground_m[bank], finish_m[edge], step_m / run_per_rise)
    return Section(distance_m, ground_m, finish_m)


def _bank(ground_m: Floats, edge_m: float, rise_m: float) -> Floats:
    """Bank from a pad's edge outward, ``rise_m`` a step, until it meets the ground."""
    up = 1.0 if edge_m > ground_m[0] else -1.0
    bank_m = edge_m - up * rise_m * np.arange(float(len(ground_m)))
    # unknown ground ends the bank too
    going = np.logical_and.accumulate(up * (bank_m - ground_m) > 0)
    bank_m[~going] = np.nan
    bank_m[0] = edge_m
    met = int(going.sum())
    if 0 < met < len(bank_m):
        bank_m[met] = ground_m[met]
    return bank_m
