"""The shade criterion: unknown without trees, told in words, held to its contract."""

import numpy as np
import pytest
from made_up_study import box, ground, point, write_elevation, write_study

from playsite.study import run

PARCEL = {"A": box(100, 100, 31.7, 22.7)}


@pytest.fixture
def shade_of(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))

    def measured(layers):
        file = write_study(tmp_path / "town", PARCEL, layers=layers, study='criteria = ["shade"]')
        return run(file)

    return measured


def row(result):
    return result.measurements.set_index("criterion").loc["shade"]


def test_a_tall_row_in_the_west_shades_in_the_afternoon_alone(shade_of):
    stems = [point(94, y) for y in (102, 108, 114, 120)]
    found = row(shade_of({"trees": (stems, {"crown_m": [4.0] * 4, "height_m": [14.0] * 4})}))
    assert 5 < found["value"] < 40
    assert found["low"] == found["value"] == found["high"]
    assert "June 0 %, 1 %, 40 %; September 0 %, " in found["note"]
    assert "along the west side" in found["note"]
    assert "the shade of buildings is not known" in found["note"]


def test_trees_on_the_play_area_would_have_to_go(shade_of):
    crowns = {"crown_m": [5.0] * 2, "height_m": [14.0] * 2}
    result = shade_of({"trees": ([point(110, 110), point(120, 110)], crowns)})
    assert row(result)["value"] == 0
    assert "would have to go and are left out: 2; with them " in row(result)["note"]
    drawn = result.evidence[result.evidence["criterion"] == "shade"]
    assert drawn["label"].eq("a tree that would have to go").sum() == 2


def test_without_a_layer_of_trees_shade_is_unknown_and_not_none(shade_of):
    house = ([box(100, 90, 30, 8)], {"height_m": [6.0]})
    found = shade_of({"buildings": house})
    assert np.isnan(row(found)["value"])
    assert found.unknowns["criterion"].tolist() == ["shade"]


def test_no_tree_near_is_no_shade_and_that_is_known(shade_of):
    far = {"crown_m": [3.0], "height_m": [10.0]}
    assert row(shade_of({"trees": ([point(350, 350)], far)}))["value"] == 0


def with_surface(folder, tops, layers=None, study='criteria = ["shade"]'):
    level = ground(lambda x, y: 50 + 0 * x)
    file = write_study(folder, PARCEL, layers=layers, elevation=level, study=study)
    write_elevation(folder / "tops.tif", tops)
    text = '[layers.surface]\npath = "tops.tif"\nheight_unit = "m"\n'
    file.write_text(file.read_text(encoding="utf-8") + text, encoding="utf-8")
    return run(file)


def grove(base_m=50.0):
    """Crowns 12 m high in the west of the pad, on level ground."""
    return ground(lambda x, y: base_m + 12.0 * ((x > 86) & (x < 94) & (y > 95) & (y < 128)))


def test_a_surface_model_stands_for_trees_and_buildings(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))
    result = with_surface(tmp_path / "town", grove())
    found = row(result)
    assert 5 < found["value"] < 45
    assert "from the surface model: crowns as solid down to the ground" in found["note"]
    assert "along the west side" in found["note"]
    assert len(result.shade) == 6
    # The same crowns in the layer of trees cast no shade twice.
    stems = [point(90, y) for y in (100, 108, 116, 124)]
    trees = {"trees": (stems, {"crown_m": [4.0] * 4, "height_m": [12.0] * 4})}
    assert row(with_surface(tmp_path / "both", grove(), trees))["value"] == found["value"]


def test_a_surface_off_the_ground_or_short_of_the_parcels_is_told(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))
    result = with_surface(tmp_path / "high", grove(62.0))
    said = [f for f in result.findings if f.layer == "surface" and f.weight == "loud"]
    assert said[0].what == "Open ground lies 12.0 m over the elevation."
    half = np.where(np.arange(400) > 115, np.nan, grove())
    result = with_surface(tmp_path / "half", half)
    assert any("It covers" in finding.what for finding in result.findings)
    # Without trees and with too little of the surface nothing is known.
    assert np.isnan(row(result)["value"])


def test_cells_below_the_ground_are_told_and_cast_no_shade(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))
    sunk = ground(lambda x, y: 50.0 - 2.0 * (x < 60))
    result = with_surface(tmp_path / "sunk", sunk)
    assert row(result)["value"] == 0
    assert any("lie more than 0.5 m under the elevation" in f.what for f in result.findings)
