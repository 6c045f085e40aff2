"""Clearances against every pair measured by shapely."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon

from playsite.proximity import clearance
from playsite.proximity.clearance import clearance_m, clearances, nearest


def scene(seed, rows):
    """Points, lines, polygons with and without a hole, some far from the rest."""
    rng = np.random.default_rng(seed)
    shapes = []
    for kind in rng.integers(0, 4, rows):
        centre = rng.uniform(0, 300, 2)
        if kind == 0:
            shapes.append(Point(centre))
        elif kind == 1:
            shapes.append(LineString(centre + rng.normal(0, 25, (rng.integers(2, 6), 2)).cumsum(0)))
        else:
            turn = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(4, 9)))
            out = centre + 20 * np.column_stack([np.cos(turn), np.sin(turn)])
            hole = [centre + (out - centre) * 0.5] if kind == 3 else []
            shapes.append(Polygon(out, hole))
    return np.array(shapes)


@pytest.mark.parametrize("few", [False, True], ids=["edge by edge", "few among many"])
@pytest.mark.parametrize("seed", range(8))
def test_nearest_against_every_pair(seed, few, monkeypatch):
    monkeypatch.setattr(clearance, "FEW_SHARE", 9.0 if few else 0.0)
    shapes, features = scene(seed, 60), scene(seed + 100, 40)
    every = shapely.distance(shapes[:, None], features[None])
    table = nearest(shapes, features)
    np.testing.assert_allclose(table.distance_m, every.min(axis=1), atol=1e-9)
    np.testing.assert_array_equal(table.feature.astype(int), every.argmin(axis=1))
    np.testing.assert_allclose(shapely.length(table.line), table.distance_m, atol=1e-9)
    start, end = (shapely.get_point(table.line.to_numpy(), k) for k in (0, -1))
    assert shapely.distance(start, shapes).max() < 1e-9
    assert shapely.distance(end, features[table.feature.astype(int)]).max() < 1e-9


@pytest.mark.parametrize("within_m", [0, 5, 40])
def test_pairs_in_reach_against_every_pair(within_m):
    shapes, features = scene(1, 50), scene(2, 50)
    every = shapely.distance(shapes[:, None], features[None])
    table = clearances(shapes, features, within_m=within_m)
    assert set(zip(table["shape"], table.feature, strict=True)) == set(
        zip(*np.nonzero(every <= within_m), strict=True),
    )
    np.testing.assert_allclose(table.distance_m, every[table["shape"], table.feature], atol=1e-9)
    assert table["shape"].is_monotonic_increasing
    assert (table.groupby("shape").distance_m.diff().dropna() >= 0).all()


def test_labels_and_system_are_kept():
    shapes = gpd.GeoSeries([Point(0, 0), Point(9, 0)], index=["a", "a"], crs=32614)
    features = gpd.GeoSeries([Point(5, 0)], index=[70], crs=32614)
    table = nearest(shapes, features)
    assert table.index.tolist() == ["a", "a"]
    assert table.feature.tolist() == [70, 70]
    assert table.line.array.crs == shapes.crs
    assert clearance_m(shapes, features).tolist() == [5, 4]
