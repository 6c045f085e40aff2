"""Dash distance: closed forms, and every way round random boxes."""

import itertools

import geopandas as gpd
import networkx as nx
import numpy as np
import pytest
import shapely
from shapely import LineString, Point, box

from playsite.proximity.between import open_clearance_m
from playsite.proximity.clearance import clearance_m
from playsite.proximity.dash import dash_m

EXACT = {"opening_m": 0.0}


def one_m(pad, hazard, barriers, **options):
    return dash_m([pad], [hazard], barriers, **options).loc[0, "dash_m"]


def thick(x_from, x_to, y=7.5, width=0.001):
    return box(x_from, y - width / 2, x_to, y + width / 2)


class TestClosedForms:
    def test_through_the_gate(self):
        # fence half way to a pond point 15 m off, gate 40 m along, walls a millimetre thick:
        # 2 hypot(40, 7.4995) + 0.001
        fence = [thick(-200, 40), thick(41, 200)]
        expected = 2 * np.hypot(40, 7.4995) + 0.001
        assert expected == pytest.approx(81.3941, abs=1e-3)
        assert one_m(Point(0, 0), Point(0, 15), fence) == pytest.approx(expected, abs=1e-5)

    def test_the_gate_closed(self):
        fence = [thick(-200, 40), thick(40, 41), thick(41, 200)]
        assert one_m(Point(0, 0), Point(0, 15), fence) == np.inf

    def test_round_a_disc(self):
        # tangents and an arc: 2 sqrt(20^2 - 10^2) + 10 (pi - 2 acos(1/2)) = 45.11299
        expected = 2 * np.sqrt(300) + 10 * (np.pi - 2 * np.arccos(0.5))
        disc = Point(0, 0).buffer(10, quad_segs=256)
        assert one_m(Point(-20, 0), Point(20, 0), [disc]) == pytest.approx(expected, abs=1e-3)
        rough = Point(0, 0).buffer(10, quad_segs=64)
        assert one_m(Point(-20, 0), Point(20, 0), [rough], **EXACT) == pytest.approx(
            45.11273, abs=2e-5
        )

    def test_round_the_short_side_of_a_box(self):
        # 2 sqrt(15^2 + 5^2) + 10
        length_m = one_m(Point(-20, 0), Point(20, 0), [box(-5, -30, 5, 5)])
        assert length_m == pytest.approx(41.62278, abs=1e-4)

    def test_parallel_edges_with_a_metre_of_opening_left(self):
        pad, road = box(0, -10, 20, 0), box(-50, 10, 80, 20)
        assert one_m(pad, road, [box(-50, 4, 19, 6)]) == pytest.approx(10, abs=1e-6)

    def test_a_wall_two_metres_beyond(self):
        # to the wall's near corner, along its end, and square to the road: 2 sqrt(20) + 2
        pad, road = box(0, -10, 20, 0), box(-50, 10, 80, 20)
        assert one_m(pad, road, [box(-50, 4, 22, 6)]) == pytest.approx(
            np.sqrt(20) + 2 + 4, abs=1e-5
        )
        length_m = one_m(pad, Point(20, 10), [box(-50, 4, 22, 6)])
        assert length_m == pytest.approx(2 * np.sqrt(20) + 2, abs=1e-5)

    def test_nothing_between_is_the_clearance(self):
        pad, road = box(0, -10, 20, 0), box(-50, 10, 80, 20)
        assert one_m(pad, road, []) == 10
        assert one_m(pad, road, [box(-50, -40, 80, -20)]) == 10


