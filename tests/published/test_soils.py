"""Hydrologic soil groups against the two published scales; each value with its source."""

import itertools
import math

import pytest

from playsite.terrain.soil_rates import (
    NEH_DEEP,
    NEH_SHALLOW,
    TR55,
    governing_group,
    group_of_layers,
)

IN_PER_H = 0.0254 / 3600


# USDA TR-55 (1986), appendix A, read in public files that quote it: "greater than 0.30 in/hr",
# B 0.15 to 0.30, C 0.05 to 0.15, D 0 to 0.05 in/h.
@pytest.mark.parametrize(
    ("in_per_h", "group"),
    [(0.31, "A"), (0.30, "B"), (0.16, "B"), (0.14, "C"), (0.06, "C"), (0.04, "D"), (0, "D")],
)
def test_tr_55_groups_by_rate(in_per_h, group):
    assert TR55.group(in_per_h * IN_PER_H) == group


# NEH 630 chapter 7 (2009), table 7-1, from memory: the handbook gives each break in um/s and in/h.
@pytest.mark.parametrize(
    ("scale", "group", "um_per_s", "in_per_h"),
    [
        (NEH_DEEP, "A", 10, 1.42),
        (NEH_DEEP, "B", 4, 0.57),
        (NEH_DEEP, "C", 0.4, 0.06),
        (NEH_SHALLOW, "A", 40, 5.67),
        (NEH_SHALLOW, "B", 10, 1.42),
        (NEH_SHALLOW, "C", 1, 0.14),
    ],
)
def test_neh_630_breaks_agree_in_both_of_its_units(scale, group, um_per_s, in_per_h):
    least_m_s, _ = scale.rates_m_s(group)
    assert least_m_s == pytest.approx(um_per_s * 1e-6)
    assert round(least_m_s / IN_PER_H, 2) == in_per_h
    assert scale.group(least_m_s * 1.01) == group
    assert scale.group(least_m_s) != group


@pytest.mark.parametrize(
    ("um_per_s", "layer_m", "water_table_m", "group"),
    [
        (50, 0.4, 9, "D"),  # whatever its rate: rock or pan above 50 cm
        (50, 2, 2, "A"),
        (20, 2, 2, "A"),
        (20, 0.8, 2, "B"),
        (20, 2, 0.8, "B"),
        (20, 2, 0.5, "A/D"),
        (20, 0.8, 0.5, "B/D"),
        (0.3, 2, 0.5, "D"),
        (0.3, 2, 2, "D"),
        (0.6, 2, 2, "C"),
        (0.6, 0.8, 2, "D"),
    ],
)
def test_neh_630_table_7_1_by_depths(um_per_s, layer_m, water_table_m, group):
    got = group_of_layers(um_per_s * 1e-6, layer_m=layer_m, water_table_m=water_table_m)
    assert got == group


def test_the_scales_disagree_so_each_carries_its_own_source():
    assert TR55.source != NEH_DEEP.source
    assert "from memory" in NEH_DEEP.source
    between = 0.6 * IN_PER_H  # between 0.30 and 1.42 in/h
    assert (TR55.group(between), NEH_DEEP.group(between)) == ("A", "B")


def test_groups_of_one_scale_meet_without_a_gap():
    for scale in (TR55, NEH_DEEP, NEH_SHALLOW):
        bounds = [scale.rates_m_s(group) for group in "ABCD"]
        assert bounds[0][1] == math.inf
        assert bounds[3][0] == 0
        assert all(faster[0] == slower[1] for faster, slower in itertools.pairwise(bounds))


def test_what_is_missing_or_wrong_is_told():
    assert TR55.group(math.nan) is None
    assert group_of_layers(math.nan, layer_m=2, water_table_m=2) is None
    assert group_of_layers(1e-6, layer_m=2, water_table_m=math.nan) is None
    with pytest.raises(ValueError, match="0 or more"):
        TR55.group(-1e-6)
    with pytest.raises(ValueError, match="none of the groups"):
        TR55.rates_m_s("B/D")
    for wrong in ("E", "A/B", "D/D", ""):
        with pytest.raises(ValueError, match="no hydrologic soil group"):
            governing_group(wrong)
    assert [governing_group(g) for g in ("a", "B/D", "c / d", "D")] == ["A", "D", "D", "D"]
