"""The false friends of distance: each gives a plausible number by the wrong way."""

import itertools

import geopandas as gpd
import numpy as np
import pytest
from shapely import LineString, MultiPolygon, Point, Polygon, box

from playsite.proximity.between import open_clearance_m
from playsite.proximity.clearance import clearance_m, clearances, nearest
from playsite.proximity.dash import dash_m
from playsite.proximity.walking import walk_m, walk_network

RIVER = box(-2000, 20, 2000, 45)
NEAR_BANK = LineString([(-600, 10), (600, 10)])
FAR_BANK = LineString([(-600, 55), (600, 55)])
BRIDGE = LineString([(400, 10), (400, 55)])
PAD = box(-10, -15, 10, 5)
RESTROOM = Point(0, 55)


def one(frame):
    return frame.iloc[0]


class TestRiver:
    """A restroom 50 m off across a river, the bridge 400 m away."""

    def test_walk_goes_by_the_bridge(self):
        network = walk_network(
            [NEAR_BANK, FAR_BANK, BRIDGE], bridges=[False, False, True], blocked=[RIVER]
        )
        row = one(walk_m([PAD], [RESTROOM], network, link_m=5))
        assert row.straight_m == 50
        # by hand: 5 m to the path, 390 m along it, 45 m over, 400 m back
        assert row.walk_m == pytest.approx(5 + 390 + 45 + 400)
        assert row.path.length == pytest.approx(row.walk_m)
        assert row.path.distance(Point(400, 30)) == 0

    def test_links_over_open_ground_cut_corners_but_never_the_river(self):
        network = walk_network(
            [NEAR_BANK, FAR_BANK, BRIDGE], bridges=[False, False, True], blocked=[RIVER]
        )
        row = one(walk_m([PAD], [RESTROOM], network))
        assert 780 < row.walk_m <= 840
        assert not row.path.difference(BRIDGE.buffer(1)).intersects(RIVER.buffer(-0.1))

    def test_without_the_bridge_it_cannot_be_reached(self):
        network = walk_network([NEAR_BANK, FAR_BANK], blocked=[RIVER])
        row = one(walk_m([PAD], [RESTROOM], network))
        assert row.walk_m == np.inf
        assert row.straight_m == 50
        assert row.target is None
        assert row.path is None
        assert row.note == "no way along streets and paths"

    def test_a_river_given_only_for_the_links_counts_too(self):
        network = walk_network([NEAR_BANK, FAR_BANK])
        assert one(walk_m([PAD], [RESTROOM], network)).walk_m == 50
        assert one(walk_m([PAD], [RESTROOM], network, blocked=[RIVER])).walk_m == np.inf


class TestCrossings:
    """Lines that cross on paper join on the ground, unless one passes over the other."""

    PATH = LineString([(0, -100), (0, 100)])
    STREET = LineString([(-100, 0), (100, 0)])

    def walk(self, **options):
        network = walk_network([self.PATH, self.STREET], **options)
        return one(walk_m([Point(0, 100)], [Point(100, 0)], network, link_m=1)).walk_m

    def test_crossing_lines_join(self):
        assert self.walk() == pytest.approx(200)

    def test_a_bridge_passes_over(self):
        assert self.walk(bridges=[True, False]) == np.inf
        assert self.walk(bridges=[True, True]) == np.inf

    def test_levels_join_among_themselves(self):
        assert self.walk(bridges=[1, 1]) == pytest.approx(200)
        assert self.walk(bridges=[1, -1]) == np.inf

    def test_missing_marks_are_ground(self):
        assert self.walk(bridges=[None, np.nan]) == pytest.approx(200)

    def test_the_end_of_a_bridge_lands_on_a_street(self):
        over = LineString([(0, 0), (0, 100)])
        network = walk_network([over, self.STREET], bridges=[True, False])
        row = one(walk_m([Point(0, 100)], [Point(100, 0)], network, link_m=1))
        assert row.walk_m == pytest.approx(200)

    def test_two_pieces_of_a_bridge_do_not_land_where_they_meet(self):
        pieces = [LineString([(0, -100), (0, 0)]), LineString([(0, 0), (0, 100)])]
        network = walk_network([*pieces, self.STREET], bridges=[True, True, False])
        table = walk_m([Point(0, 100)], [Point(100, 0)], network, link_m=1)
        assert one(table).walk_m == np.inf
        table = walk_m([Point(0, 100)], [Point(0, -100)], network, link_m=1)
        assert one(table).walk_m == pytest.approx(200)

    def test_a_bridge_joins_at_a_vertex_it_ends_on_though_another_piece_goes_on(self):
        pieces = [LineString([(0, -100), (0, 0)]), LineString([(0, 0), (0, 100)])]
        street = LineString([(-100, 0), (0, 0), (100, 0)])
        network = walk_network([*pieces, street], bridges=[True, True, False])
        table = walk_m([Point(0, 100)], [Point(100, 0)], network, link_m=1)
        assert one(table).walk_m == pytest.approx(200)

    def test_a_line_that_crosses_itself_joins_itself(self):
        loop = LineString([(0, 0), (100, 0), (100, 50), (50, 50), (50, -50)])
        row = one(walk_m([Point(0, 0)], [Point(50, -50)], walk_network([loop]), link_m=1))
        assert row.walk_m == pytest.approx(100)
        spiral = walk_network([loop], bridges=[True])
        row = one(walk_m([Point(0, 0)], [Point(50, -50)], spiral, link_m=1))
        assert row.walk_m == pytest.approx(300)


