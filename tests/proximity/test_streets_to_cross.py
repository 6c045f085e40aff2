"""Busy streets, motorways and rails: who crosses where, against networkx on random streets."""

import itertools

import networkx as nx
import numpy as np
import pytest
import shapely
from shapely import LineString, Point, box

from playsite.proximity.loose_parts import loose_finding, loose_parts
from playsite.proximity.streets_to_cross import by_rules
from playsite.proximity.walking import walk_m, walk_network

MAIN = LineString([(0, 0), (400, 0)])
NORTH, SOUTH = Point(200, 5), Point(200, -5)


def walk(lines, *, roads, start=NORTH, stop=SOUTH, blocked=None, link_m=10.0, **rules):
    network = by_rules(walk_network(lines, roads=roads, blocked=blocked), **rules)
    return walk_m([start], [stop], network, link_m=link_m).iloc[0]


class TestBusyStreet:
    """Straight over is 10 m; the next place to cross is farther."""

    def test_without_rules_people_cross_anywhere(self):
        assert walk([MAIN], roads=[True]).walk_m == pytest.approx(10)

    def test_only_round_the_end_where_nothing_joins(self):
        row = walk([MAIN], roads=[True], busy=[True])
        assert row.walk_m == pytest.approx(5 + 200 + 200 + 5)
        assert row.path.length == pytest.approx(410)
        assert row.crossings == 0

    def test_where_a_path_goes_across(self):
        path = LineString([(250, -9), (250, 9)])
        row = walk([MAIN, path], roads=[True, False], busy=[True, False])
        assert row.walk_m == pytest.approx(5 + 50 + 50 + 5)
        assert (row.crossings, row.marked) == (1, 1)
        assert (row.from_link_m, row.to_link_m) == (5, 5)

    def test_where_a_street_joins_from_one_side(self):
        side = LineString([(250, 0), (250, 90)])
        row = walk([MAIN, side], roads=[True, True], busy=[True, False])
        assert row.walk_m == pytest.approx(110)
        assert (row.crossings, row.marked) == (1, 0)

    def test_a_junction_may_count_for_more_and_is_part_of_the_walk(self):
        side = LineString([(250, 0), (250, 90)])
        given = {"roads": [True, True], "busy": [True, False]}
        row = walk([MAIN, side], **given, junction_m=60)
        assert row.walk_m == pytest.approx(170)
        assert row.path.length == pytest.approx(110)
        assert walk([MAIN, side], **given, junction_m=np.inf).walk_m == pytest.approx(410)

    def test_a_mapped_crossing_near(self):
        given = {"roads": [True], "busy": [True]}
        row = walk([MAIN], **given, crossings=[Point(230, 1)])
        assert row.walk_m == pytest.approx(10 + 2 * 30, abs=2 * 10)
        assert row.marked == 1
        assert walk([MAIN], **given, crossings=[Point(230, 11)]).walk_m == pytest.approx(410)

    def test_elsewhere_at_a_penalty(self):
        row = walk([MAIN], roads=[True], busy=[True], elsewhere_m=100)
        assert row.walk_m == pytest.approx(110)
        assert (row.crossings, row.marked) == (1, 0)

    def test_a_gap_in_digitising_is_no_crossing(self):
        lines = [LineString([(0, 0), (210, 0)]), LineString([(210.3, 0), (400, 0)])]
        row = walk(lines, roads=[True, True], busy=[True, True])
        assert row.walk_m == pytest.approx(410, abs=0.1)

    def test_a_bend_keeps_its_sides(self):
        bend = LineString([(0, 0), (200, 0), (200, 200)])
        inside, outside = Point(195, 5), Point(205, -5)
        row = walk([bend], roads=[True], start=inside, stop=outside, busy=[True])
        # each link cuts to the nearest end of a stretch of 10 m
        assert row.walk_m == pytest.approx(np.hypot(5, 5) + 190 + 200 + np.hypot(5, 5))

    def test_under_a_bridge_nobody_crosses_anything(self):
        under = LineString([(200, -50), (200, 50)])
        network = walk_network([MAIN, under], bridges=[False, True], roads=[True, False])
        rules = by_rules(network, busy=[True, False])
        row = walk_m([Point(200, 50)], [Point(200, -50)], rules, link_m=1).iloc[0]
        assert row.walk_m == pytest.approx(100)
        assert row.crossings == 0


