"""Grade at the scale of a pad, drawn as areas: held against a fit of numpy's own, place by place."""

import numpy as np
import pytest
import shapely
from affine import Affine

from playsite.terrain.grade import pad_grade
from playsite.terrain.grade_areas import grade_areas

GRID = Affine(1, 0, 0, 0, -1, 160)
BREAKS_PCT = (2.0, 4.5, 8.0)
SIDES_M = (31.7, 22.7)
AT = (77.3, 81.9, 27.0)
LOT = shapely.Polygon([(30, 34), (118, 28), (131, 119), (44, 127)])
OFF_PCT = 0.1
"""How far the drawn areas may be off the plane's own grade, in points."""


def rolling(seed=0, noise_m=0.05):
    """Ground with hills of some metres, and noise that single cells would read as slope."""
    x, y = np.meshgrid(np.arange(160) + 0.5, 159.5 - np.arange(160))
    hills = 1.6 * np.sin(x / 23) * np.cos(y / 31) + 0.02 * x
    return hills + np.random.default_rng(seed).normal(0, noise_m, x.shape)


def fitted_pct(ground, at, sides_m=SIDES_M):
    """Grade of the plane that numpy's lstsq lays through the cells with their middle in the window."""
    east, north, turned = at
    x, y = np.meshgrid(np.arange(160) + 0.5, 159.5 - np.arange(160))
    turn = np.exp(-1j * np.radians(turned)) * ((x - east) + 1j * (y - north))
    inside = (np.abs(turn.real) <= sides_m[0] / 2) & (np.abs(turn.imag) <= sides_m[1] / 2)
    terms = np.column_stack([x[inside], y[inside], np.ones(inside.sum())])
    (east_fall, north_fall, _), *_ = np.linalg.lstsq(terms, ground[inside], rcond=None)
    return 100 * np.hypot(east_fall, north_fall)


def areas(ground, lot=LOT, at=AT):
    return grade_areas(ground, GRID, lot, at=at, sides_m=SIDES_M, breaks_pct=BREAKS_PCT)


def test_every_place_lies_in_the_area_of_the_plane_that_numpy_fits_there():
    ground = rolling()
    found = areas(ground)
    assert [step for step, _ in found] == [0, 1, 2, 3]
    rng, checked = np.random.default_rng(4), 0
    for east, north in zip(rng.uniform(30, 131, 400), rng.uniform(28, 127, 400), strict=True):
        place = shapely.Point(east, north)
        if not LOT.buffer(-1).contains(place):
            continue
        grade_pct = fitted_pct(ground, (east, north, AT[2]))
        allowed = {int(np.searchsorted(BREAKS_PCT, grade_pct + off)) for off in (-OFF_PCT, OFF_PCT)}
        # an edge is drawn to 25 cm
        near = {step for step, shape in found if shape.distance(place) <= 0.25}
        assert near & allowed, (east, north, grade_pct)
        checked += 1
    assert checked > 200


def test_at_the_pads_own_place_it_is_the_pads_own_grade():
    for seed in range(12):
        ground = rolling(seed)
        own = pad_grade(ground, GRID, [AT], length_m=SIDES_M[0], width_m=SIDES_M[1]).grade_pct[0]
        assert own == pytest.approx(fitted_pct(ground, AT), abs=1e-6)
        # a break a hundredth of a point above it, or below it
        for off, step in ((0.01, 0), (-0.01, 1)):
            found = grade_areas(ground, GRID, LOT, at=AT, sides_m=SIDES_M, breaks_pct=(own + off,))
            place = shapely.Point(AT[:2])
            assert step in [each for each, shape in found if shape.distance(place) <= 0.25]


def test_on_fine_cells_it_is_the_plane_through_all_of_them_to_a_tenth_of_a_point():
    east, north = np.meshgrid(np.arange(400) / 4 + 0.125, 99.875 - np.arange(400) / 4)
    hills = 1.2 * np.sin(east / 19) * np.cos(north / 27) + 0.03 * east
    fine = hills + np.random.default_rng(5).normal(0, 0.05, hills.shape)
    grid, lot = Affine(0.25, 0, 0, 0, -0.25, 100), shapely.box(25, 25, 75, 75)
    found = grade_areas(fine, grid, lot, at=AT, sides_m=SIDES_M, breaks_pct=BREAKS_PCT)
    places = np.column_stack([np.random.default_rng(6).uniform(26, 74, (60, 2)), [AT[2]] * 60])
    every = pad_grade(fine, grid, places, length_m=SIDES_M[0], width_m=SIDES_M[1])
    assert every.cells.min() > 10_000
    for place, grade_pct in zip(shapely.points(places[:, :2]), every.grade_pct, strict=True):
        allowed = {int(np.searchsorted(BREAKS_PCT, grade_pct + off)) for off in (-OFF_PCT, OFF_PCT)}
        assert allowed & {step for step, shape in found if shape.distance(place) <= 0.25}


def test_noise_that_cells_read_as_slope_leaves_level_ground_level():
    # cells of level ground with 5 cm of noise read 2.7 % by Horn's window
    level = np.random.default_rng(1).normal(50, 0.05, (160, 160))
    assert [(step, round(shape.area)) for step, shape in areas(level)] == [(0, round(LOT.area))]


def test_areas_cover_the_lot_once_and_what_nobody_knows_is_said():
    ground = rolling()
    ground[:, 100:] = np.nan
    found = dict(areas(ground))
    whole = shapely.union_all(list(found.values()))
    assert whole.area == pytest.approx(LOT.area, rel=0.01)
    assert sum(shape.area for shape in found.values()) == pytest.approx(LOT.area, rel=0.01)
    # no plane where less than nine tenths of the window are known
    assert found[None].contains(shapely.Point(112, 80))
    assert not found[None].contains(shapely.Point(70, 80))
    assert found[None].bounds[0] < 100


def test_a_lot_without_elevation_is_unknown_all_over():
    (only,) = areas(np.full((160, 160), np.nan))
    assert only[0] is None
    assert only[1].area == pytest.approx(LOT.area)


def test_a_lot_in_two_parts_and_with_a_hole_keeps_its_shape():
    hole = shapely.box(60, 60, 90, 90)
    lot = shapely.union(LOT.difference(hole), shapely.box(140, 20, 150, 40))
    found = areas(rolling(), lot)
    assert shapely.union_all([shape for _, shape in found]).symmetric_difference(
        lot
    ).area == pytest.approx(0, abs=0.01 * lot.area)


def test_breaks_that_do_not_rise_are_refused():
    with pytest.raises(ValueError, match="must rise"):
        grade_areas(rolling(), GRID, LOT, at=AT, sides_m=SIDES_M, breaks_pct=(4, 2))
