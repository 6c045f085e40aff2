"""The false friends that the gate stands against: units, projections, absence, private doors."""

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import shapely.affinity
from affine import Affine
from pyproj import Geod
from shapely.geometry import LineString, MultiPolygon, Point, box

from playsite.errors import InputError
from playsite.layers import read_layers
from playsite.problems import Problems
from playsite.settings import read_settings

HEAD = """
[study]
title = "A trap"
units = "metres"
[program]
pad = { length = "30 m", width = "20 m" }
[layers.parcels]
path = "parcels.gpkg"
"""
EAST, NORTH, CRS = 500_000.0, 4_427_757.0, "EPSG:32618"  # 75 W, 40 N


def gate(folder, layers=""):
    """Layers and problems of the study in a folder."""
    (folder / "study.toml").write_text(HEAD + layers, encoding="utf-8")
    problems = Problems()
    settings = read_settings(folder, problems)
    return read_layers(settings, problems), [str(problem) for problem in problems.items]


def parcels(folder, shape=None, crs=CRS):
    shape = shape or box(EAST, NORTH, EAST + 100, NORTH + 80)
    frame = gpd.GeoDataFrame({"parcel_id": ["a"]}, geometry=[shape], crs=crs)
    frame.to_file(folder / "parcels.gpkg")


def ramp_in_feet(folder, unit=None):
    """A ramp of 5 %: over 1 m of map it rises 0.05 m, which the file holds as 0.164 ft."""
    heights = np.tile(0.05 * np.arange(200.0) / 0.3048, (200, 1)).astype("float32")
    with rasterio.open(
        folder / "dem.tif", "w", driver="GTiff", width=200, height=200, count=1, dtype="float32",
        crs=CRS, transform=Affine(1, 0, EAST - 50, 0, -1, NORTH + 150),
    ) as opened:  # fmt: skip
        opened.write(heights, 1)
        if unit:
            opened.units = (unit,)


@pytest.mark.parametrize(
    ("unit", "entry"), [(None, 'height_unit = "ft"\n'), ("ft", ""), ("foot", "")]
)
def test_heights_in_feet_on_a_plan_in_metres_are_5_percent_not_16(tmp_path, unit, entry):
    parcels(tmp_path)
    ramp_in_feet(tmp_path, unit)
    layers, problems = gate(tmp_path, f'[layers.elevation]\npath = "dem.tif"\n{entry}')
    assert not problems
    rise = np.diff(layers.elevation.array, axis=1)
    np.testing.assert_allclose(100 * rise / layers.elevation.cell_m, 5.0, atol=0.01)


def test_heights_of_unknown_unit_are_refused_never_guessed(tmp_path):
    parcels(tmp_path)
    ramp_in_feet(tmp_path)
    layers, problems = gate(tmp_path, '[layers.elevation]\npath = "dem.tif"\n')
    assert layers.elevation is None
    (told,) = problems
    assert "doesn't say whether its heights are feet or metres" in told
    assert 'height_unit = "m"' in told


def test_areas_of_a_web_map_at_40_degrees_are_brought_down_by_1_70(tmp_path):
    ring = box(-75.0, 40.0, -74.9988, 40.0009)
    on_ground_m2 = abs(Geod(ellps="WGS84").geometry_area_perimeter(ring)[0])
    on_web_map = gpd.GeoSeries([ring], crs=4326).to_crs(3857)
    assert on_web_map.area.iloc[0] / on_ground_m2 == pytest.approx(1.70, abs=0.01)
    parcels(tmp_path, on_web_map.iloc[0], crs=3857)
    layers, problems = gate(tmp_path)
    assert not problems
    assert layers.parcels.area.iloc[0] == pytest.approx(on_ground_m2, rel=1e-3)
    (said,) = [str(f) for f in layers.findings if "times what they are" in str(f)]
    assert "Pseudo-Mercator" in said
    assert "1.31 times" in said


