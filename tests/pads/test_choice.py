"""A bounded choice of places."""

import numpy as np
import pytest
from shapely import box

from playsite.pads.choice import alternatives, spread
from playsite.pads.search import legal_places
from playsite.pads.shape import pad_polygons

PAD = {"length_m": 31.6, "width_m": 22.7}


@pytest.fixture(scope="module")
def places():
    return legal_places(box(0, 0, 120, 90), **PAD)


def test_a_spread_is_bounded_ascending_and_the_same_each_time(places):
    kept = spread(places, 150)
    assert len(kept) == 150
    assert (np.diff(kept) > 0).all()
    assert np.array_equal(kept, spread(places, 150))
    assert np.array_equal(spread(places[:40], 150), np.arange(40))
    assert len(spread(places, 0)) == 0
    assert len(spread(np.empty((0, 3)), 10)) == 0


def test_a_spread_reaches_every_corner_and_most_rotations(places):
    kept = places[spread(places, 150)]
    for corner in [(0, 0), (0, 90), (120, 0), (120, 90)]:
        near = np.hypot(*(places[:, :2] - corner).T).min()
        assert np.hypot(*(kept[:, :2] - corner).T).min() < near + 20
    assert len(np.unique(kept[:, 2])) >= 5


def test_the_best_place_of_all_is_kept(places):
    quality = np.random.default_rng(1).uniform(0, 1, len(places))
    kept = spread(places, 100, quality=quality)
    assert int(np.argmin(quality)) in kept
    assert quality[kept].mean() < quality.mean() / 2


def test_a_missing_quality_comes_last(places):
    quality = np.full(len(places), np.nan)
    quality[::2] = 1.0
    kept = spread(places, 60, quality=quality)
    assert not np.isnan(quality[kept]).any()


def test_places_all_alike_still_fill_the_choice():
    same = np.tile([5.0, 5.0, 30.0], (50, 1))
    assert np.array_equal(spread(same, 7), np.arange(7))


def test_a_choice_is_refused_where_qualities_do_not_match(places):
    with pytest.raises(ValueError, match="One quality a place"):
        spread(places, 10, quality=[1, 2])
    with pytest.raises(ValueError, match="below 0"):
        spread(places, -1)


def test_alternatives_overlap_by_less_than_a_quarter(places):
    order = np.random.default_rng(2).permutation(len(places))
    first = int(order[0])
    picked = alternatives(pad_polygons(places, **PAD), order, first=first)
    assert len(picked) == 3
    pads = pad_polygons(places[[first, *picked]], **PAD)
    for i in range(4):
        for j in range(i):
            assert pads[i].intersection(pads[j]).area < 31.6 * 22.7 / 4


def test_alternatives_are_the_first_in_order_that_qualify(places):
    order = np.random.default_rng(5).permutation(len(places))[:600]
    first = int(order[0])
    chosen = [first]
    pads = pad_polygons(places, **PAD)
    for row in order:
        far = all(pads[row].intersection(pads[c]).area < 31.6 * 22.7 / 4 for c in chosen)
        if far and len(chosen) < 4:
            chosen.append(int(row))
    assert alternatives(pad_polygons(places, **PAD), order, first=first).tolist() == chosen[1:]


def test_shifts_by_a_step_are_no_alternatives():
    shifted = np.column_stack([np.arange(8.0), np.zeros(8), np.zeros(8)])
    assert len(alternatives(pad_polygons(shifted, **PAD), np.arange(8), first=0)) == 0


def test_a_quarter_exactly_is_too_much_and_a_hair_less_is_not():
    apart = 31.6 * 0.75
    row = np.array([[0, 0, 0], [apart - 1e-9, 0, 0], [apart + 1e-6, 0, 0]])
    assert alternatives(pad_polygons(row, **PAD), [0, 1, 2], first=0).tolist() == [2]
