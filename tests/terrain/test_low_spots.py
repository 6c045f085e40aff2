import numpy as np
import pytest
import shapely
from affine import Affine

from playsite.terrain.low_spots import (
    _averaged,
    low_spot_polygons,
    low_spot_share_pct,
    low_spots,
)


def square(cells, cell_m=1.0):
    return Affine(cell_m, 0, 430_000, 0, -cell_m, 5_150_000 + cells * cell_m)


def level_ground_with_pits(*pits, cells=60):
    ground = np.full((cells, cells), 100.0)
    for rows, columns, depth_m in pits:
        ground[slice(*rows), slice(*columns)] -= depth_m
    return ground


def test_each_low_spot_has_its_own_figures():
    ground = level_ground_with_pits(((5, 10), (5, 12), 0.4), ((30, 40), (30, 50), 0.2))
    spots = low_spots(ground, square(60, 2.0), noise_m=0)
    np.testing.assert_array_equal(spots.id, [1, 2])
    np.testing.assert_allclose(spots.depth_m, [0.4, 0.2])
    np.testing.assert_allclose(spots.area_m2, [4 * 35, 4 * 200])
    np.testing.assert_allclose(spots.volume_m3, [4 * 35 * 0.4, 4 * 200 * 0.2])
    np.testing.assert_allclose(spots.spill_m, [100, 100])
    assert spots.threshold_m == 0.10
    assert (spots.labels[5:10, 5:12] == 1).all()
    assert np.bincount(spots.labels.ravel()).tolist() == [3600 - 235, 35, 200]


@pytest.mark.parametrize(
    ("options", "found"),
    [
        ({"noise_m": 0.0}, [0.3, 0.15]),
        ({"noise_m": 0.03, "noise_length_m": 4}, [0.3, 0.15, 0.5 * 4 / 9]),
        ({"noise_m": 0.06}, [0.3, 0.15, 0.5 * 4 / 9]),
        ({"noise_m": 0.06, "noise_length_m": 4}, [0.3]),
        ({"noise_m": 0.11, "noise_length_m": 4}, []),
        ({"noise_m": 0.0, "least_depth_m": 0.05}, [0.3, 0.15, 0.07]),
        ({"noise_m": 0.06, "noise_length_m": 4, "least_depth_m": 0.05}, [0.3]),
        ({"noise_m": 0.0, "least_area_m2": 4}, [0.3, 0.15, 0.5]),
        ({"noise_m": 0.0, "least_area_m2": 20}, [0.3]),
    ],
)
def test_depth_noise_and_area_decide_what_counts(options, found):
    ground = level_ground_with_pits(
        ((5, 10), (5, 10), 0.3),
        ((20, 24), (20, 24), 0.15),
        ((30, 34), (30, 34), 0.07),
        ((50, 52), (50, 52), 0.5),
    )
    np.testing.assert_allclose(low_spots(ground, square(60), **options).depth_m, found)


@pytest.mark.parametrize(
    ("cell_m", "least_area_m2", "noise_length_m", "left"),
    [
        (1, 9, 0, 1 / 3),
        (0.5, 9, 0, 1 / 5),
        (2, 9, 0, 1),
        (1, 100, 0, 1 / 3),
        (1, 4, 0, 1),
        (1, 9, 0.6, np.sqrt(2 * np.pi) * 0.6 / 3),
        (1, 9, 4, 1),
    ],
)
def test_the_noise_that_is_left_of_an_average_decides(cell_m, least_area_m2, noise_length_m, left):
    spots = low_spots(
        np.zeros((9, 9)),
        square(9, cell_m),
        noise_m=0.3,
        noise_length_m=noise_length_m,
        least_area_m2=least_area_m2,
    )
    assert spots.threshold_m == pytest.approx(max(0.1, 3 * 0.3 * left))


@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_the_noise_left_of_an_average_is_what_the_rule_says(kind):
    noise = 3000 + np.random.default_rng(0).normal(0, 0.05, (300, 300)).astype(kind)
    noise[::17, ::13] = np.nan
    averaged = _averaged(noise, 3)
    assert averaged.dtype == kind
    np.testing.assert_array_equal(np.isnan(averaged), np.isnan(noise))
    assert np.nanmean(averaged) == pytest.approx(3000, abs=0.002)
    assert np.nanstd(averaged - 3000) == pytest.approx(0.05 / 3, rel=0.05)


def test_ground_that_is_all_missing_has_no_low_spots():
    spots = low_spots(np.full((9, 9), np.nan), square(9), noise_m=0.05)
    assert len(spots.id) == 0
    assert (spots.labels == -1).all()


