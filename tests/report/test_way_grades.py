"""Running slope along a step-free way, by the classes of the 2010 ADA Standards (403.3, 405.2)."""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from playsite.report.way_grades import RAMP, TOO_STEEP, WALK, parts_by_grade, steepest


def way_of(grades_pct, leg_m=2.0):
    """A way to the east whose legs rise and fall by the given grades."""
    east = leg_m * np.arange(len(grades_pct) + 1)
    height = np.r_[100, 100 + np.cumsum(leg_m * np.array(grades_pct) / 100)]
    return shapely.LineString(np.c_[east, np.zeros_like(east), height])


@pytest.mark.parametrize(
    ("grade_pct", "step"),
    # 403.3: 1:20 is still a walking surface; 405.2: 1:12 is still a ramp; downhill as uphill
    [
        *((0, WALK), (100 / 20, WALK), (-100 / 20, WALK)),
        *((5.1, RAMP), (100 / 12, RAMP), (-7.1, RAMP), (8.4, TOO_STEEP), (-12, TOO_STEEP)),
    ],
)
def test_a_slope_is_of_the_class_that_the_rules_give_it(grade_pct, step):
    assert [found for found, _ in parts_by_grade(way_of([grade_pct]))] == [step]
    assert steepest(way_of([grade_pct])).step == step


@given(st.lists(st.floats(-20, 20), min_size=1, max_size=30))
def test_parts_follow_one_another_and_make_up_the_whole_way(grades):
    way = way_of(grades)
    parts = parts_by_grade(way)
    ends = [shapely.get_coordinates(part) for _, part in parts]
    assert sum(part.length for _, part in parts) == pytest.approx(way.length)
    assert all((a[-1] == b[0]).all() for a, b in pairwise(ends))
    assert all(a != b for (a, _), (b, _) in pairwise(parts))


def test_the_longest_of_the_steepest_parts_is_lettered_in_its_middle():
    found = steepest(way_of([7, 2, 7, 7, 7, 1]))
    assert (found.grade_pct, found.step) == (7.0, RAMP)
    assert found.at.x == pytest.approx(7.0)


def test_two_points_in_one_place_are_no_leg():
    way = shapely.LineString([(0, 0, 1), (0, 0, 2), (10, 0, 2.4)])
    assert steepest(way).grade_pct == 4.0


def test_a_way_without_heights_has_no_grades():
    flat = shapely.LineString([(0, 0), (10, 0)])
    assert parts_by_grade(flat) == []
    assert steepest(flat) is None
    assert steepest(None) is None
