"""The share of the pad that is seen: from the street and from homes, told apart."""

from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pytest
import shapely
from made_up_study import box, line, point, write_study

from playsite.criteria.sight import CRITERION
from playsite.site import Site
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


def sharpness(away_m):
    """Full to 25 m, where faces are told, none from 100 m, where people no longer are."""
    return np.clip((100 - away_m) / 75, 0, 1)


def by_the_street_pct():
    """Mean over the pad of the street in sight, by hand: 200 m of it are the whole half of passers-by."""
    x, y = np.meshgrid(np.linspace(100, 131.7, 40), np.linspace(100, 122.7, 40))
    along = np.linspace(50, 200, 601)[:, None, None]
    metres = sharpness(np.hypot(x - along, y - 60)).mean(axis=0) * 150
    return 50 * np.minimum(metres / 200, 1).mean()


def test_a_hall_between_hides_the_pad_from_the_street(sight_of):
    far = box(350, 350, 10, 8)
    seen = sight_of([far], ["other"]).loc["sight"]
    # children stand each 4 m, eyes each 10 m
    assert seen["value"] == pytest.approx(by_the_street_pct(), abs=1.5)
    assert "somebody sees 100 % of it" in seen["note"]
    hidden = sight_of([HALL], ["other"]).loc["sight"]
    assert hidden["value"] == 0
    assert (
        "somebody sees 0 % of it; from streets and paths 0 %, dwellings that see some of it: 0"
        in hidden["note"]
    )
    assert "what trees hide is not known; as if all ground were level" in hidden["note"]


def test_a_street_drawn_as_an_area_is_seen_from_along_its_edge(sight_of):
    area = ([box(50, 57, 150, 6)], {"class": ["local"]})
    seen = sight_of([box(350, 350, 10, 8)], ["other"], streets=area).loc["sight"]
    assert seen["value"] >= by_the_street_pct() - 1.5


def test_a_home_behind_the_pad_sees_what_the_street_does_not(sight_of):
    found = sight_of([HALL, box(110, 150, 10, 8)], ["other", "dwelling"])
    x, y = np.meshgrid(np.linspace(100, 131.7, 40), np.linspace(100, 122.7, 40))
    away_m = np.hypot(x - np.clip(x, 109.7, 120.3), y - 149.7)
    # one of the five dwellings that are the whole half of those who live there
    expected = 50 * (sharpness(away_m) / 5).mean()
    assert found.loc["sight", "value"] == pytest.approx(expected, abs=1)
    assert (
        "from streets and paths 0 %, dwellings that see some of it: 1" in found.loc["sight", "note"]
    )
    # The two pull apart: the home that sees the pad is near it.
    assert found.loc["neighbours", "value"] == pytest.approx(150 - 122.7, abs=0.1)


def test_more_eyes_never_lower_it_and_homes_alone_fill_their_half(sight_of):
    homes = [box(60 + 25 * (k % 4), 126 + 12 * (k // 4), 12, 8) for k in range(8)]
    street = by_the_street_pct()
    values = [
        sight_of(homes[:count], ["dwelling"] * count).loc["sight", "value"] for count in (1, 4, 8)
    ]
    assert values == sorted(values)
    assert values[0] > street
    assert values[-1] <= street + 50 + 1.5


def test_trees_that_would_have_to_go_hide_nothing(sight_of):
    low = {"crown_m": [12.0], "height_m": [6.0]}
    on_it = sight_of([box(350, 350, 9, 9)], ["other"], trees=([point(116, 111)], low))
    assert on_it.loc["sight", "value"] == pytest.approx(by_the_street_pct(), abs=1.5)


def test_of_two_areas_the_best_seat_is_told():
    flat = Site(SimpleNamespace(crs="EPSG:32618", get=lambda kind: None, elevation=None))
    pads = gpd.GeoDataFrame(
        {"pad_id": [0]},
        geometry=[shapely.union(box(0, 0, 10, 10), box(14, 0, 10, 10))],
        crs="EPSG:32618",
    ).set_index("pad_id")
    note = CRITERION.measure(pads, flat).note.iloc[0]
    # From the gap between them every child stands within 25 m.
    assert "from the best seat on its edge 100 % and 100 % of its areas within 25 m" in note


def test_without_buildings_sight_is_unknown(tmp_path):
    file = write_study(
        tmp_path / "town", PARCEL, layers={"streets": STREET}, study='criteria = ["sight", "fit"]'
    )
    assert np.isnan(run(file).measurements.set_index("criterion").loc["sight", "value"])
