"""What holds for the ground whatever its shape."""

import dataclasses

import numpy as np
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from scipy import ndimage

from playsite.terrain.flat_water import level_patches
from playsite.terrain.grade import cell_grade_pct, pad_grade
from playsite.terrain.low_spots import filled, low_spot_share_pct, low_spots

SIDES = arrays.array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=12)
HEIGHTS = st.floats(-50, 50, width=32) | st.sampled_from([0.0, 1.0, 2.0])
GROUNDS = arrays.arrays(np.float64, SIDES, elements=HEIGHTS | st.just(np.nan))
WHOLE = arrays.arrays(np.float64, SIDES, elements=st.integers(-9, 9).map(float) | st.just(np.nan))
TURNS = st.floats(-360, 360)
AROUND = np.ones((3, 3))


def law(*strategies):
    """Try the law on many grounds, however long one takes: the first compiles the loops."""
    return lambda test: settings(deadline=None)(given(*strategies)(test))


def outlets(ground):
    missing = np.pad(np.isnan(ground), 1, constant_values=True)
    return ndimage.binary_dilation(missing, AROUND)[1:-1, 1:-1] & np.isfinite(ground)


@law(GROUNDS)
def test_filling_never_lies_below_the_ground_and_leaves_the_outlets(ground):
    level = filled(ground)
    np.testing.assert_array_equal(np.isnan(level), np.isnan(ground))
    assert not (level < ground).any()
    np.testing.assert_array_equal(level[outlets(ground)], ground[outlets(ground)])


@law(GROUNDS)
def test_every_filled_cell_drains_without_climbing(ground):
    level = filled(ground)
    for height in np.unique(level[np.isfinite(level)]):
        # all that is joined without climbing above this height holds a way out
        basins, count = ndimage.label(level <= height, AROUND)
        with_way_out = np.unique(basins[outlets(ground) & (basins > 0)])
        assert len(with_way_out) == count


@law(GROUNDS)
def test_filling_raises_no_more_than_it_must(ground):
    level = filled(ground)
    for height in np.unique(level[level > ground]):
        # below its level, each raised cell is shut in
        ponds, _ = ndimage.label(ground < height, AROUND)
        draining = np.unique(ponds[outlets(ground)])
        raised = (level == height) & (level > ground)
        assert not np.isin(ponds[raised], draining[draining > 0]).any()


@law(GROUNDS)
def test_filling_twice_is_filling_once(ground):
    level = filled(ground)
    np.testing.assert_array_equal(filled(level), level)


@law(WHOLE, st.integers(-1000, 1000))
def test_ground_raised_as_a_whole_fills_alike(ground, by):
    np.testing.assert_array_equal(filled(ground + by), filled(ground) + by)


@law(WHOLE)
def test_ground_turned_or_mirrored_fills_alike(ground):
    np.testing.assert_array_equal(np.rot90(filled(ground)), filled(np.rot90(ground)))
    np.testing.assert_array_equal(filled(ground)[:, ::-1], filled(ground[:, ::-1]))


@law(WHOLE, st.data())
def test_raising_a_cell_lowers_no_water(ground, data):
    row, column = (data.draw(st.integers(0, side - 1)) for side in ground.shape)
    raised = ground.copy()
    raised[row, column] += data.draw(st.integers(0, 9))
    known = np.isfinite(ground)
    assert (filled(raised)[known] >= filled(ground)[known]).all()


@law(st.floats(0.5, 20), st.floats(0.01, 3), st.floats(-100, 3000))
def test_a_cone_pit_holds_exactly_its_depth(radius_m, depth_m, at_m):
    rows, columns = np.indices((51, 51)) - 25
    cone = depth_m * np.maximum(1 - np.hypot(rows, columns) / radius_m, 0)
    ground = at_m - cone
    np.testing.assert_allclose(filled(ground) - ground, cone, atol=1e-9)
    spots = low_spots(
        ground, Affine(1, 0, 0, 0, -1, 51), noise_m=0, least_depth_m=0, least_area_m2=0
    )
    np.testing.assert_allclose(spots.depth_m, [depth_m], atol=1e-9)
    np.testing.assert_allclose(spots.volume_m3, [cone.sum()], atol=1e-6)


@law(st.floats(-0.3, 0.3), st.floats(-0.3, 0.3), TURNS, st.floats(20, 40), st.floats(20, 40))
def test_a_tilted_plane_has_exactly_its_grade(east, north, turned, x, y):
    rows, columns = np.indices((60, 60)) + 0.5
    ground = 300 + east * columns + north * (60 - rows)
    place = [[x, y, turned]]
    pad = pad_grade(ground, Affine(1, 0, 0, 0, -1, 60), place, length_m=30, width_m=20)
    grade_pct = 100 * np.hypot(east, north)
    np.testing.assert_allclose(pad.grade_pct, grade_pct, atol=1e-8)
    np.testing.assert_allclose(cell_grade_pct(ground, cell_m=1)[1:-1, 1:-1], grade_pct, atol=1e-8)
    falls = (
        pad.grade_pct[0]
        / 100
        * np.array([np.sin(np.radians(pad.aspect_deg[0])), np.cos(np.radians(pad.aspect_deg[0]))])
    )
    if grade_pct > 1e-6:
        np.testing.assert_allclose(falls, [-east, -north], atol=1e-9)