class TestGaps:
    """Digitised ends that don't quite meet."""

    def walk(self, gap_m, **options):
        lines = [LineString([(0, 0), (100, 0)]), LineString([(100 + gap_m, 0), (200, 0)])]
        table = walk_m([Point(0, 0)], [Point(200, 0)], walk_network(lines, **options), link_m=1)
        return one(table).walk_m

    def test_a_small_gap_is_closed_and_its_length_kept(self):
        assert self.walk(0.4) == pytest.approx(200)

    def test_a_wide_gap_is_not(self):
        assert self.walk(0.6) == np.inf
        assert self.walk(0.6, snap_m=1) == pytest.approx(200)

    def test_an_end_short_of_a_street_joins_its_middle(self):
        lines = [LineString([(-50, 0), (50, 0)]), LineString([(3, 0.3), (3, 80)])]
        row = one(walk_m([Point(3, 80)], [Point(50, 0)], walk_network(lines), link_m=0.1))
        assert row.walk_m == pytest.approx(80 + 47)

    def test_short_pieces_do_not_collapse_into_one_point(self):
        # joining every end within 0.5 m of another would shrink this street to nothing
        x = np.arange(0, 200.1, 0.4)
        pieces = [LineString([(a, 0), (b, 0)]) for a, b in itertools.pairwise(x)]
        row = one(walk_m([Point(0, 0)], [Point(200, 0)], walk_network(pieces), link_m=0.1))
        assert row.walk_m == pytest.approx(200)


class TestZeroesAndDoubles:
    """Sparse matrices lose zeros and add up doubles."""

    def test_targets_on_a_node_and_on_each_other(self):
        network = walk_network([LineString([(0, 0), (100, 0)])], roads=[True])
        points = [Point(100, 0), Point(100, 0), Point(0, 0)]
        table = walk_m([Point(0, 0), Point(70, 0)], points, network, link_m=0)
        assert table.walk_m.tolist() == pytest.approx([0, 30])
        assert table.target.tolist() == [2, 0]

    def test_a_walk_of_no_length_has_a_path(self):
        network = walk_network([LineString([(0, 0), (100, 0)])], roads=[True])
        row = one(walk_m([box(-5, -5, 5, 5)], [Point(3, 0)], network))
        assert row.walk_m == 0
        assert row.path.length == 0

    def test_two_paths_between_the_same_corners_are_not_added_up(self):
        short = LineString([(0, 0), (8, 0)])
        long = LineString([(0, 0), (4, 2), (8, 0)])
        row = one(
            walk_m([Point(0, 0)], [Point(8, 0)], walk_network([short, long, short]), link_m=0)
        )
        assert row.walk_m == pytest.approx(8)

    def test_origin_and_target_on_one_stretch(self):
        network = walk_network([LineString([(0, 0), (100, 0)])], roads=[True])
        row = one(walk_m([Point(52, 1)], [Point(57, -1)], network, link_m=1))
        assert row.walk_m == pytest.approx(7)
        assert row.path.length == pytest.approx(7)


