import dataclasses

import numpy as np
import pytest
from affine import Affine
from scipy.ndimage import gaussian_filter

from playsite.terrain.grade import cell_grade_pct, pad_grade

SIZE = {"length_m": 32, "width_m": 22}


def square(cells, cell_m=1.0, east=430_000.0, north=5_150_000.0):
    return Affine(cell_m, 0, east, 0, -cell_m, north + cells * cell_m)


def centres(shape, transform):
    rows, columns = np.indices(shape)
    return at(transform, columns + 0.5, rows + 0.5)


def at(transform, column, row):
    return transform.c + transform.a * column, transform.f + transform.e * row


def random_places(transform, cells, count, seed=0):
    rng = np.random.default_rng(seed)
    x, y = at(transform, *rng.uniform(25, cells - 25, (2, count)))
    return np.column_stack([x, y, rng.uniform(-180, 360, count)])


def by_hand(ground, transform, place, *, length_m, width_m):
    """The same by numpy's own least squares, one pad at a time."""
    x, y = centres(ground.shape, transform)
    turn = np.radians(place[2])
    dx, dy = x - place[0], y - place[1]
    inside = np.abs(dx * np.cos(turn) + dy * np.sin(turn)) <= length_m / 2
    inside &= np.abs(dy * np.cos(turn) - dx * np.sin(turn)) <= width_m / 2
    known = inside & np.isfinite(ground)
    columns = np.column_stack([dx[known], dy[known], np.ones(known.sum())])
    fit, *_ = np.linalg.lstsq(columns, ground[known], rcond=None)
    off = ground[known] - columns @ fit
    return {
        "grade_pct": 100 * np.hypot(*fit[:2]),
        "aspect_deg": np.degrees(np.arctan2(-fit[0], -fit[1])) % 360,
        "residual_rms_m": np.sqrt(np.mean(off**2)),
        "residual_p95_m": np.percentile(np.abs(off), 95),
        "cell_mean_pct": np.nanmean(cell_grade_pct(ground, cell_m=transform.a)[inside]),
        "cell_p95_pct": np.nanpercentile(cell_grade_pct(ground, cell_m=transform.a)[inside], 95),
        "known_share": known.sum() / inside.sum(),
        "cells": known.sum(),
    }


@pytest.mark.parametrize("cell_m", [0.5, 1.0])
def test_pads_agree_with_least_squares_by_numpy(cell_m):
    rng = np.random.default_rng(4)
    transform = square(150, cell_m)
    ground = 400 + gaussian_filter(rng.normal(size=(150, 150)), 5) * 10
    ground[rng.random(ground.shape) < 0.02] = np.nan
    places = random_places(transform, 150, 25)
    size = {"length_m": 32 * cell_m, "width_m": 22 * cell_m}
    found = pad_grade(ground, transform, places, **size, with_percentile=True, with_cells=True)
    for pad, place in enumerate(places):
        for name, value in by_hand(ground, transform, place, **size).items():
            assert getattr(found, name)[pad] == pytest.approx(value, rel=1e-7), name


@pytest.mark.parametrize("turned", [0, 37, 90, 180, -90, 270, 359.999999])
def test_a_plane_gives_its_grade_and_the_way_it_falls(turned):
    transform = square(80)
    x, y = centres((80, 80), transform)
    ground = 0.03 * (x - x.min()) + 0.04 * (y - y.min())
    place = [[430_040, 5_150_040, turned]]
    found = pad_grade(ground, transform, place, **SIZE, with_percentile=True)
    assert found.grade_pct[0] == pytest.approx(5, abs=1e-9)
    assert found.aspect_deg[0] == pytest.approx(180 + np.degrees(np.arctan(0.75)), abs=1e-7)
    assert found.residual_rms_m[0] == pytest.approx(0, abs=1e-6)
    assert found.residual_p95_m[0] == pytest.approx(0, abs=1e-9)
    assert found.known_share[0] == 1