class TestClosed:
    """Motorways, steps and rails."""

    def test_nobody_walks_along_a_motorway_or_over_it(self):
        row = walk([MAIN], roads=[True], start=Point(0, 5), stop=Point(400, 5), closed=[True])
        assert np.isnan(row.walk_m)
        assert row.note == "no streets or paths to walk along"
        beside = LineString([(0, 20), (400, 20)])
        given = {"roads": [True, False], "closed": [True, False], "link_m": 60}
        row = walk([MAIN, beside], **given)
        assert row.walk_m == np.inf
        over = LineString([(300, 20), (300, -20)])
        row = walk([MAIN, beside, over], roads=[True, False, False], closed=[1, 0, 0], link_m=9)
        assert row.walk_m == np.inf  # the pad's own link is too short, the path is 15 m off
        row = walk([MAIN, beside, over], roads=[True, False, False], closed=[1, 0, 0], link_m=100)
        assert 200 < row.walk_m < 220

    def test_rails_are_crossed_only_by_a_way(self):
        rail = LineString([(-500, 0), (500, 0)])
        paths = [LineString([(0, 9), (300, 9)]), LineString([(0, -9), (300, -9)])]
        assert walk(paths, roads=[False] * 2).walk_m == pytest.approx(10)
        assert walk(paths, roads=[False] * 2, walls=[rail]).walk_m == np.inf
        way = LineString([(300, 9), (300, -9)])
        row = walk([*paths, way], roads=[False] * 3, walls=[rail])
        assert row.walk_m == pytest.approx(4 + 100 + 18 + 100 + 4)

    def test_a_way_without_steps_is_longer(self):
        steps = LineString([(0, 0), (0, 40)])
        ramp = LineString([(0, 0), (60, 0), (60, 40), (0, 40)])
        given = {"roads": [False, False], "start": Point(0, 0), "stop": Point(0, 40), "link_m": 1}
        assert walk([steps, ramp], **given).walk_m == pytest.approx(40)
        assert walk([steps, ramp], **given, closed=[True, False]).walk_m == pytest.approx(160)


def comb(seed):
    """A busy street of 300 m, and teeth that join it from above, below or both, some with a path."""
    rng = np.random.default_rng(seed)
    x = np.sort(rng.choice(np.arange(20, 281, 20), 7, replace=False)).astype(float)
    up, down = rng.random(7) < 0.6, rng.random(7) < 0.6
    return rng, x, up | ~down, down


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize(("junction_m", "elsewhere_m"), [(0, np.inf), (70, np.inf), (30, 120)])
def test_walks_over_a_busy_street_against_networkx(seed, junction_m, elsewhere_m):
    rng, x, up, down = comb(seed)
    is_path = rng.random(len(x)) < 0.5
    lines, roads = [LineString([(0, 0), (300, 0)])], [True]
    reference = nx.Graph()
    places = np.arange(0, 301, 10.0)  # the network has a node each 10 m
    for side in (1, -1):
        nx.add_path(reference, [(p, side) for p in places], weight=10)
    for p in (0.0, 300.0):
        reference.add_edge((p, 1), (p, -1), weight=0)
    counts_m = dict.fromkeys(places[1:-1], elsewhere_m)
    for at, above, below, path in zip(x, up, down, is_path, strict=True):
        for side, there in ((1, above), (-1, below)):
            if there:
                lines.append(LineString([(at, 0), (at, side * 50)]))
                roads.append(not path)
                reference.add_edge((at, side), (at, side * 50), weight=50)
        counts_m[at] = 0 if path and above and below else junction_m
    for p, over_m in counts_m.items():
        if np.isfinite(over_m):
            reference.add_edge((p, 1), (p, -1), weight=over_m)
    teeth = [(at, s * 50) for at, a, b in zip(x, up, down, strict=True) for s in (a, -int(b)) if s]
    network = by_rules(
        walk_network(lines, roads=roads),
        busy=[True] + [False] * (len(lines) - 1),
        junction_m=junction_m,
        elsewhere_m=elsewhere_m,
    )
    for goal in teeth:
        expected = nx.single_source_dijkstra_path_length(reference, goal)
        table = walk_m([Point(t) for t in teeth], [Point(goal)], network, link_m=0)
        np.testing.assert_allclose(table.walk_m, [expected[t] for t in teeth], atol=1e-6)


