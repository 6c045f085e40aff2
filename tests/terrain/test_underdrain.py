import itertools

import pytest

from playsite.terrain.soil_rates import GROUPS
from playsite.terrain.underdrain import pipe_advice


def test_each_group_and_outlet_has_its_own_advice():
    first = {
        pipe_advice(group, has_outlet=has_outlet, water_table_m=2)[0]
        for group, has_outlet in itertools.product(GROUPS, (True, False))
    }
    assert len(first) == 8


@pytest.mark.parametrize("group", [*GROUPS, None, "B/D"])
@pytest.mark.parametrize("has_outlet", [True, False])
def test_high_groundwater_rules_over_the_soil(group, has_outlet):
    wet = pipe_advice(group, has_outlet=has_outlet, water_table_m=0.5)
    assert wet == pipe_advice("D", has_outlet=has_outlet, water_table_m=2)


def test_a_double_group_is_as_good_as_its_first_letter_only_where_it_can_be_drained():
    assert pipe_advice("B/D", has_outlet=True) == pipe_advice("B", has_outlet=True)
    assert pipe_advice("B/D", has_outlet=False) == pipe_advice("D", has_outlet=False)


def test_sand_over_shallow_groundwater_takes_no_water_untested():
    assert (
        pipe_advice("A", has_outlet=False, water_table_m=0.8)[0]
        == pipe_advice("B", has_outlet=False)[0]
    )
    assert "24 hours" in pipe_advice("A", has_outlet=False, water_table_m=1.5)[0]


def test_what_is_not_known_is_said():
    assert "not known" in pipe_advice(None, has_outlet=True)[0]
    assert "not known" in pipe_advice("A", has_outlet=None)[0]
    assert "groundwater is not known" in pipe_advice("A", has_outlet=True)[-1]
    assert not any(
        "not known" in line for line in pipe_advice("A", has_outlet=True, water_table_m=3)
    )


def test_a_closed_curb_without_an_outlet_is_a_tub():
    assert any(
        "like a tub" in line for line in pipe_advice("C", has_outlet=False, closed_curb=True)
    )
    assert any(
        "must be drained" in line for line in pipe_advice("C", has_outlet=True, closed_curb=True)
    )
    assert not any("curb" in line for line in pipe_advice("C", has_outlet=True))


def test_an_unknown_letter_is_refused():
    with pytest.raises(ValueError, match="'E'"):
        pipe_advice("E", has_outlet=True)
