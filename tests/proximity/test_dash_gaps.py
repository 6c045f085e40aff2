"""Gaps closed again: the pond behind a fence with one gate, and laws on chance fences."""

import geopandas as gpd
import numpy as np
import pytest
from shapely import LineString, Point, box

from playsite.proximity.dash import dash_m
from playsite.proximity.dash_gaps import bearing_word, dash_again_m, gaps

CHILD, POND = Point(0, 0), Point(0, 15)
WEST, EAST = LineString([(-30, 7.5), (40, 7.5)]), LineString([(41, 7.5), (200, 7.5)])
GATE = LineString([(40, 7.5), (41, 7.5)])


def again(barriers, openings, **options):
    now = dash_m([CHILD], [POND], barriers, **options)
    return now, dash_again_m([CHILD], [POND], barriers, openings, now["path"], **options)


class TestGaps:
    def test_the_gate_between_two_fences_is_one_gap(self):
        assert [gap.equals(GATE) for gap in gaps([WEST, EAST])] == [True]

    def test_corners_and_cracks_are_none(self):
        ring = LineString([(0, 0), (9, 0), (9, 9), (0, 9), (0, 0)])
        assert len(gaps([ring])) == 0
        cracked = [LineString([(0, 0), (9, 0)]), LineString([(9.05, 0), (20, 0)])]
        assert len(gaps(cracked, widest_m=0.5)) == 0

    def test_a_fence_that_ends_short_of_a_house(self):
        found = gaps([LineString([(0, 0), (9, 0)]), box(12, -3, 20, 3)])
        assert found.length.tolist() == [3.0]

    def test_a_ring_with_a_gap_is_told(self):
        ring = LineString([(0, 0), (9, 0), (9, 9), (0, 9), (0, 2)])
        assert gaps([ring]).length.tolist() == [2.0]

    def test_wider_than_a_gap_is_open_land(self):
        assert len(gaps([WEST, EAST], widest_m=0.9)) == 0
        assert len(gaps([box(0, 0, 5, 5)])) == 0


class TestAgain:
    def test_the_gate_closed_leaves_the_way_round_the_end(self):
        now, closed = again([WEST, EAST], [GATE])
        # the fence is drawn a centimetre wide
        assert now.loc[0, "dash_m"] == pytest.approx(2 * np.hypot(30, 7.5), abs=0.02)
        assert len(closed) == 0  # the way leads round the west end, not through the gate
        west = WEST.union(LineString([(-200, 7.5), (-30, 7.5)]))
        now, closed = again([west, EAST], [GATE])
        assert now.loc[0, "dash_m"] == pytest.approx(2 * np.hypot(40, 7.5), abs=0.02)
        row = closed.loc[0]
        assert (row["shape"], row["gap"], row["dash_m"]) == (0, 0, np.inf)
        assert row["at_least_m"] == 120

    def test_closed_in_once_the_only_gap_is_shut(self):
        ring = LineString([(2, -9), (9, -9), (9, 9), (-9, 9), (-9, -9), (-2, -9)])
        now, closed = again([ring], gaps([ring]))
        assert np.isfinite(now.loc[0, "dash_m"])
        assert closed["at_least_m"].tolist() == [np.inf]

    def test_closing_as_drawn_is_the_same_as_a_fence_there(self):
        rng = np.random.default_rng(4)
        seen = 0
        for _ in range(30):
            cuts = np.sort(rng.uniform(-40, 40, 6))
            ends = [(-300, cuts[0] - 1), *zip(cuts[:-1] + 1, cuts[1:] - 1, strict=True)]
            ends.append((cuts[-1] + 1, 300))
            fence = [LineString([(a, 7.5), (b, 7.5)]) for a, b in ends if b > a]
            holes = gaps(fence, widest_m=3)
            _, closed = again(fence, holes)
            for row in closed.itertuples():
                whole = dash_m([CHILD], [POND], [*fence, holes[row.gap]]).loc[0, "dash_m"]
                assert row.dash_m == pytest.approx(whole, abs=0.02)
                seen += 1
        assert seen >= 20

    def test_labels_are_kept_and_a_pad_without_a_way_has_no_row(self):
        pads = gpd.GeoSeries([CHILD, Point(0, 900)], index=["a", "b"])
        long_west = LineString([(-300, 7.5), (40, 7.5)])
        now = dash_m(pads, [POND], [long_west, EAST])
        gates = gpd.GeoSeries([GATE], index=["gate 4"])
        closed = dash_again_m(pads, [POND], [long_west, EAST], gates, now["path"])
        assert closed[["shape", "gap"]].to_numpy().tolist() == [["a", "gate 4"]]

    def test_refusals(self):
        with pytest.raises(ValueError, match="Reach"):
            dash_again_m([], [], [], [], [], reach_m=-1)


@pytest.mark.parametrize(("east", "north", "word"), [(0, 9, "north"), (-9, -9, "south-west")])
def test_directions_are_those_of_the_compass(east, north, word):
    assert bearing_word(Point(0, 0), Point(east, north)) == word


def test_closing_a_gap_never_shortens_a_way():
    rng = np.random.default_rng(8)
    seen = 0
    for _ in range(40):
        start = rng.uniform(-40, 40, (14, 2))
        fences = [
            LineString([p, p + d]) for p, d in zip(start, rng.normal(0, 18, (14, 2)), strict=True)
        ]
        now, closed = again(fences, gaps(fences))
        seen += len(closed)
        assert (closed["dash_m"] >= now.loc[0, "dash_m"] - 1e-6).all()
    assert seen