@pytest.mark.parametrize("turned", [0, 90, 180, -90])
def test_cells_on_the_outline_count_whichever_way_the_pad_was_turned(turned):
    place = [[30.5, 30.5, turned]]
    found = pad_grade(np.zeros((60, 60)), Affine(1, 0, 0, 0, -1, 60), place, **SIZE)
    assert found.cells[0] == 33 * 23


def test_level_ground_has_no_way_to_fall():
    found = pad_grade(np.full((60, 60), 9.0), square(60), random_places(square(60), 60, 3), **SIZE)
    np.testing.assert_array_equal(found.grade_pct, 0)
    assert np.isnan(found.aspect_deg).all()


def test_a_crowned_pad_shows_in_the_residual_and_not_in_the_grade():
    x, y = centres((60, 60), square(60))
    crowned = -0.01 * ((x - x.mean()) ** 2 + (y - y.mean()) ** 2)
    found = pad_grade(crowned, square(60), [[430_030, 5_150_030, 0]], **SIZE, with_percentile=True)
    assert found.grade_pct[0] == pytest.approx(0, abs=1e-9)
    assert found.residual_rms_m[0] > 0.5
    assert found.residual_p95_m[0] > found.residual_rms_m[0]


def test_too_little_known_ground_gives_nothing_and_says_how_much_is_known():
    ground = np.zeros((60, 60))
    ground[:, 30:] = np.nan
    found = pad_grade(
        ground,
        Affine(1, 0, 0, 0, -1, 60),
        [[30, 30, 0], [13, 30, 90]],
        **SIZE,
        noise_m=0.05,
        with_percentile=True,
        with_cells=True,
    )
    np.testing.assert_array_equal(found.known_share, [0.5, 1])
    for name in ("grade_pct", "low_pct", "high_pct", "residual_rms_m", "residual_p95_m"):
        assert np.isnan(getattr(found, name)[0]), name
        assert np.isfinite(getattr(found, name)[1]), name
    assert np.isnan(found.cell_mean_pct[0])
    told = pad_grade(ground, Affine(1, 0, 0, 0, -1, 60), [[30, 30, 0]], **SIZE, least_known=0.5)
    assert told.grade_pct[0] == 0


def test_ground_outside_the_raster_is_unknown():
    found = pad_grade(
        np.zeros((60, 60)), Affine(1, 0, 0, 0, -1, 60), [[0, 30, 0], [-500, 30, 20]], **SIZE
    )
    np.testing.assert_array_equal(found.known_share, [0.5, 0])
    np.testing.assert_array_equal(found.cells, [16 * 22, 0])
    assert np.isnan(found.grade_pct).all()


def test_a_place_that_is_missing_gives_what_is_missing():
    found = pad_grade(np.zeros((60, 60)), square(60), [[np.nan, 1, 2]], **SIZE, noise_m=0.05)
    assert found.cells[0] == 0
    for field in dataclasses.fields(found):
        if field.name != "cells":
            assert np.isnan(getattr(found, field.name)[0]), field.name


def test_no_places_give_empty_arrays():
    found = pad_grade(np.zeros((60, 60)), square(60), np.empty((0, 3)), **SIZE)
    assert all(len(getattr(found, field.name)) == 0 for field in dataclasses.fields(found))


@pytest.mark.parametrize(
    ("north", "length_m", "width_m", "cells"), [(30, 3, 2, 8), (30.5, 40, 0.5, 40)]
)
def test_few_cells_or_cells_in_one_line_give_no_plane(north, length_m, width_m, cells):
    place = [[430_030, 5_150_000 + north, 0]]
    found = pad_grade(np.zeros((60, 60)), square(60), place, length_m=length_m, width_m=width_m)
    assert found.cells[0] == cells
    assert np.isnan(found.grade_pct[0])


