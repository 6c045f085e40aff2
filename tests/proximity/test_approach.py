"""The last stretch against networkx, accessible spaces against the table, reasons of detours."""

import networkx as nx
import numpy as np
import pandas as pd
import pytest
from shapely import LineString, Point, box

from playsite.proximity.accessible_spaces import accessible_spaces_due
from playsite.proximity.approach import approaches
from playsite.proximity.detours import detour_reasons
from playsite.proximity.streets_to_cross import by_rules
from playsite.proximity.walking import walk_network


def town(seed, n=6):
    rng = np.random.default_rng(seed)
    corner = np.stack(np.meshgrid(*[np.arange(n) * 60.0] * 2), axis=-1).reshape(-1, 2)
    corner = corner + rng.uniform(-15, 15, corner.shape)
    pairs = [(n * a + b, n * c + d) for (a, b), (c, d) in nx.grid_2d_graph(n, n).edges]
    return corner, [pair for pair in pairs if rng.random() > 0.3]


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("batch", [1, 10_000_000])
def test_length_within_reach_against_networkx(seed, batch, monkeypatch):
    from playsite.proximity import approach

    monkeypatch.setattr(approach, "_MOST_CELLS", batch)
    corner, pairs = town(seed)
    graph = nx.Graph()
    for i, j in pairs:
        graph.add_edge(i, j, weight=float(np.hypot(*(corner[i] - corner[j]))))
    network = walk_network([LineString(corner[[i, j]]) for i, j in pairs])
    starts = sorted(graph)[::5]
    found = approaches([Point(corner[s]) for s in starts], network, within_m=130, link_m=0)
    for start, one in zip(starts, found, strict=True):
        far_m = nx.single_source_dijkstra_path_length(graph, start)
        within = [
            min(d["weight"], max(0, 130 - far_m[i]) + max(0, 130 - far_m[j]))
            for i, j, d in graph.edges(data=True)
            if i in far_m and j in far_m
        ]
        assert one.length_m.sum() == pytest.approx(sum(within), abs=1e-6)
        assert (one.crossings, one.marked) == (0, 0)


def test_crossings_within_reach_are_counted_and_sides_count_half():
    main = LineString([(0, 0), (100, 0)])
    path = LineString([(50, -20), (50, 20)])
    network = by_rules(walk_network([main, path], roads=[True, False]), busy=[True, False])
    (one,) = approaches([Point(50, 20)], network, within_m=1000, link_m=1)
    assert one.length_m.sum() == pytest.approx(140)
    assert one.crossings >= 1
    assert one.marked == 1


def test_nothing_within_reach():
    network = walk_network([LineString([(0, 0), (100, 0)])], blocked=[box(-10, 5, 110, 10)])
    walled, far = approaches([Point(50, 20), Point(50, 900)], network, link_m=30)
    assert not len(walled.edge)
    assert not len(far.edge)
    assert approaches([], network) == []


def test_accessible_spaces_by_the_table():
    # 2010 ADA Standards, table 208.2, as the U.S. Access Board's guide to chapter 5 prints it
    table = {25: 1, 50: 2, 75: 3, 100: 4, 150: 5, 200: 6, 300: 7, 400: 8, 500: 9}
    for most, due in table.items():
        assert accessible_spaces_due(most) == due
        assert accessible_spaces_due(most + 1) == due + 1 if most < 500 else 11
    assert [accessible_spaces_due(n) for n in (0, 1, 1000, 1001, 1100, 1101)] == [
        0,
        1,
        20,
        21,
        21,
        22,
    ]
    assert accessible_spaces_due(550) == 11  # 2 in a hundred
    with pytest.raises(ValueError, match="0 spaces or more"):
        accessible_spaces_due(-1)


def test_reasons_of_detours():
    origins = pd.Series([Point(0, 0)] * 4, index=list("abcd"))
    targets = pd.Series([Point(0, 100)], index=["t"])
    found = pd.DataFrame(
        {"walk_m": [500.0, 120.0, np.inf, np.nan], "straight_m": 100.0, "target": ["t"] * 4},
        index=list("abcd"),
    )
    between = {
        "open water": pd.Series([box(-9, 40, 9, 50)]),
        "rails": pd.Series([box(50, 0, 51, 9)]),
    }
    told = detour_reasons(found, origins, targets, between)
    assert told.tolist() == ["5.0 times the straight line, which crosses open water", "", "", ""]
    told = detour_reasons(found, origins, targets, {})
    assert told["a"] == "5.0 times the straight line, along which no way is mapped"
