"""The share of the pad that is seen: from the street and from homes, told apart."""

import numpy as np
import pytest
from made_up_study import box, line, point, write_study

from playsite.study import run

PARCEL = {"A": box(100, 100, 31.7, 22.7)}
STREET = ([line((50, 60), (200, 60))], {"class": ["local"]})
HALL = box(40, 70, 170, 4)


@pytest.fixture
def sight_of(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))

    def measured(houses, kinds, **layers):
        built = (houses, {"kind": kinds, "height_m": [5.0] * len(houses)})
        given = {"streets": STREET, "buildings": built} | layers
        study = 'criteria = ["sight", "neighbours"]'
        file = write_study(tmp_path / "town", PARCEL, layers=given, study=study)
        return run(file).measurements.set_index("criterion")

    return measured


def test_a_hall_between_hides_the_pad_from_the_street(sight_of):
    far = box(350, 350, 10, 8)
    assert sight_of([far], ["other"]).loc["sight", "value"] == 100
    hidden = sight_of([HALL], ["other"]).loc["sight"]
    assert hidden["value"] == 0
    assert "from streets and paths 0 %, from dwellings 0 %" in hidden["note"]
    assert "what trees hide is not known; as if all ground were level" in hidden["note"]


def test_a_home_behind_the_pad_sees_what_the_street_does_not(sight_of):
    found = sight_of([HALL, box(110, 150, 10, 8)], ["other", "dwelling"])
    assert found.loc["sight", "value"] == 100
    assert "from streets and paths 0 %, from dwellings 100 %" in found.loc["sight", "note"]
    # The two pull apart: the home that sees the pad is near it.
    assert found.loc["neighbours", "value"] == pytest.approx(150 - 122.7, abs=0.1)


def test_trees_that_would_have_to_go_hide_nothing(sight_of):
    low = {"crown_m": [12.0], "height_m": [6.0]}
    on_it = sight_of([box(350, 350, 9, 9)], ["other"], trees=([point(116, 111)], low))
    assert on_it.loc["sight", "value"] == 100


def test_without_buildings_sight_is_unknown(tmp_path):
    file = write_study(
        tmp_path / "town", PARCEL, layers={"streets": STREET}, study='criteria = ["sight", "fit"]'
    )
    assert np.isnan(run(file).measurements.set_index("criterion").loc["sight", "value"])