@pytest.mark.parametrize("seed", range(6))
def test_laws_of_crossings(seed):
    rng = np.random.default_rng(seed)
    lines = [LineString(rng.uniform(0, 300, (3, 2))) for _ in range(12)]
    busy = rng.random(12) < 0.5
    origins, goals = (shapely.points(rng.uniform(0, 300, (15, 2))) for _ in range(2))
    plain = walk_network(lines, roads=[True] * 12)

    def walks(**rules):
        table = walk_m(origins, goals[:3], by_rules(plain, **rules), link_m=60)
        return np.nan_to_num(table.walk_m.to_numpy(), nan=np.inf)

    free = walks()
    strict = walks(busy=busy, junction_m=np.inf)
    some = walks(busy=busy, junction_m=40)
    usual = walks(busy=busy)
    crossed = walks(busy=busy, crossings=shapely.points(rng.uniform(0, 300, (40, 2))))
    shut = walks(busy=busy, closed=rng.random(12) < 0.2)
    in_order = [free, crossed, usual, some, strict]
    for less, more in itertools.pairwise(in_order):
        assert np.all(less <= more + 1e-5)
    assert np.all(usual <= shut + 1e-5)
    assert (strict > free + 1).any()


def test_a_walk_has_a_longest_length():
    street = walk_network([LineString([(0, 0), (900, 0)])])
    table = walk_m([Point(0, 0), Point(700, 0)], [Point(900, 0)], street, link_m=1, reach_m=300)
    assert table.walk_m.tolist() == [np.inf, 200]
    assert table.note[0] == "no way along streets and paths within 300 m"
    with pytest.raises(ValueError, match="longest walk"):
        walk_m([], [], street, reach_m=-1)


def test_parts_that_hang_loose_are_told():
    lines = [LineString([(0, 0), (500, 0)]), LineString([(0, 9), (80, 9)]), box(0, 20, 5, 25)]
    network = walk_network(lines)
    assert loose_parts(network).length_m.tolist() == [80, 20]
    told = str(loose_finding(network))
    assert "hang loose: 2, 16.7%" in told
    assert loose_finding(network).weight == "caution"
    assert loose_finding(walk_network(lines[:1])) is None
    assert loose_finding(walk_network([])) is None
    # A motorway that is closed cuts what lay beyond it off.
    cut = by_rules(walk_network([*lines[:1], LineString([(500, 0), (500, 99)])]), closed=[0, 1])
    assert loose_finding(cut) is None


def test_refusals():
    network = walk_network([MAIN, LineString([(0, 0), (0, 9)])])
    with pytest.raises(ValueError, match="One mark for each line"):
        by_rules(network, busy=[True])
    with pytest.raises(ValueError, match="0 m or more"):
        by_rules(network, busy=[True, False], junction_m=-1)


def test_no_link_slips_over_where_a_side_street_begins():
    # The side street lies north; from the south its first point is also on the busy street.
    side = LineString([(250, 0), (250, 90)])
    given = {"roads": [True, True], "busy": [True, False], "junction_m": np.inf, "link_m": 60}
    south, north = Point(250, -5), Point(250, 60)
    row = walk([MAIN, side], start=south, stop=north, **given)
    assert row.walk_m == pytest.approx(5 + 150 + 150 + 60, abs=10)
    assert walk([MAIN, side], start=north, stop=north, **given).walk_m == 0
