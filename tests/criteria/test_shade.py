"""Shade, first version: crowns and what lies north-east of them."""

import numpy as np
import pytest
from made_up_study import box, point, write_study

from playsite.study import run


@pytest.fixture
def shade_pct(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))

    def measured(trees, columns):
        layers = {"trees": (trees, columns)}
        parcel = {"A": box(100, 100, 31.7, 22.7)}
        file = write_study(tmp_path / "town", parcel, layers=layers, study='criteria = ["shade"]')
        return run(file).measurements.set_index("criterion").loc["shade", "value"]

    return measured


def test_a_crown_in_the_middle_shades_its_disc_and_its_shadow(shade_pct):
    # A disc of 3 m swept 0.6 x 10 m to the north-east: pi r^2 + 2 r x 6 = 64.3 m2 of 719.6.
    got = shade_pct([point(110, 108)], {"crown_m": [3.0], "height_m": [10.0]})
    assert got == pytest.approx(100 * (np.pi * 9 + 6 * 6) / (31.7 * 22.7), rel=0.02)


def test_shade_falls_north_east_not_south_west(shade_pct):
    height = {"crown_m": [3.0], "height_m": [12.0]}
    assert shade_pct([point(96, 96)], height) > 0
    assert shade_pct([point(136, 127)], height) == 0


def test_overlapping_crowns_count_once(shade_pct):
    one = shade_pct([point(110, 108)], {"crown_m": [3.0], "height_m": [10.0]})
    two = shade_pct([point(110, 108)] * 2, {"crown_m": [3.0] * 2, "height_m": [10.0] * 2})
    assert two == pytest.approx(one)


def test_no_tree_near_is_no_shade_and_that_is_known(shade_pct):
    assert shade_pct([point(350, 350)], {"crown_m": [3.0], "height_m": [10.0]}) == 0