class TestFences:
    PAD = box(-10, -10, 10, 10)
    ROAD = box(-100, 30, 100, 40)

    def test_two_pieces_that_touch_leave_no_joint(self):
        ring = LineString([(-20, -20), (20, -20), (20, 20), (-20, 20), (-20, -20)])
        assert one_m(self.PAD, self.ROAD, [ring]) == np.inf
        pieces = [LineString(p) for p in zip(ring.coords[:-1], ring.coords[1:], strict=True)]
        assert one_m(self.PAD, self.ROAD, pieces) == np.inf
        assert one_m(self.PAD, self.ROAD, pieces, **EXACT) == np.inf

    def test_pieces_at_any_angle_leave_no_joint(self):
        rng = np.random.default_rng(3)
        for _ in range(20):
            turn = np.sort(rng.uniform(0, 2 * np.pi, 9))
            turn = np.r_[np.arange(0, 6.2, 0.7), turn]
            xy = np.column_stack([np.cos(np.sort(turn)), np.sin(np.sort(turn))]) * 24
            xy = xy + rng.uniform(-2, 2, xy.shape)
            pieces = [LineString([xy[k - 1], xy[k]]) for k in range(len(xy))]
            assert one_m(self.PAD, self.ROAD, pieces, **EXACT) == np.inf

    def test_a_fence_on_the_pad_edge_keeps_in(self):
        edge = self.PAD.exterior
        assert one_m(self.PAD, self.ROAD, [edge]) == np.inf
        side = LineString([(-10, 10), (10, 10)])
        length_m = one_m(self.PAD, self.ROAD, [side])
        assert length_m == pytest.approx(20, abs=0.01)  # out at the corner, past the fence's end

    def test_a_fence_between_a_pad_and_a_road_that_both_touch_it(self):
        road = box(-100, 10.005, 100, 40)
        fence = LineString([(-60, 10), (60, 10)])
        length_m = one_m(self.PAD, road, [fence])
        assert length_m == pytest.approx(50, abs=0.02)

    def test_a_crack_is_closed_to_a_child_and_a_gate_is_not(self):
        fence = [LineString([(-200, 20), (0, 20)]), LineString([(0.08, 20), (200, 20)])]
        assert one_m(self.PAD, self.ROAD, fence) == np.inf
        assert one_m(self.PAD, self.ROAD, fence, **EXACT) == pytest.approx(20, abs=0.01)
        fence[1] = LineString([(1, 20), (200, 20)])
        assert one_m(self.PAD, self.ROAD, fence) == pytest.approx(20, abs=0.01)

    def test_round_the_end_of_a_fence_where_sight_is_cut_off(self):
        fence = LineString([(-25, 20), (25, 20)])
        target = box(-3, 30, 3, 40)
        length_m = one_m(self.PAD, target, [fence])
        assert length_m == pytest.approx(np.hypot(15, 10) + np.hypot(22, 10), abs=0.02)

    def test_a_barrier_inside_the_pad_is_left_out(self):
        assert one_m(self.PAD, self.ROAD, [LineString([(-9, 0), (9, 0)])]) == 20


class TestTables:
    def test_labels_paths_and_missing(self):
        pads = gpd.GeoSeries(
            [box(0, 0, 1, 1), None, box(500, 0, 501, 1)], index=["a", "b", "c"], crs=32614
        )
        hazards = gpd.GeoSeries([Point(0.5, 5), Point(0.5, -4)], index=["z", "y"], crs=32614)
        table = dash_m(pads, hazards, gpd.GeoSeries([], crs=32614))
        assert table.feature.tolist() == ["y", None, None]
        assert table.dash_m.tolist()[0] == 4
        assert np.isnan(table.dash_m["b"])
        assert table.dash_m["c"] == np.inf
        assert table.path.isna().tolist() == [False, True, True]
        assert table.path.array.crs == pads.crs

    def test_no_hazard_and_touching(self):
        assert dash_m([Point(0, 0)], [], []).dash_m.tolist() == [np.inf]
        row = dash_m([box(0, 0, 5, 5)], [Point(9, 9), Point(5, 5)], []).loc[0]
        assert (row.dash_m, row.feature) == (0, 1)

    def test_refusals(self):
        with pytest.raises(ValueError, match="Reach"):
            dash_m([], [], [], opening_m=np.nan)
        with pytest.raises(ValueError, match="Reach"):
            dash_m([], [], [], reach_m=-1)

    def test_beyond_the_reach(self):
        assert one_m(Point(0, 0), Point(0, 50), [], reach_m=49.9) == np.inf
        assert one_m(Point(0, 0), Point(0, 50), [], reach_m=50) == 50

    def test_a_reach_for_each_shape(self):
        pads = [Point(0, 0), Point(0, 0)]
        table = dash_m(pads, [Point(0, 50)], [], reach_m=np.array([40.0, 60.0]))
        assert table.dash_m.tolist() == [np.inf, 50]

    def test_closed_off_is_told_from_beyond_the_reach(self):
        fence = [thick(-200, 200)]
        row = dash_m([Point(0, 0)], [Point(0, 15)], fence).loc[0]
        assert (row.dash_m, row.at_least_m) == (np.inf, 120)  # round an end that is 200 m off
        ring = shapely.get_exterior_ring(box(-9, -9, 9, 9))
        row = dash_m([Point(0, 0)], [Point(0, 15)], [ring]).loc[0]
        assert (row.dash_m, row.at_least_m) == (np.inf, np.inf)
        pond = [Point(0, 15)]
        ring = shapely.get_exterior_ring(box(-9, 9, 9, 30))
        row = dash_m([Point(0, 0)], pond, [ring]).loc[0]
        assert (row.dash_m, row.at_least_m) == (np.inf, np.inf)  # the pond is fenced all round
        row = dash_m([Point(0, 0)], [*pond, Point(0, 900)], [ring]).loc[0]
        assert (row.dash_m, row.at_least_m) == (np.inf, 120)  # another one is not
        assert dash_m([Point(0, 0)], [Point(0, 500)], []).loc[0, "at_least_m"] == 500
        assert dash_m([Point(0, 0)], [], []).loc[0, "at_least_m"] == np.inf


