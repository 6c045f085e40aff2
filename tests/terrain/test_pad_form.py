"""Forms of the ground: made planes, terraces, crowns and dishes, with and without noise."""

import numpy as np
import pytest
from affine import Affine
from scipy.ndimage import gaussian_filter

from playsite.terrain.grade import pad_grade
from playsite.terrain.pad_form import CROWN, DISH, EVEN, NO_FORM, TERRACE, pad_form

METRE = Affine(1, 0, 500_000, 0, -1, 4_400_060)
CENTRE = (500_030.0, 4_400_030.0)
SIDES = {"length_m": 32, "width_m": 22}
ROW, COLUMN = np.indices((60, 60))
EAST, NORTH = COLUMN + 0.5 - 30, 30 - ROW - 0.5

# along and across from the pad's centre, m; heights by which each departs from a plane
MADE = {
    "plane": (lambda along, across: 0 * along, EVEN, np.nan),
    "terrace": (lambda along, across: 0.4 * (across > 2), TERRACE, 0.4),
    "terrace cut across": (lambda along, across: 0.4 * (along + across > 3), TERRACE, 0.4),
    "terrace with a bank": (
        lambda along, across: 0.4 * np.clip((along + 3) / 5, 0, 1),
        TERRACE,
        0.4,
    ),
    "ridge": (lambda along, across: -0.3 * (across / 11) ** 2, CROWN, 0.3),
    "dome": (
        lambda along, across: -0.2 * (along / 16) ** 2 - 0.2 * (across / 11) ** 2,
        CROWN,
        0.2,
    ),
    "bowl": (lambda along, across: 0.2 * (along / 16) ** 2 + 0.2 * (across / 11) ** 2, DISH, 0.2),
    "trough": (lambda along, across: 0.3 * (along / 16) ** 2, DISH, 0.3),
    "saddle": (
        lambda along, across: 0.2 * (along / 16) ** 2 - 0.2 * (across / 11) ** 2,
        NO_FORM,
        np.nan,
    ),
}


def ground(name, turn_deg, *, noise_m=0.0, noise_length_m=0.0, seed=0):
    """A slope of 5.4 % with a made form in the pad's own axes, and noise."""
    turn = np.radians(turn_deg)
    along = EAST * np.cos(turn) + NORTH * np.sin(turn)
    across = NORTH * np.cos(turn) - EAST * np.sin(turn)
    noise = np.random.default_rng(seed).normal(size=(120, 120))
    if noise_length_m:
        noise = gaussian_filter(noise, noise_length_m / np.sqrt(2))
    noise = noise_m * noise[30:90, 30:90] / noise.std()
    return 100 + 0.05 * EAST - 0.02 * NORTH + MADE[name][0](along, across) + noise


def form_of(elevation, turn_deg, **noise):
    return pad_form(elevation, METRE, (*CENTRE, turn_deg), **SIDES, **noise)


@pytest.mark.parametrize("noise_m", [0.0, 0.03])
@pytest.mark.parametrize("turn_deg", [0, 37, 110])
@pytest.mark.parametrize("name", MADE)
def test_each_form_is_told_and_measured(name, turn_deg, noise_m):
    _, kind, height_m = MADE[name]
    form = form_of(ground(name, turn_deg, noise_m=noise_m), turn_deg, noise_m=noise_m)
    assert form.kind == kind
    assert form.height_m == pytest.approx(height_m, abs=0.04, nan_ok=True)


def test_a_form_that_grading_takes_away_is_an_even_slope():
    _, across = EAST, NORTH
    low = 100 + 0.03 * EAST - 0.05 * (across / 11) ** 2
    assert form_of(low, 0, noise_m=0.03).kind == EVEN


def test_of_a_hundred_even_slopes_none_is_given_a_form():
    kinds = [
        form_of(ground("plane", 20, noise_m=0.05, seed=seed), 20, noise_m=0.05).kind
        for seed in range(100)
    ]
    assert set(kinds) == {EVEN}


@pytest.mark.parametrize("noise", [(0.10, 3.0), (0.05, 5.0), (0.5, 0.0)])
def test_where_noise_hides_a_form_even_ground_is_not_called_even(noise):
    noise_m, length_m = noise
    for seed in range(20):
        plane = ground("plane", 0, noise_m=noise_m, noise_length_m=length_m, seed=seed)
        form = form_of(plane, 0, noise_m=noise_m, noise_length_m=length_m)
        assert form.kind == NO_FORM


def test_noise_that_nobody_told_is_taken_from_what_no_form_explains():
    assert form_of(ground("bowl", 0, noise_m=0.03), 0).kind == DISH
    assert form_of(ground("plane", 0, noise_m=0.03), 0).kind == EVEN


def test_a_heap_in_a_corner_is_no_form_and_not_even():
    heap = np.exp(-((EAST - 12) ** 2 + (NORTH - 8) ** 2) / 8)
    assert form_of(100 + heap, 0, noise_m=0.02).kind == NO_FORM


def test_finer_cells_change_nothing():
    fine = Affine(0.5, 0, 500_000, 0, -0.5, 4_400_060)
    across = 30 - (np.indices((120, 120))[0] + 0.5) / 2
    form = pad_form(100 + 0.3 * (across > 1), fine, (*CENTRE, 0), **SIDES, noise_m=0.0)
    assert form.kind == TERRACE
    assert form.height_m == pytest.approx(0.3, abs=0.02)


def test_unknown_ground_has_no_form():
    assert form_of(np.full((60, 60), np.nan), 0) is None
    off = pad_form(ground("plane", 0), METRE, (400_000.0, 4_400_000.0, 0), **SIDES)
    assert off is None


def test_crown_and_dish_have_no_grade_and_a_departure():
    """A plane through z = -h (y/b)^2 is level and leaves h sqrt(4/45) (geometry)."""
    found = pad_grade(
        ground("ridge", 0) - 0.05 * EAST + 0.02 * NORTH, METRE, [[*CENTRE, 0]], **SIDES
    )
    assert found.grade_pct[0] == pytest.approx(0, abs=1e-6)
    assert found.residual_rms_m[0] == pytest.approx(0.3 * np.sqrt(4 / 45), rel=0.01)
