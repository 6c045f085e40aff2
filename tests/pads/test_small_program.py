"""The small linear program against scipy's HiGHS on chance programs."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from playsite.pads.small_program import best_point


@settings(deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 4), st.integers(0, 60))
def test_the_worth_is_that_of_the_reference_solver(seed, variables, conditions):
    rng = np.random.default_rng(seed)
    rows = rng.normal(size=(conditions, variables))
    limits = rng.normal(0.5, 1, conditions)
    worth = rng.normal(size=variables)
    low, high = -np.ones(variables), np.full(variables, 1.5)
    point = np.empty(variables)
    found = best_point(rows, limits, worth, low, high, point)
    bounds = list(zip(low, high, strict=True))
    reference = linprog(
        -worth,
        A_ub=rows if conditions else None,
        b_ub=limits if conditions else None,
        bounds=bounds,
    )
    assert found == (reference.status == 0)
    if found:
        assert worth @ point >= -reference.fun - 1e-6
        assert (rows @ point <= limits + 1e-8).all()
        assert ((point >= low - 1e-9) & (point <= high + 1e-9)).all()


def test_many_equal_conditions_do_no_harm():
    rows = np.tile([[1.0, 1.0]], (50, 1))
    point = np.empty(2)
    assert best_point(rows, np.ones(50), np.array([1.0, 0.5]), np.zeros(2), np.ones(2), point)
    assert np.allclose(point, [1.0, 0.0])


def test_conditions_that_contradict_have_no_point():
    rows = np.array([[1.0, 0.0], [-1.0, 0.0]])
    point = np.empty(2)
    limits = np.array([0.2, -0.4])
    assert not best_point(rows, limits, np.ones(2), np.zeros(2), np.ones(2), point)
