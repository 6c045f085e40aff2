"""Children within the walk: placed by homes, counted once, less those already served."""

import geopandas as gpd
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, box

from playsite.proximity.children import Areas, Families, shares_of_areas
from playsite.proximity.reached import doors_of, homes_reached
from playsite.proximity.walking import walk_m, walk_network

STREET = [LineString([(0, 0), (3000, 0)])]
NOWHERE = gpd.GeoSeries([])


def areas(young, older, margin=0.0):
    young, older = np.asarray(young, float), np.asarray(older, float)
    return Areas(young, older, np.full(len(young), margin), np.full(len(young), margin))


def families(homes, given_areas, *, area=None, lines=STREET, playgrounds=NOWHERE, bridges=None):
    network = walk_network(lines, bridges=bridges)
    area = np.zeros(len(homes), dtype=int) if area is None else np.asarray(area)
    share = shares_of_areas(area, np.ones(len(homes)))
    doors = doors_of(homes, network)
    return Families(given_areas, area, share, doors, network, playgrounds)


def new(found, *places):
    return found.within_walk(list(places), len(places), new_only=True)


def test_young_children_walk_400_m_and_older_ones_800():
    homes = [Point(1000, 0), Point(1300, 0), Point(1500, 0), Point(2000, 0)]
    found = families(homes, areas([40], [80]))
    # Of four homes two lie within 400 m and three within 800 m: 10 and 20 children a home.
    assert new(found, Point(1000, 0)).children == pytest.approx([2 * 10 + 3 * 20])


def test_children_are_placed_by_homes_and_not_at_the_middle_of_their_area():
    # All homes of the area stand at its far end, as far from its middle as the walk is long.
    far = families([Point(2900, 0)] * 2, areas([10], [10]))
    assert new(far, Point(1500, 0)).children == pytest.approx([0])
    assert new(far, Point(2700, 0)).children == pytest.approx([20])


def test_larger_homes_hold_more_of_an_areas_children():
    share = shares_of_areas(np.array([0, 0, 0]), np.array([100.0, 100.0, 800.0]))
    assert share == pytest.approx([0.1, 0.1, 0.8])


def test_those_with_a_playground_within_their_walk_are_not_newly_served():
    homes = [Point(1000, 0), Point(1900, 0)]
    found = families(homes, areas([20], [20]), playgrounds=[Point(700, 0)])
    # The first home is 300 m from the playground, the second 1,200 m.
    assert new(found, Point(1450, 0)).children == pytest.approx([10])
    every = found.within_walk([Point(1450, 0)], 1, new_only=False)
    assert every.children == pytest.approx([20])
    assert found.unserved().children == pytest.approx([20])


def test_a_pad_where_a_playground_is_serves_nobody_new():
    homes = [Point(x, 0) for x in range(0, 3000, 50)]
    found = families(homes, areas([60], [120]), playgrounds=[Point(1500, 0)])
    assert new(found, Point(1500, 0)).children == pytest.approx([0])


def test_a_child_counts_once_whatever_ways_lead_to_its_home():
    # A ring of streets and a path: the home has links to many stretches.
    ring = [
        *STREET,
        LineString([(0, 0), (0, 100), (3000, 100), (3000, 0)]),
        LineString([(1500, 0), (1500, 100)]),
    ]
    found = families([Point(1500, 50)], areas([7], [0]), lines=ring)
    assert new(found, Point(1450, 0)).children == pytest.approx([7])


def test_the_margin_of_a_sum_is_the_root_of_the_sum_of_squares():
    homes = [Point(1000, 0), Point(1010, 0)]
    found = families(homes, areas([30, 40], [0, 0], margin=5.0), area=[0, 1])
    # Four estimates, each with its margin of 5: both bands of both areas.
    assert new(found, Point(1000, 0)).margin == pytest.approx([np.sqrt(4 * 25)])


def test_an_area_whose_children_are_unknown_is_not_an_area_without_children():
    homes = [Point(1000, 0), Point(1010, 0)]
    found = families(homes, areas([30, np.nan], [0, 5]), area=[0, 1])
    counted = new(found, Point(1000, 0))
    assert counted.known_share == pytest.approx([0.5])
    assert counted.children == pytest.approx([30])


def test_nobody_reaches_a_place_off_the_network():
    found = families([Point(1000, 0)], areas([30], [0]))
    counted = new(found, Point(1000, 5000))
    assert counted.children == pytest.approx([0])
    assert np.isnan(counted.known_share[0])


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000))
def test_taking_a_bridge_away_never_adds_a_child(seed):
    rng = np.random.default_rng(seed)
    river = box(-50, 190, 3050, 210)
    banks = [LineString([(0, y), (3000, y)]) for y in (100, 300)]
    at = rng.uniform(100, 2900, rng.integers(1, 4))
    bridges = [LineString([(x, 100), (x, 300)]) for x in at]
    homes = [
        Point(x, y) for x, y in rng.uniform((0, 60), (3000, 340), (30, 2)) if not 185 < y < 215
    ]
    pad = box(1500, 60, 1530, 80)
    counts = []
    for kept in (bridges, bridges[1:]):
        network = walk_network([*banks, *kept], blocked=[river])
        doors = doors_of(homes, network)
        area = np.zeros(len(homes), dtype=int)
        share = shares_of_areas(area, np.ones(len(homes)))
        found = Families(areas([100], [100]), area, share, doors, network, NOWHERE)
        counts.append(new(found, pad).children[0])
    assert counts[1] <= counts[0] + 1e-9


def test_walks_are_those_of_the_walking_module():
    rng = np.random.default_rng(8)
    lines = [LineString([(0, y), (900, y)]) for y in range(0, 901, 150)]
    lines += [LineString([(x, 0), (x, 900)]) for x in range(0, 901, 150)]
    network = walk_network(lines)
    homes = [Point(x, 150 * round(y / 150) + 5) for x, y in rng.uniform(0, 900, (60, 2))]
    pad = box(500, 455, 530, 475)
    doors = doors_of(homes, network, link_m=10)
    _, home, walk = homes_reached([pad], doors, network, within_m=800, link_m=10)
    other = walk_m(homes, [pad], network, link_m=10, paths=False)["walk_m"].to_numpy()[home]
    # That one cuts corners over open ground, here of 5 m at each end.
    assert len(home) > 30
    assert (walk >= other - 1e-6).all()
    assert (walk <= other + 10).all()
