"""Laws of routes: what more stands never helps, and where the map lies changes nothing."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, box

from playsite.routes.accessible_way import accessible_way
from playsite.routes.closed_off import free_ground
from playsite.routes.truck_way import clear_ways, truck_way, widest_m

PAD = box(-10, -20, 10, 0)
STREET = gpd.GeoSeries([box(-150, 30, 150, 37)])
places = st.tuples(st.floats(-40, 40), st.floats(3, 25), st.floats(1, 15), st.floats(1, 6))
scenes = st.lists(places, min_size=1, max_size=6)


def houses(scene):
    shapes = [box(x, y, x + wide, min(y + deep, 29)) for x, y, wide, deep in scene]
    rows = {"kind": "building", "worth_m": np.inf, "worth_per_m": 0.0}
    return gpd.GeoDataFrame(rows, geometry=shapes, index=range(len(shapes)))


@settings(max_examples=25, deadline=None)
@given(scene=scenes, more=places)
def test_one_more_obstacle_never_widens_nor_shortens(scene, more):
    fewer, all_of_them = houses(scene), houses([*scene, more])
    # Widths are found to 2 cm.
    widths = [widest_m(PAD, STREET, each.geometry, reach_m=60) for each in (fewer, all_of_them)]
    assert widths[1] <= widths[0] + 0.02
    lengths = [truck_way(PAD, STREET, each, reach_m=90).length_m for each in (fewer, all_of_them)]
    assert lengths[1] >= lengths[0] - 1e-6


@settings(max_examples=20, deadline=None)
@given(gate_at=st.floats(-60, 60), other_at=st.floats(-60, 60))
def test_closing_a_gate_never_shortens(gate_at, other_at):
    fence = LineString([(-140, 12), (140, 12)])

    def length_m(*gates):
        holes = shapely.union_all([shapely.Point(x, 12).buffer(2.5) for x in gates])
        own = shapely.get_parts(fence.difference(holes))
        rows = {"kind": "fence", "worth_m": np.inf, "worth_per_m": 0.0}
        standing = gpd.GeoDataFrame(rows, geometry=own, index=range(len(own)))
        return truck_way(PAD, STREET, standing, reach_m=110).length_m

    assert length_m(gate_at) >= length_m(gate_at, other_at) - 1e-6


@settings(max_examples=10, deadline=None)
@given(
    east=st.integers(-300, 300),
    north=st.integers(-300, 300),
    grade=st.sampled_from([0.04, 0.08, 0.12]),
)
def test_moving_the_whole_map_by_whole_lattice_steps_moves_an_accessible_route_along(
    east, north, grade
):
    hill = np.repeat(grade * (139.5 - np.arange(140))[:, None], 140, axis=1)
    here = accessible_way(
        box(60, 40, 80, 60), [box(0, 85, 140, 87)], hill, Affine(1, 0, 0, 0, -1, 140), []
    )
    dx, dy = 2.0 * east, 2.0 * north
    there = accessible_way(
        box(60 + dx, 40 + dy, 80 + dx, 60 + dy),
        [box(dx, 85 + dy, 140 + dx, 87 + dy)],
        hill,
        Affine(1, 0, dx, 0, -1, 140 + dy),
        [],
    )
    assert there.length_m == pytest.approx(here.length_m, abs=1e-3)
    assert shapely.equals_exact(
        shapely.affinity.translate(here.path, dx, dy), there.path, tolerance=1e-6
    )


@settings(max_examples=15, deadline=None)
@given(scene=scenes)
def test_whatever_stands_an_accessible_route_is_no_shorter_than_its_rise_asks_and_keeps_clear(
    scene,
):
    hill = np.repeat(0.06 * (99.5 - np.arange(160))[:, None], 160, axis=1)
    grid = Affine(1, 0, -80, 0, -1, 100)
    shapes = houses(scene).geometry
    way = accessible_way(PAD, STREET, hill, grid, shapes, reach_m=90)
    # 30 m at 6 % are 1.8 m of rise, 36 m at 1:20; each end is met to half a layer of 5 cm
    assert way.length_m >= 36 - 2 * 0.025 * 20 - 1e-6
    if way.path is not None:
        # half of 36 in, on a raster of 25 cm
        assert way.path.distance(shapes.union_all()) > 0.457 - 0.25 * np.sqrt(2)


@settings(max_examples=20, deadline=None)
@given(scene=scenes, far_m=st.sampled_from([30, 300]))
def test_what_is_found_without_a_search_is_what_the_search_finds(scene, far_m):
    standing = houses(scene)
    street = gpd.GeoSeries([box(-150, far_m, 150, far_m + 7)])
    (found,) = clear_ways(gpd.GeoSeries([PAD]), street, standing.geometry.to_numpy())
    searched = truck_way(PAD, street, standing)
    if found is None:
        # Something stands beside the straight way.
        assert searched.widest_m < 7.3 or far_m == 30
        return
    assert found.length_m == pytest.approx(searched.length_m)
    assert found.untouched_m == pytest.approx(searched.untouched_m)
    assert found.widest_m == pytest.approx(searched.widest_m)
    assert (found.path is None) == (searched.path is None) == (far_m == 300)


@settings(max_examples=25, deadline=None)
@given(scene=scenes, more=places)
def test_one_more_obstacle_never_opens_ground(scene, more):
    pads, ends = np.array([PAD]), STREET.to_numpy()
    fewer, all_of_them = (
        free_ground(pads, ends, houses(each).geometry.to_numpy(), clear_m=0.9, reach_m=60)
        for each in (scene, [*scene, more])
    )
    for before, after in zip(fewer, all_of_them, strict=True):
        assert before[0] or not after[0]
