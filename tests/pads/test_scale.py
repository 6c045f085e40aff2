"""The largest scale, against closed forms derived beside each case."""

import math

import numpy as np
import pytest
from shapely import MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, translate

from playsite.pads.erosion import legal_centres
from playsite.pads.legality import is_legal
from playsite.pads.scale import largest_scale

L, W = 31.6, 22.7
PAD = {"length_m": L, "width_m": W}
FOOT = 0.3048


def triangle_scale(corners):
    """One pad side lies on a triangle's side; width falls linearly with height.

    On a base g with height h a rectangle of p along and q up fits if p / g + q / h <= 1, so the
    scale is 1 / (p / g + q / h), the best of three sides and both ways of the pad.
    """
    points = np.array(corners, dtype=float)
    double_m2 = 2 * Polygon(points).area
    bases = [math.dist(points[i], points[(i + 1) % 3]) for i in range(3)]
    ways = [(L, W), (W, L)]
    return max(1 / (p / g + q * g / double_m2) for g in bases for p, q in ways)


def annulus_scale(outer, inner):
    """The inner long side touches the hole, the outer corners the rim.

    (inner + W s)^2 + (L s / 2)^2 = outer^2, a quadratic in s.
    """
    a, b, c = W**2 + (L / 2) ** 2, 2 * inner * W, inner**2 - outer**2
    return (-b + math.sqrt(b * b - 4 * a * c)) / (2 * a)


def disc(radius):
    return Point(0, 0).buffer(radius, quad_segs=64)


RIGHT = [(0, 0), (80, 0), (0, 60)]
SCALENE = [(0, 0), (90, 0), (30, 70)]
EQUILATERAL = [(0, 0), (60, 0), (30, 30 * math.sqrt(3))]
L_LOT = Polygon([(0, 0), (70, 0), (70, 25), (25, 25), (25, 60), (0, 60)])

KNOWN = {
    "right triangle": (Polygon(RIGHT), triangle_scale(RIGHT)),
    "scalene triangle": (Polygon(SCALENE), triangle_scale(SCALENE)),
    "equilateral triangle": (Polygon(EQUILATERAL), triangle_scale(EQUILATERAL)),
    "rectangle turned 37 degrees": (rotate(box(0, 0, 40, 28), 37), min(40 / L, 28 / W)),
    "lot of 120 x 90 ft, turned, less 1 m": (
        rotate(box(0, 0, 120 * FOOT - 2, 90 * FOOT - 2), 36.5),
        min((120 * FOOT - 2) / L, (90 * FOOT - 2) / W),
    ),
    # the corners touch the rim: the half diagonal is the radius
    "circle": (disc(20), 20 / math.hypot(L / 2, W / 2)),
    "annulus": (disc(40).difference(disc(15)), annulus_scale(40, 15)),
    # the arm is as wide as the pad
    "L with arms of 25 m": (L_LOT, 25 / W),
    "square of 60 m with a hole of 20 m": (
        box(0, 0, 60, 60).difference(box(20, 20, 40, 40)),
        20 / W,
    ),
}


@pytest.mark.parametrize("offset", [(0, 0), (500_123.37, 4_649_876.11)])
@pytest.mark.parametrize("case", KNOWN)
def test_the_largest_scale_is_within_a_tenth_of_a_percent_of_the_closed_form(case, offset):
    land, expected = KNOWN[case]
    land = translate(land, *offset)
    found = largest_scale(land, **PAD)
    assert found.scale == pytest.approx(expected, rel=1e-3)
    assert found.scale <= found.at_most
    # a bound that the true answer exceeds would be no bound; the polygon lies within the circle
    assert found.at_most >= expected * (1 - 1e-3)
    place = [(found.easting, found.northing, found.rotation_deg)]
    sides = {"length_m": L * found.scale, "width_m": W * found.scale}
    assert is_legal(land, place, **sides).all()


@pytest.mark.parametrize("seed", range(6))
def test_no_rotation_holds_a_pad_above_the_proven_bound(seed):
    rng = np.random.default_rng(seed)
    bearing = np.sort(rng.uniform(0, 2 * np.pi, 14))
    reach = rng.uniform(15, 50, 14)
    land = Polygon(np.column_stack([reach * np.cos(bearing), reach * np.sin(bearing)])).buffer(0)
    found = largest_scale(land, **PAD)
    over = found.at_most * (1 + 1e-6)
    for rotation_deg in [*rng.uniform(0, 180, 40), found.rotation_deg]:
        sides = {"length_m": L * over, "width_m": W * over}
        assert legal_centres(land, **sides, rotation_deg=rotation_deg).is_empty
    under = found.scale * (1 - 1e-6)
    sides = {"length_m": L * under, "width_m": W * under}
    assert not legal_centres(land, **sides, rotation_deg=found.rotation_deg).is_empty


def test_a_pad_much_longer_than_wide_is_measured_too():
    lot = rotate(box(0, 0, 90, 3), 71.3)
    assert largest_scale(lot, length_m=60, width_m=2).scale == pytest.approx(1.5, rel=1e-6)


def test_the_best_part_of_many_counts():
    land = MultiPolygon([box(0, 0, 30, 20), box(100, 0, 145, 40), box(200, 0, 300, 10)])
    assert largest_scale(land, length_m=30, width_m=20).scale == pytest.approx(1.5, rel=1e-6)


@pytest.mark.parametrize("land", [Polygon(), MultiPolygon(), Point(0, 0).buffer(0)])
def test_no_land_holds_a_pad_of_scale_0(land):
    found = largest_scale(land, **PAD)
    assert (found.scale, found.at_most) == (0.0, 0.0)
    assert math.isnan(found.easting)
    assert math.isnan(found.rotation_deg)