class TestLinks:
    """The first and last metres, over open ground."""

    STREET = LineString([(-200, 0), (200, 0)])

    def test_a_building_between_pad_and_street_is_walked_round(self):
        house = box(-20, 5, 20, 15)
        network = walk_network([self.STREET], blocked=[house])
        row = one(walk_m([Point(0, 20)], [Point(0, -5)], network))
        assert row.walk_m > 25
        assert not row.path.crosses(house.buffer(-0.02))

    def test_walled_in(self):
        ring = Point(0, 100).buffer(40).difference(Point(0, 100).buffer(30))
        network = walk_network([self.STREET], blocked=[ring])
        row = one(walk_m([Point(0, 100)], [Point(0, -5)], network))
        assert row.walk_m == np.inf
        assert row.note.startswith("no link from the pad to a street or path that crosses no water")
        assert row.note.endswith("within 150 m")
        row = one(walk_m([Point(0, -5)], [Point(0, 100)], network))
        assert row.note.startswith("no link from any target")

    def test_a_restroom_inside_a_building_is_reached_at_the_wall(self):
        building = box(50, -20, 60, -10)
        network = walk_network([self.STREET], blocked=[building], roads=[True])
        point = one(walk_m([Point(0, 10)], [Point(55, -15)], network, link_m=12))
        outline = one(walk_m([Point(0, 10)], [building], network, link_m=12))
        assert point.walk_m == pytest.approx(outline.walk_m)
        assert point.walk_m == pytest.approx(10 + 50 + 10, abs=0.05)
        assert point.note == "the target lies in a building or water: taken at its edge"

    def test_a_pad_that_touches_the_river_does_not_swim(self):
        pad = box(-10, 0, 10, 20)
        network = walk_network([FAR_BANK], blocked=[RIVER])
        assert one(walk_m([pad], [RESTROOM], network)).walk_m == np.inf

    def test_no_straight_way_across_a_road(self):
        lawn = [Point(-8, 10)], [Point(8, -10)]
        street = LineString([(-205, 0), (205, 0)])  # its stretches meet at x = -5 and 5
        straight_m = np.hypot(16, 20)
        row = one(walk_m(*lawn, walk_network([street])))
        assert row.walk_m == pytest.approx(straight_m)
        row = one(walk_m(*lawn, walk_network([street], roads=[True])))
        assert row.walk_m == pytest.approx(np.hypot(13, 10) + np.hypot(3, 10))
        # a path beyond the road: the link may not jump the road, nor is there a way from it
        path = LineString([(-205, -10), (205, -10)])
        pavement = street.buffer(4, cap_style="flat")
        network = walk_network([street, path], roads=[True, False], blocked=[pavement])
        assert one(walk_m(*lawn, network)).walk_m == np.inf

    def test_nothing_near(self):
        row = one(walk_m([Point(0, 500)], [Point(0, -5)], walk_network([self.STREET])))
        assert row.walk_m == np.inf
        assert "no link from the pad" in row.note


class TestMissing:
    """Missing is never zero, and not the same as far."""

    STREET = LineString([(0, 0), (100, 0)])

    def test_no_network_is_unknown(self):
        row = one(walk_m([Point(0, 0)], [Point(400, 0)], walk_network([])))
        assert np.isnan(row.walk_m)
        assert row.straight_m == 400
        assert row.note == "no streets or paths to walk along"

    def test_no_network_but_open_ground(self):
        row = one(walk_m([Point(0, 0)], [Point(30, 0)], walk_network([])))
        assert row.walk_m == 30
        assert row.note == ""

    def test_no_targets(self):
        row = one(walk_m([Point(0, 0)], [], walk_network([self.STREET])))
        assert row.walk_m == np.inf
        assert np.isnan(row.straight_m)
        assert row.note == "nothing to walk to"

    def test_no_origins(self):
        assert len(walk_m([], [Point(0, 0)], walk_network([self.STREET]))) == 0

    def test_empty_shapes(self):
        shapes = [None, Polygon(), Point(0, 3)]
        table = walk_m(shapes, [None, Point(5, 3)], walk_network([self.STREET, None]))
        assert table.walk_m.isna().tolist() == [True, True, False]
        assert table.note.tolist()[:2] == ["no shape to walk from"] * 2
        assert table.target[2] == 1
        assert clearance_m(shapes, [Point(0, 0), None]).isna().tolist() == [True, True, False]
        assert clearance_m([Point(0, 0)], [None, Polygon()]).isna().all()
        assert clearance_m([Point(0, 0)], []).isna().all()
        assert len(clearances(shapes, [None], within_m=5)) == 0

    def test_coordinates_that_are_not_finite(self):
        assert clearance_m([Point(0, 0)], [Point(np.nan, 0), Point(3, 4)]).tolist() == [5]
        assert clearance_m([Point(0, 0)], [LineString([(0, 0), (np.inf, 0)])]).isna().all()