def test_a_sample_of_the_cells_gives_nearly_the_same_plane():
    x, y = centres((200, 200), square(200))
    ground = 0.05 * (x - x.min()) + 0.2 * np.sin(x / 9) * np.cos(y / 7)
    places = random_places(square(200), 200, 50)
    whole = pad_grade(ground, square(200), places, **SIZE)
    part = pad_grade(ground, square(200), places, **SIZE, most_cells=200, with_percentile=True)
    assert np.all(part.cells < 230)
    assert np.all(part.cells > 140)
    np.testing.assert_allclose(part.grade_pct, whole.grade_pct, atol=0.15)
    np.testing.assert_allclose(part.known_share, 1)
    assert np.isfinite(part.residual_p95_m).all()


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"length_m": 0}, "sides must be above 0 m"),
        ({"width_m": float("inf")}, "sides must be above 0 m"),
        ({"noise_m": -0.1}, "noise must be 0 m or more, but it is -0.1"),
        ({"noise_m": 0.1, "noise_length_m": float("nan")}, "noise's length must be 0 m or more"),
        ({"most_cells": 0}, "At least one cell"),
        ({"places": [[1, 2]]}, r"\(n, 3\) array"),
        ({"transform": Affine(1, 0.1, 0, 0, -1, 0)}, "not rotated"),
        ({"transform": Affine(1, 0, 0, 0, 1, 0)}, "north-up"),
        ({"transform": Affine(1, 0, 0, 0, -2, 0)}, "must be square"),
    ],
)
def test_what_makes_no_sense_is_refused(options, told):
    given = {"transform": square(9), "places": [[0, 0, 0]], **SIZE, **options}
    transform, places = given.pop("transform"), given.pop("places")
    with pytest.raises(ValueError, match=told):
        pad_grade(np.zeros((9, 9)), transform, places, **given)


def noise_of(length_m, rng, *, cells, sd_m):
    """Gaussian noise with correlation exp(-d^2 / (2 L^2)): white noise smoothed over L / sqrt 2."""
    white = rng.normal(size=(cells, cells))
    if length_m == 0:
        return sd_m * white
    smooth = gaussian_filter(white, length_m / np.sqrt(2), mode="wrap")
    return sd_m * smooth / smooth.std()


@pytest.mark.parametrize("length_m", [0, 1, 4])
@pytest.mark.parametrize("true_pct", [0, 0.1, 0.3, 3])
def test_the_interval_holds_the_truth_nine_times_in_ten_by_simulation(length_m, true_pct):
    cells, rng = 1000, np.random.default_rng(int(100 * length_m + 10 * true_pct))
    transform = square(cells)
    x, y = at(transform, *np.meshgrid(np.arange(40, 960, 42.0), np.arange(40, 960, 42.0)))
    places = np.column_stack([x.ravel(), y.ravel(), np.linspace(0, 180, x.size)])
    tilted = true_pct / 100 * np.arange(cells)
    held = []
    for _ in range(3):
        ground = tilted + noise_of(length_m, rng, cells=cells, sd_m=0.05)
        noise = {"noise_m": 0.05, "noise_length_m": length_m}
        found = pad_grade(ground, transform, places, **SIZE, **noise)
        held.append((found.low_pct <= true_pct) & (true_pct <= found.high_pct))
    # 1,452 pads: one standard error is 0.008
    assert 0.875 <= np.mean(held) <= 0.985


def test_without_a_noise_there_is_no_interval_and_without_noise_it_closes():
    ground = np.tile(0.05 * np.arange(60.0), (60, 1))
    place = [[430_030, 5_150_030, 0]]
    unknown = pad_grade(ground, square(60), place, **SIZE)
    assert np.isnan(unknown.low_pct[0])
    assert np.isnan(unknown.high_pct[0])
    none = pad_grade(ground, square(60), place, **SIZE, noise_m=0)
    assert none.low_pct[0] == pytest.approx(5)
    assert none.high_pct[0] == pytest.approx(5)