def test_cells_that_meet_at_a_corner_are_one_low_spot():
    ground = level_ground_with_pits(((5, 8), (5, 8), 0.3), ((8, 11), (8, 11), 0.3))
    spots = low_spots(ground, square(60), noise_m=0)
    assert spots.area_m2.tolist() == [18]
    (outline,) = low_spot_polygons(spots.labels, square(60))
    assert outline.is_valid
    assert outline.area == 18


def test_no_depth_is_no_low_spot_even_when_none_is_asked_for():
    spots = low_spots(np.full((9, 9), 3.0), square(9), noise_m=0, least_depth_m=0, least_area_m2=0)
    assert len(spots.id) == len(spots.depth_m) == 0
    assert not spots.labels.any()
    assert low_spot_polygons(spots.labels, square(9)) == []


def test_missing_ground_is_labelled_so():
    ground = level_ground_with_pits(((5, 10), (5, 10), 0.3))
    ground[40:, 40:] = np.nan
    labels = low_spots(ground, square(60), noise_m=0).labels
    np.testing.assert_array_equal(labels == -1, np.isnan(ground))


def test_outlines_keep_area_holes_and_place():
    ground = level_ground_with_pits(((10, 20), (10, 20), 0.3), ((30, 34), (5, 10), 0.3))
    ground[14:16, 14:16] = 100
    spots = low_spots(ground, square(60), noise_m=0)
    ring, block = low_spot_polygons(spots.labels, square(60))
    assert ring.area == pytest.approx(spots.area_m2[0]) == 96
    assert len(ring.interiors) == 1
    assert block.bounds == (430_005, 5_150_026, 430_010, 5_150_030)


def test_the_share_is_that_of_the_pad_and_what_lies_around_it():
    labels = np.zeros((80, 80), np.int32)
    labels[:, 40:] = 7
    middle, west = [430_040, 5_150_040, 0], [430_020, 5_150_040, 0]
    edge = [430_024, 5_150_040, 0]
    size = {"length_m": 30, "width_m": 20}
    shares_pct = low_spot_share_pct(labels, square(80), [middle, west, edge], **size)
    np.testing.assert_allclose(shares_pct, [50, 0, 100 * 2 / 36])
    bare_pct = low_spot_share_pct(labels, square(80), [middle, west, edge], **size, margin_m=0)
    np.testing.assert_allclose(bare_pct, [50, 0, 0])


def test_the_share_of_turned_pads_is_nearly_that_of_the_outlines():
    rng = np.random.default_rng(2)
    pits = [((r, r + 9), (c, c + 7), 0.3) for r, c in rng.integers(10, 180, (30, 2))]
    spots = low_spots(level_ground_with_pits(*pits, cells=200), square(200), noise_m=0)
    water = shapely.union_all(low_spot_polygons(spots.labels, square(200)))
    places = np.column_stack(
        [
            rng.uniform(430_030, 430_170, 40),
            rng.uniform(5_150_030, 5_150_170, 40),
            rng.uniform(0, 360, 40),
        ]
    )
    found_pct = low_spot_share_pct(spots.labels, square(200), places, length_m=30, width_m=20)
    for place, share_pct in zip(places, found_pct, strict=True):
        around = shapely.box(-18, -13, 18, 13)
        around = shapely.affinity.rotate(around, place[2], origin=(0, 0))
        around = shapely.affinity.translate(around, *place[:2])
        exact_pct = 100 * around.intersection(water).area / around.area
        assert share_pct == pytest.approx(exact_pct, abs=1.5)


def test_the_share_is_missing_where_too_much_ground_is():
    labels = np.zeros((80, 80), np.int32)
    labels[:, 44:] = -1
    labels[:, :22] = 1
    places = [[430_035, 5_150_040, 0], [430_040, 5_150_040, 0], [430_000, 5_150_040, 0]]
    places.append([np.nan, 0, 0])
    found_pct = low_spot_share_pct(labels, square(80), places, length_m=14, width_m=14)
    # 20 m wide with the margin: all but one column known; all but six; half off the raster
    np.testing.assert_allclose(found_pct, [0, np.nan, np.nan, np.nan])


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"noise_m": -1}, "noise must be 0 or more, but it is -1"),
        ({"noise_m": float("nan")}, "noise must be 0 or more"),
        ({"noise_m": 0, "least_depth_m": -0.1}, "depth must be 0 or more"),
        ({"noise_m": 0, "least_area_m2": float("inf")}, "area must be 0 or more"),
    ],
)
def test_what_makes_no_sense_is_refused(options, told):
    with pytest.raises(ValueError, match=told):
        low_spots(np.zeros((5, 5)), square(5), **options)


def test_a_margin_below_nothing_is_refused():
    labels = np.zeros((5, 5), np.int32)
    with pytest.raises(ValueError, match="margin must be 0 m or more, but it is -1"):
        low_spot_share_pct(labels, square(5), [[0, 0, 0]], length_m=1, width_m=1, margin_m=-1)