def segments(shape):
    rings = shapely.get_rings(shapely.get_parts(shape)) if shape.geom_type != "Point" else []
    pairs = [LineString(p) for r in rings for p in zip(r.coords[:-1], r.coords[1:], strict=True)]
    return pairs or [LineString([shape, shape])]


def feet(shape, points):
    """Foot of each point on each side of a shape."""
    for point in points:
        for side in segments(shape):
            yield point, side.interpolate(side.project(Point(point)))


def ends(shape):
    return {c for side in segments(shape) for c in side.coords}


def brute_m(pad, hazard, boxes):
    """Full visibility graph by shapely and networkx: every corner, every foot on every edge."""
    solid = shapely.union_all(boxes)
    core = solid.buffer(-1e-7, join_style="mitre")
    shapely.prepare(core)
    corners = {c for ring in shapely.get_rings(shapely.get_parts(solid)) for c in ring.coords}
    legs = [(c, d, LineString([c, d])) for c, d in itertools.combinations(corners, 2)]
    legs += [("pad", c, LineString([c, foot])) for c, foot in feet(pad, corners)]
    legs += [("hazard", c, LineString([c, foot])) for c, foot in feet(hazard, corners)]
    across = [*feet(pad, ends(hazard)), *feet(hazard, ends(pad))]
    legs += [("pad", "hazard", LineString([c, foot])) for c, foot in across]
    graph = nx.MultiGraph()
    graph.add_nodes_from(["pad", "hazard"])
    graph.add_edges_from((a, b, {"weight": g.length}) for a, b, g in legs if not core.intersects(g))
    try:
        return nx.dijkstra_path_length(graph, "pad", "hazard")
    except nx.NetworkXNoPath:
        return np.inf


@pytest.mark.parametrize("seed", range(100))
def test_random_boxes_against_every_way(seed):
    rng = np.random.default_rng(seed)
    turned = seed % 2
    boxes = []
    for _ in range(12):
        w, h = rng.uniform(2, 14, 2)
        one = box(-w, -h, w, h)
        if turned:
            one = shapely.affinity.rotate(one, rng.uniform(0, 180))
        boxes.append(shapely.affinity.translate(one, *rng.uniform(-35, 35, 2)))
    pad, hazard = box(-60, -8, -50, 8), box(48, -30, 60, 10) if seed % 3 else Point(55, 3)
    pad = shapely.affinity.rotate(pad, rng.uniform(0, 90))
    boxes = [b for b in boxes if not b.intersects(pad) and not b.intersects(hazard)]
    expected = brute_m(pad, hazard, boxes)
    row = dash_m([pad], [hazard], boxes, reach_m=400, **EXACT).loc[0]
    assert row.dash_m == pytest.approx(expected, abs=1e-6)
    if np.isfinite(expected):
        assert row.path.length == pytest.approx(row.dash_m, abs=1e-9)
        assert not row.path.intersects(shapely.union_all(boxes).buffer(-1e-5, join_style="mitre"))
        assert row.path.distance(pad) < 1e-9
        assert Point(row.path.coords[-1]).distance(hazard) < 1e-9
    # straight clearance <= dash <= what straight sight gives
    assert clearance_m([pad], [hazard])[0] <= row.dash_m + 1e-9
    assert row.dash_m <= open_clearance_m([pad], [hazard], boxes, reach_m=400)[0] + 0.1
