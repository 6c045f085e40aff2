"""A pad in two levels with a ramp: less earth on steep ground, for a step in the middle."""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from affine import Affine
from numpy.typing import ArrayLike

from playsite.terrain.levelling import COMPACTED_TO_BANK, GRADES_PCT, Levelled, level_pad
from playsite.terrain.pad_pieces import Rectangle, pad_polygon

RAMP_RUN_PER_RISE = 12.0
LANDING_M = 1.525
HIGHEST_RAMP_M = 0.762


@dataclass(frozen=True)
class TwoLevels:
    """Two halves of a pad, each levelled by itself.

    Attributes
    ----------
    upper, lower
        The levelled halves.
    upper_pad, lower_pad
        Their outlines.
    step_m
        Difference of height between them at the middle of the line that parts them, m.
    ramp_m
        Length of a ramp over it, landings included, m.
    bank_m
        Width that a bank in place of a wall takes from the pads along the step, m.
    cut_m3, fill_m3
        Of both halves together, m3.
    cut_saved_m3
        Cut less than that of one level, m3.
    """

    upper: Levelled
    lower: Levelled
    upper_pad: shapely.Polygon
    lower_pad: shapely.Polygon
    step_m: float
    ramp_m: float
    bank_m: float
    cut_m3: float
    fill_m3: float
    cut_saved_m3: float


def two_levels(
    elevation: ArrayLike,
    transform: Affine,
    pad: shapely.Polygon | Rectangle,
    *,
    grades_pct: tuple[float, ...] = GRADES_PCT,
    directions_deg: tuple[float, ...] | None = None,
    compacted_to_bank: float = COMPACTED_TO_BANK,
    bank_run_per_rise: float = 4.0,
) -> TwoLevels | None:
    """Part a pad across the ground's fall and level each half by itself.

    The line goes through the pad's centre of gravity, along that side of its smallest rectangle
    which lies nearer to the contour. Options as for
    :func:`playsite.terrain.levelling.level_pad`.

    Returns
    -------
    TwoLevels or None
        None where too little of the ground is known, where it is level and nothing asks for a
        step, and where the line parts the pad in more than two.

    Notes
    -----
    On a plane each half has a quarter of the cut, so two levels save half. Bank: 4 along to 1 up
    (common practice, no source); its own earth is not counted.
    """

    def levelled(part: shapely.Polygon) -> Levelled | None:
        return level_pad(
            elevation,
            transform,
            part,
            grades_pct=grades_pct,
            directions_deg=directions_deg,
            compacted_to_bank=compacted_to_bank,
        )

    outline = pad_polygon(pad)
    one = levelled(outline)
    if one is None or math.isnan(one.ground_direction_deg):
        return None
    halves = _halves(outline, one.ground_direction_deg)
    if halves is None:
        return None
    upper_pad, lower_pad, middle = halves
    upper, lower = levelled(upper_pad), levelled(lower_pad)
    if upper is None or lower is None:
        return None
    x, y = np.array([middle.x]), np.array([middle.y])
    step_m = float(upper.finish.at_m(x, y)[0] - lower.finish.at_m(x, y)[0])
    cut_m3 = upper.cut_m3 + lower.cut_m3
    return TwoLevels(
        upper=upper,
        lower=lower,
        upper_pad=upper_pad,
        lower_pad=lower_pad,
        step_m=step_m,
        ramp_m=ramp_length_m(abs(step_m)),
        bank_m=abs(step_m) * bank_run_per_rise,
        cut_m3=cut_m3,
        fill_m3=upper.fill_m3 + lower.fill_m3,
        cut_saved_m3=one.cut_m3 - cut_m3,
    )


def ramp_length_m(rise_m: float) -> float:
    """Length of an accessible ramp of 1 in 12 with its landings, m.

    12 rise + 1.525 (n + 1), n = ceil(rise / 0.762) runs: landings of 60 in at both ends and
    after each 30 in of rise. Source: ADA Standards for Accessible Design (2010), 405.2, 405.6 and
    405.7 (from memory). Without a rise, no ramp.

    Examples
    --------
    >>> round(ramp_length_m(1), 1)
    16.6
    """
    if not 0 <= rise_m < math.inf:
        raise ValueError(f"A ramp's rise must be 0 m or more, but it is {rise_m}.")
    if rise_m == 0:
        return 0.0
    # a rise of just so many runs must not need one more by rounding
    runs = math.ceil(rise_m / HIGHEST_RAMP_M - 1e-9)
    return RAMP_RUN_PER_RISE * rise_m + LANDING_M * (runs + 1)


def _halves(
    outline: shapely.Polygon, fall_deg: float
) -> tuple[shapely.Polygon, shapely.Polygon, shapely.Point] | None:
    """Upper and lower half, and the middle of the line between them; None if not two halves."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    fall = np.array([math.sin(math.radians(fall_deg)), math.cos(math.radians(fall_deg))])
    sides = corners[1:3] - corners[:2]
    sides /= np.hypot(*sides.T)[:, None]
    along = sides[np.argmax(np.abs(sides @ fall))]
    down = along * np.sign(along @ fall)
    across = np.array([-down[1], down[0]])
    centre = shapely.get_coordinates(outline.centroid)[0]
    far = 2 * math.hypot(*np.ptp(corners, axis=0))
    left, right = centre - far * across, centre + far * across
    below = shapely.Polygon([left, right, right + far * down, left + far * down])
    upper, lower = outline - below, outline & below
    if not isinstance(upper, shapely.Polygon) or not isinstance(lower, shapely.Polygon):
        return None
    line = shapely.intersection(outline, shapely.LineString([left, right]))
    return upper, lower, line.interpolate(0.5, normalized=True)