class TestClearance:
    """Edge to edge, one row a shape."""

    def test_ties_do_not_double_rows(self):
        shapes = gpd.GeoSeries([box(0, 0, 2, 2)], index=["pad"])
        features = gpd.GeoSeries([Point(1, 5), Point(1, -3), Point(1, 9)], index=["b", "a", "0"])
        table = nearest(shapes, features)
        assert table.index.tolist() == ["pad"]
        assert one(table).feature == "a"
        assert one(table).distance_m == 3
        assert one(table).line.length == 3

    def test_labels_of_mixed_kinds_have_an_order_too(self):
        features = gpd.GeoSeries([Point(0, 1), Point(0, -1)], index=["7", 10])
        assert one(nearest([Point(0, 0)], features)).feature == 10

    def test_inside_is_zero(self):
        pad = box(0, 0, 10, 10)
        assert clearance_m([pad, Point(5, 5)], [Point(5, 5)]).tolist() == [0, 0]
        assert clearance_m([Point(5, 5)], [pad]).tolist() == [0]
        assert one(nearest([pad], [Point(5, 5)])).line.length == 0

    def test_a_hole_is_outside(self):
        ring = box(0, 0, 30, 30).difference(box(10, 10, 20, 20))
        assert clearance_m([ring], [Point(15, 15)]).tolist() == [5]

    def test_every_part_counts(self):
        parts = MultiPolygon([box(0, 0, 1, 1), box(100, 0, 101, 1)])
        assert clearance_m([parts], [Point(104, 0.5)]).tolist() == [3]

    def test_centreline_against_pavement_edge(self):
        # a road of five lanes of 3.6 m: its pavement begins 9 m before the centreline
        centreline = LineString([(-100, 20), (100, 20)])
        pavement = centreline.buffer(5 * 3.6 / 2, cap_style="flat")
        pad = box(-10, -20, 10, 0)
        assert clearance_m([pad], [centreline]).tolist() == [20]
        assert clearance_m([pad], [pavement])[0] == pytest.approx(11)

    def test_degrees_are_refused(self):
        degrees = gpd.GeoSeries([Point(-96, 40)], crs=4326)
        with pytest.raises(ValueError, match="degrees"):
            clearance_m(degrees, degrees)

    def test_two_systems_are_refused(self):
        one, other = (gpd.GeoSeries([Point(5e5, 4e6)], crs=crs) for crs in (32614, 32615))
        with pytest.raises(ValueError, match="different systems"):
            nearest(one, other)
        with pytest.raises(ValueError, match="different systems"):
            walk_m(one, one, walk_network(other.buffer(5)))

    def test_other_things_are_refused(self):
        with pytest.raises(TypeError, match="geometry"):
            clearance_m(["POINT (0 0)"], [])
        with pytest.raises(ValueError, match="reach"):
            clearances([], [], within_m=-1)