def rough_ground(seed, cells=90):
    rng = np.random.default_rng(seed)
    ground = ndimage.gaussian_filter(rng.normal(size=(cells, cells)), 4) * 8
    ground[rng.random(ground.shape) < 0.01] = np.nan
    return ground


def measured(ground, transform, places):
    size = {"length_m": 30, "width_m": 20}
    pads = pad_grade(
        ground, transform, places, **size, noise_m=0.05, with_percentile=True, with_cells=True
    )
    spots = low_spots(ground, transform, noise_m=0.01)
    shares_pct = low_spot_share_pct(spots.labels, transform, places, **size)
    return [*dataclasses.astuple(pads), shares_pct], [spots.depth_m, spots.area_m2]


PLACES = arrays.arrays(np.float64, (6, 3), elements=st.floats(20, 70, width=32))


@law(st.integers(0, 50), PLACES, st.integers(-(10**6), 10**6), st.integers(-(10**7), 10**7))
def test_moving_everything_by_one_offset_changes_nothing(seed, places, east, north):
    ground = rough_ground(seed)
    here, spots = measured(ground, Affine(1, 0, 0, 0, -1, 90), places)
    moved_places = places + np.array([east, north, 0])
    there, moved = measured(ground, Affine(1, 0, east, 0, -1, 90 + north), moved_places)
    for before, after in zip(here + spots, there + moved, strict=True):
        np.testing.assert_allclose(after, before, rtol=1e-6, atol=1e-6)


@law(st.integers(0, 50), PLACES)
def test_half_a_turn_and_another_order_change_nothing(seed, places):
    ground, transform = rough_ground(seed), Affine(1, 0, 0, 0, -1, 90)
    once, _ = measured(ground, transform, places)
    turned, _ = measured(ground, transform, (places + np.array([0, 0, 180]))[::-1])
    for before, after in zip(once, turned, strict=True):
        np.testing.assert_allclose(after[::-1], before, rtol=1e-6, atol=1e-6)


@law(st.integers(0, 50), PLACES, st.floats(0.1, 20))
def test_ground_twice_as_high_is_twice_as_steep(seed, places, times):
    ground, transform = rough_ground(seed), Affine(1, 0, 0, 0, -1, 90)
    size = {"length_m": 30, "width_m": 20}
    once = pad_grade(ground, transform, places, **size)
    more = pad_grade(times * ground, transform, places, **size)
    np.testing.assert_allclose(more.grade_pct, times * once.grade_pct, rtol=1e-7)
    np.testing.assert_allclose(more.residual_rms_m, times * once.residual_rms_m, rtol=1e-6)


@law(st.integers(0, 50), PLACES, st.floats(0, 0.2), st.floats(0, 8))
def test_the_interval_holds_the_estimate_and_widens_with_the_noise(seed, places, noise_m, length_m):
    ground, transform = rough_ground(seed), Affine(1, 0, 0, 0, -1, 90)
    size = {"length_m": 30, "width_m": 20, "noise_length_m": length_m}
    little = pad_grade(ground, transform, places, **size, noise_m=noise_m)
    much = pad_grade(ground, transform, places, **size, noise_m=2 * noise_m + 0.01)
    known = np.isfinite(little.grade_pct)
    for found in (little, much):
        assert (found.low_pct <= found.grade_pct + 1e-9)[known].all()
        assert (found.grade_pct <= found.high_pct + 1e-9)[known].all()
    assert (much.low_pct <= little.low_pct + 1e-9)[known].all()
    assert (much.high_pct >= little.high_pct - 1e-9)[known].all()


@law(WHOLE)
def test_low_spots_account_for_all_cells(ground):
    transform = Affine(1, 0, 0, 0, -1, 0)
    spots = low_spots(ground, transform, noise_m=0.3, least_area_m2=0)
    deep = filled(ground) - ground >= 3 * 0.3
    np.testing.assert_array_equal(spots.labels > 0, deep)
    assert spots.area_m2.sum() == deep.sum()
    assert (spots.depth_m >= spots.threshold_m).all()
    for spot, spill_m in zip(spots.id, spots.spill_m, strict=True):
        assert (filled(ground)[spots.labels == spot] == spill_m).all()


@law(WHOLE, st.integers(0, 20))
def test_patches_are_level_and_large_enough(ground, least_area_m2):
    patches = level_patches(
        ground, Affine(1, 0, 0, 0, -1, 0), least_area_m2=least_area_m2, tolerance_m=0
    )
    for patch in range(1, patches.max() + 1):
        inside = patches == patch
        assert np.ptp(ground[inside]) == 0
        assert inside.sum() >= max(least_area_m2, 1)
        assert ndimage.label(inside)[1] == 1
