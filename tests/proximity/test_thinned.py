"""Thinning a network: every walk between crossings keeps its length, sides and crossings stay."""

import numpy as np
import pandas as pd
import pytest
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra
from shapely import LineString, box

from playsite.proximity.network import walk_network
from playsite.proximity.streets_to_cross import by_rules
from playsite.proximity.thinned import thinned


def lengths(start, end, length_m, nodes):
    table = pd.DataFrame({"a": np.minimum(start, end), "b": np.maximum(start, end), "m": length_m})
    least = table.groupby(["a", "b"], as_index=False)["m"].min()  # a matrix would add them up
    graph = coo_array((least["m"], (least["a"], least["b"])), shape=(nodes, nodes)).tocsr()
    return dijkstra(graph, directed=False)


def crooked_town():
    rng = np.random.default_rng(5)
    across = [
        LineString([(x, -20), (x + rng.uniform(-9, 9), 130), (x, 320)]) for x in range(0, 400, 80)
    ]
    along = [
        LineString([(-20, y), (150, y + rng.uniform(-9, 9)), (420, y)]) for y in range(0, 320, 75)
    ]
    return [*across, *along, box(600, 0, 640, 30).exterior]


def test_every_walk_between_crossings_keeps_its_length():
    network = walk_network(crooked_town())
    ways = thinned(network)
    assert len(ways) < len(network.edges) / 3
    before = lengths(network.start, network.end, network.length_m, network.nodes)
    after = lengths(ways["start"], ways["end"], ways["length_m"], network.nodes)
    kept = np.unique(ways[["start", "end"]].to_numpy())
    assert len(kept) > 20
    np.testing.assert_allclose(after[np.ix_(kept, kept)], before[np.ix_(kept, kept)], rtol=1e-9)


def test_no_stretch_is_lost_not_even_a_ring_that_meets_nothing():
    network = walk_network(crooked_town())
    ways = thinned(network)
    assert ways["length_m"].sum() == pytest.approx(network.length_m.sum())
    assert 140.0 in ways["length_m"].round(6).tolist()  # the ring of 40 by 30 m


def test_a_busy_street_keeps_its_two_sides_and_where_it_is_crossed():
    lines = [LineString([(0, 0), (300, 0)]), LineString([(100, -80), (100, 80)])]
    network = by_rules(walk_network(lines), busy=[True, False], elsewhere_m=np.inf)
    ways = thinned(network)
    assert set(ways["side"]) == {-1, 0, 1}
    crossed = ways[ways.geom_type == "Point"]
    assert [point.coords[0] for point in crossed.geometry] == [(100.0, 0.0)] * len(crossed)
    assert len(crossed) == np.isfinite(network.joint_m).sum() > 0
    finite = np.isfinite(network.joint_m)
    across = network.joints[finite]
    before = lengths(
        np.r_[network.start, across[:, 0]],
        np.r_[network.end, across[:, 1]],
        np.r_[network.length_m, np.maximum(network.joint_m[finite], 1e-9)],
        network.nodes,
    )
    after = lengths(ways["start"], ways["end"], np.maximum(ways["length_m"], 1e-9), network.nodes)
    kept = np.unique(ways[["start", "end"]].to_numpy())
    np.testing.assert_allclose(after[np.ix_(kept, kept)], before[np.ix_(kept, kept)], atol=1e-6)
    # One who goes along the line has the side that it tells at the left hand, round its end too.
    assert (ways.loc[ways["side"] != 0, "length_m"] % 200 == 0).all()


def test_without_any_way_there_is_an_empty_table():
    assert len(thinned(walk_network([]))) == 0