class TestBetween:
    """A fence counts only where it covers what is behind it."""

    PAD = box(-10, -20, 10, 0)
    ROAD = box(-300, 30, 300, 40)

    def between(self, *barriers, **options):
        return open_clearance_m([self.PAD], [self.ROAD], barriers, **options)[0]

    def test_nothing_between(self):
        assert self.between() == 30

    def test_a_fence_all_along(self):
        assert self.between(LineString([(-300, 15), (300, 15)])) == np.inf

    def test_a_fence_elsewhere_is_not_between(self):
        assert self.between(LineString([(-300, 50), (300, 50)])) == 30
        assert self.between(LineString([(-300, -25), (300, -25)])) == 30

    def test_a_fence_that_covers_only_the_nearest_part(self):
        assert self.between(LineString([(-11, 15), (9.5, 15)])) == 30
        seen_past_the_end = self.between(LineString([(-300, 15), (11, 15)]))
        assert 30 < seen_past_the_end < 31.5

    def test_through_the_gap(self):
        fence = [LineString([(-300, 15), (40, 15)]), LineString([(43, 15), (300, 15)])]
        # from (10, -b) past the post at (40, 15): the least of hypot over b, by hand near b = 9
        b = np.linspace(0, 20, 20001)
        least_m = np.hypot(30 + b, 30 * (30 + b) / (15 + b)).min()
        assert least_m <= self.between(*fence) <= least_m + 1

    def test_a_house_hides_only_what_is_behind_it(self):
        assert self.between(box(-9, 10, 9, 20)) == 30
        assert 30 < self.between(box(-30, 10, 30, 20)) < np.inf

    def test_a_wall_the_pad_leans_on(self):
        least_m = np.hypot(50, 50 * 40 / 20)  # from the far corner, past the wall's end
        assert least_m - 0.05 <= self.between(box(-50, 0, 50, 1)) <= least_m + 1
        assert self.between(box(10, -20, 12, 30)) == 30

    def test_touching_overrides_any_barrier(self):
        fence = LineString([(-20, 0), (20, 0)])
        assert open_clearance_m([self.PAD], [box(0, -5, 50, 50)], [fence])[0] == 0

    def test_far_and_missing(self):
        assert self.between(reach_m=29) == np.inf
        assert open_clearance_m([self.PAD, None], [], []).tolist()[0] == np.inf
        assert np.isnan(open_clearance_m([None], [self.ROAD], [])[0])
        with pytest.raises(ValueError, match="Reach"):
            self.between(reach_m=-1)


class TestDash:
    """A pond 15 m off behind a fence half way: neither 15 m off nor out of reach."""

    CHILD, POND = Point(0, 0), Point(0, 15)
    WEST, EAST = LineString([(-200, 7.5), (40, 7.5)]), LineString([(41, 7.5), (200, 7.5)])
    GATE = LineString([(40, 7.5), (41, 7.5)])

    def dash(self, *barriers):
        return dash_m([self.CHILD], [self.POND], barriers).loc[0, "dash_m"]

    def test_through_the_open_gate(self):
        assert clearance_m([self.CHILD], [self.POND])[0] == 15
        # twice the hypotenuse of 40 and 7.5; the fence is drawn a centimetre wide
        assert self.dash(self.WEST, self.EAST) == pytest.approx(81.394, abs=0.02)

    def test_the_gate_closed(self):
        assert self.dash(self.WEST, self.GATE, self.EAST) == np.inf

    def test_a_fence_that_cuts_off_sight_does_not_stop_a_run_round_its_end(self):
        short = LineString([(-20, 7.5), (20, 7.5)])
        sight_m = open_clearance_m([self.CHILD], [self.POND], [short])[0]
        assert sight_m == np.inf
        assert self.dash(short) == pytest.approx(2 * np.hypot(20, 7.5), abs=0.02)


class TestRefusals:
    """What a network can't be made of."""

    LINE = LineString([(0, 0), (9, 0)])

    @pytest.mark.parametrize(
        ("options", "match"),
        [
            ({"bridges": [True, False]}, "one value for each line"),
            ({"roads": gpd.GeoSeries([None], index=[7])}, "one value for each line"),
            ({"bridges": ["yes"]}, "true, false, or a whole number"),
            ({"bridges": [0.5]}, "whole number"),
            ({"blocked": [LineString([(0, 0), (1, 1)])]}, "polygons"),
            ({"snap_m": -1}, "gap"),
        ],
    )
    def test_options(self, options, match):
        with pytest.raises(ValueError, match=match):
            walk_network([self.LINE], **options)

    def test_points(self):
        with pytest.raises(ValueError, match="lines or polygons"):
            walk_network([Point(0, 0)])

    def test_link(self):
        with pytest.raises(ValueError, match="longest link"):
            walk_m([], [], walk_network([self.LINE]), link_m=np.nan)