def test_every_layer_is_brought_to_the_one_system(tmp_path):
    parcels(tmp_path)
    tree = gpd.GeoSeries([Point(EAST + 30, NORTH + 30)], crs=CRS)
    text = ""
    for name, crs in {"degrees": 4326, "web": 3857, "feet": 2272, "other": 26917}.items():
        gpd.GeoDataFrame(geometry=tree.to_crs(crs)).to_file(tmp_path / f"{name}.gpkg")
        text += f'[[layers.trees]]\npath = "{name}.gpkg"\n'
    layers, problems = gate(tmp_path, text)
    assert not problems
    trees = layers.get("trees")
    assert trees.crs == layers.crs
    assert len(trees) == 4
    # NAD83 and WGS 84 are up to a metre or two apart where no exact transformation is at hand.
    assert trees.distance(tree.iloc[0]).max() < 2


def test_no_feature_in_a_layer_is_not_no_layer(tmp_path):
    parcels(tmp_path)
    far = box(EAST + 20_000, NORTH, EAST + 20_010, NORTH + 10)
    gpd.GeoDataFrame(geometry=[far], crs=CRS).to_file(tmp_path / "water.gpkg")
    layers, _ = gate(tmp_path, '[layers.water]\npath = "water.gpkg"\n')
    assert len(layers.get("water")) == 0
    assert layers.get("trees") is None
    said = [str(finding) for finding in layers.findings]
    assert any("water.gpkg holds nothing near the parcels" in each for each in said)
    assert any("no layer of trees" in each for each in said)


def test_a_toilet_in_a_locked_school_is_no_restroom(tmp_path):
    parcels(tmp_path)
    shapes = [Point(EAST + 20, NORTH), Point(EAST + 900, NORTH)]
    frame = gpd.GeoDataFrame({"access": ["private", "yes"]}, geometry=shapes, crs=CRS)
    frame.to_file(tmp_path / "wc.gpkg")
    layers, _ = gate(tmp_path, '[layers.restrooms]\npath = "wc.gpkg"\n')
    assert layers.get("restrooms")["is_public"].tolist() == [False, True]


def test_a_centre_line_is_not_where_traffic_ends(tmp_path):
    parcels(tmp_path)
    line = LineString([(EAST - 500, NORTH - 20), (EAST + 500, NORTH - 20)])
    frame = gpd.GeoDataFrame({"lanes": [5]}, geometry=[line], crs=CRS)
    frame.to_file(tmp_path / "streets.gpkg")
    layers, _ = gate(tmp_path, '[layers.streets]\npath = "streets.gpkg"\n')
    streets = layers.get("streets")
    parcel = layers.parcels.geometry.iloc[0]
    assert streets.distance(parcel).iloc[0] == 20
    # Five lanes of 3.5 m: 20 - 8.75.
    assert streets["pavement"].distance(parcel).iloc[0] == pytest.approx(11.25, abs=0.05)


def test_a_repair_loses_no_land(tmp_path):
    # Two squares of 20 m that share 10 x 10: 400 + 400 - 100 square metres of land. The usual
    # repair takes what both cover for a hole, and is 100 short.
    one = box(EAST, NORTH, EAST + 20, NORTH + 20)
    both = MultiPolygon([one, shapely.affinity.translate(one, 10, 10)])
    assert not both.is_valid
    assert shapely.make_valid(both).area == pytest.approx(600)
    parcels(tmp_path, both)
    layers, _ = gate(tmp_path)
    assert layers.parcels.area.iloc[0] == pytest.approx(700)


def test_missing_everything_is_one_list_and_no_traceback(tmp_path):
    with pytest.raises(InputError) as caught:
        gate(tmp_path, '[layers.elevation]\npath = "dem.tif"\n[layers.river]\npath = "r.gpkg"\n')
    said = [str(problem) for problem in caught.value.problems]
    assert any("parcels.gpkg" in each for each in said)
    assert any("dem.tif" in each for each in said)
    assert any('no kind of layer "river"' in each for each in said)
