import numpy as np
import pytest
from affine import Affine
from scipy import ndimage

from playsite.terrain.flat_water import level_patches

METRE = Affine(1, 0, 0, 0, -1, 0)


def rough(cells=120, seed=0):
    return 50 + np.random.default_rng(seed).normal(0, 0.05, (cells, cells))


@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_a_flattened_lake_is_found_and_nothing_else(kind):
    ground = rough()
    lake = np.hypot(*(np.indices(ground.shape) - 60)) < 20
    ground[lake] = 49.37
    patches = level_patches(ground.astype(kind), METRE)
    assert patches.max() == 1
    # rough ground beside the lake may by chance lie within the tolerance of it
    assert lake.sum() <= (patches == 1).sum() <= lake.sum() + 5
    assert (patches[lake] == 1).all()


def test_patches_are_those_of_a_labelling_of_equal_heights():
    ground = np.random.default_rng(5).integers(0, 2, (80, 90)).astype(float)
    patches = level_patches(ground, METRE, least_area_m2=30, tolerance_m=0)
    expected = np.zeros(ground.shape, bool)
    for height in (0, 1):
        labels, _ = ndimage.label(ground == height)
        sizes = np.bincount(labels.ravel())
        expected |= (labels > 0) & (sizes[labels] >= 30)
    np.testing.assert_array_equal(patches > 0, expected)
    assert 0 < expected.sum() < expected.size


def test_two_levels_of_a_river_are_two_patches():
    ground = rough()
    ground[50:70, :60], ground[50:70, 60:] = 49.0, 48.9
    patches = level_patches(ground, METRE)
    assert set(np.unique(patches[50:70, :60])) == {1}
    assert set(np.unique(patches[50:70, 60:])) == {2}


def test_a_small_patch_is_left_out_by_area_not_by_cells():
    ground = rough()
    ground[10:20, 10:20] = 49
    assert level_patches(ground, METRE).max() == 0
    assert level_patches(ground, Affine(2, 0, 0, 0, -2, 0)).max() == 1


def test_a_gentle_slope_is_no_patch_though_each_step_is_within_the_tolerance():
    slope = np.tile(0.0009 * np.arange(300.0), (50, 1))
    assert level_patches(slope, METRE).max() == 0


def test_missing_ground_is_no_patch():
    ground = np.full((60, 60), np.nan)
    ground[20:40, 20:40] = 3
    patches = level_patches(ground, METRE)
    np.testing.assert_array_equal(patches == 1, np.isfinite(ground))


def test_a_patch_does_not_reach_round_the_raster_s_edge():
    ground = np.arange(40.0 * 40).reshape(40, 40)
    ground[:20, 30:], ground[:20, :10] = 0.5, 0.5
    assert level_patches(ground, METRE, least_area_m2=200).max() == 2


@pytest.mark.parametrize("name", ["least_area_m2", "tolerance_m"])
def test_what_makes_no_sense_is_refused(name):
    with pytest.raises(ValueError, match="must be 0 or more, but it is -1"):
        level_patches(rough(), METRE, **{name: -1})
