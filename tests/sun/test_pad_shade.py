"""Shade of a pad: what casts it, what is taken out, what is not known."""

import geopandas as gpd
import numpy as np
import pytest
import shapely

from playsite.sun.casters import Bodies, Crowns, crowns_of, height_curve, walls_of
from playsite.sun.pad_shade import pad_shade, scene_of
from playsite.sun.position import Suns, suns_of_day
from playsite.sun.seasons import places_on_earth, season_suns
from playsite.sun.shade import shaded_pct, shadows_on

PAD = shapely.box(0, 0, 30, 20)
CRS = "EPSG:26918"


def level(xy):
    return np.zeros(len(xy))


def trees(*rows, **columns):
    shapes = [row if hasattr(row, "area") else shapely.Point(row) for row in rows]
    given = {name: [np.nan] * len(rows) for name in ("crown_m", "height_m", "diameter_m")}
    return gpd.GeoDataFrame(given | columns, geometry=shapes, crs=CRS)


def houses(*rows, height_m=np.nan):
    return gpd.GeoDataFrame({"height_m": [height_m] * len(rows)}, geometry=list(rows), crs=CRS)


def shade(tree_rows, house_rows=None, pad=PAD, at=40.0, ground=level):
    house_rows = houses() if house_rows is None else house_rows
    suns = season_suns(at, 0.0)
    bodies = Bodies(crowns_of(tree_rows, ground), walls_of(house_rows, tree_rows, ground))
    return pad_shade(scene_of(pad, bodies, suns, level_m=0.0), suns)


WEST, EAST, SOUTH, NORTH = (-5.0, 10.0), (35.0, 10.0), (15.0, -5.0), (15.0, 25.0)


@pytest.mark.parametrize(
    ("latitude", "month", "hour", "stem", "shades"),
    [
        # 12 m tall, 5 m off the pad: at 15 o'clock a shadow of 10.5 m towards about 80 degrees
        (40, 6, 15, WEST, True),
        (40, 6, 15, SOUTH, False),
        (40, 6, 15, EAST, False),
        # 3.6 m at noon in June, 10 m in September
        (40, 6, 12, SOUTH, False),
        (40, 9, 12, SOUTH, True),
        # mornings from the east; south of the equator from the north, never the south
        (40, 6, 9, EAST, True),
        (40, 6, 9, WEST, False),
        (-40, 12, 15, WEST, True),
        (-40, 3, 12, NORTH, True),
        (-40, 3, 12, SOUTH, False),
    ],
)
def test_a_stem_shades_by_the_side_it_stands_on_the_hour_and_the_season(
    latitude, month, hour, stem, shades
):
    crowns = crowns_of(trees(stem, crown_m=[2.0], height_m=[12.0]), level)
    sun = suns_of_day(latitude, month=month, hours=[hour])
    shadows = shadows_on(PAD, crowns, walls_of(houses(), trees(), level), sun, level_m=0.0)
    assert (shaded_pct([PAD], shadows)[0, 0] > 1) == shades


def test_nothing_near_is_no_shade():
    found = shade(trees((500.0, 500.0), crown_m=[5.0], height_m=[15.0]))
    assert (found.mean_pct, found.low_pct, found.high_pct) == (0, 0, 0)


def test_two_crowns_in_one_place_shade_as_one():
    one = shade(trees((-5.0, 10.0), crown_m=[4.0], height_m=[12.0]))
    two = shade(trees((-5.0, 10.0), (-5.0, 10.0), crown_m=[4.0] * 2, height_m=[12.0] * 2))
    assert 0 < one.mean_pct == pytest.approx(two.mean_pct)


def test_trees_that_construction_would_take_cast_no_shade_and_are_told_apart():
    found = shade(trees((15.0, 10.0), (-2.0, 10.0), crown_m=[5.0] * 2, height_m=[12.0] * 2))
    assert found.mean_pct == 0
    assert found.with_taken_pct > 10


def test_a_wood_keeps_what_is_not_built_on():
    wood = shapely.box(-60, -20, 10, 60)
    found = shade(trees(wood, height_m=[12.0]))
    assert 0 < found.mean_pct < shade(trees(wood, height_m=[20.0])).mean_pct < 100


def test_heights_that_were_guessed_widen_the_interval_and_given_ones_do_not():
    guessed = shade(trees((-6.0, 10.0), crown_m=[4.0], diameter_m=[0.3]))
    given = shade(trees((-6.0, 10.0), crown_m=[4.0], height_m=[12.0]))
    assert guessed.low_pct < guessed.mean_pct < guessed.high_pct
    assert given.low_pct == given.mean_pct == given.high_pct


def test_a_tree_of_unknown_size_counts_only_in_the_upper_end():
    found = shade(trees((-5.0, 10.0)))
    assert found.low_pct == found.mean_pct == 0
    assert found.high_pct > 0


def test_a_house_of_unknown_height_is_taken_as_6_m_within_half_of_it():
    south = shapely.box(0, -8, 30, -4)
    known = [shade(trees(), houses(south, height_m=m)).mean_pct for m in (3.0, 6.0, 9.0)]
    guessed = shade(trees(), houses(south))
    assert [guessed.low_pct, guessed.mean_pct, guessed.high_pct] == pytest.approx(known)


def test_a_tree_on_lower_ground_reaches_less_far():
    stem = trees((-6.0, 10.0), crown_m=[4.0], height_m=[12.0])
    assert shade(stem, ground=lambda xy: np.full(len(xy), -6.0)).mean_pct < shade(stem).mean_pct
    unknown = shade(stem, ground=lambda xy: np.full(len(xy), np.nan))
    assert unknown.mean_pct == pytest.approx(shade(stem).mean_pct)


def test_what_stands_wholly_below_the_level_of_the_pad_casts_none():
    deep = shade(
        trees((-6.0, 10.0), crown_m=[4.0], height_m=[12.0]),
        houses(shapely.box(0, -12, 30, -4), height_m=9.0),
        ground=lambda xy: np.full(len(xy), -13.0),
    )
    assert deep.mean_pct == 0


def test_the_shadier_side_is_that_of_the_trees():
    row = [(-5.0, y) for y in (2.0, 8.0, 14.0, 20.0)]
    found = shade(trees(*row, crown_m=[4.0] * 4, height_m=[12.0] * 4))
    assert found.sides_at[found.sides_pct.argmax()] == pytest.approx(270)


def test_a_wall_in_the_north_shades_nothing_in_the_north_and_all_in_the_south():
    north = houses(shapely.box(0, 22, 30, 28), height_m=10.0)
    assert shade(trees(), north, at=40.0).mean_pct == 0
    assert shade(trees(), north, at=-40.0).mean_pct > 10


def test_shares_are_those_of_a_fine_lattice():
    rng = np.random.default_rng(3)
    stems = rng.uniform(-25, 45, (25, 2))
    crowns = crowns_of(trees(*stems, crown_m=[3.5] * 25, height_m=[11.0] * 25), level)
    walls = walls_of(houses(shapely.box(-14, -12, -4, 2), height_m=7.0), trees(), level)
    suns = season_suns(45.0, 0.0)
    shares = shaded_pct([PAD], shadows_on(PAD, crowns, walls, suns, level_m=0.0))[:, 0]
    x, y = np.meshgrid(np.arange(0.1, 30, 0.2), np.arange(0.1, 20, 0.2))
    for row in (0, 17, 41):
        lit = _sunlit(x.ravel(), y.ravel(), crowns, suns, row)
        assert shares[row] == pytest.approx(100 * (1 - lit.mean()), abs=0.6)


def _sunlit(x, y, crowns: Crowns, suns: Suns, row: int):
    """Points whose ray to the sun meets no spheroid and not the box, ray by ray."""
    altitude, azimuth = np.radians(suns.altitude_deg[row]), np.radians(suns.azimuth_deg[row])
    ray = np.array(
        [np.cos(altitude) * np.sin(azimuth), np.cos(altitude) * np.cos(azimuth), np.sin(altitude)]
    )
    lit = np.ones(len(x), dtype=bool)
    for (east, north), r, h in zip(crowns.xy, crowns.radius_m, crowns.height_m, strict=True):
        axes = np.array([r, r, 0.35 * h])
        start = (np.stack([x - east, y - north, np.full(len(x), -0.65 * h)], axis=1)) / axes
        along = ray / axes
        a, b, c = along @ along, start @ along, (start**2).sum(axis=1) - 1
        lit &= ~((b * b - a * c >= 0) & (-b + np.sqrt(np.maximum(b * b - a * c, 0)) > 0))
    with np.errstate(divide="ignore"):
        near, far = np.zeros(len(x)), np.full(len(x), np.inf)
        bounds = ((x, -14, -4), (y, -12, 2), (np.zeros(len(x)), 0, 7))
        for (at, low, high), step in zip(bounds, ray, strict=True):
            ends = np.sort(np.stack([(low - at) / step, (high - at) / step]), axis=0)
            near, far = np.maximum(near, ends[0]), np.minimum(far, ends[1])
    return lit & ~(near < far)


def test_the_layers_own_trees_tell_how_tall_a_stem_grows():
    rng = np.random.default_rng(5)
    stem_m = rng.uniform(0.1, 0.8, 200)
    height_m = 1.8 * (100 * stem_m) ** 0.6 * np.exp(rng.normal(0, 0.1, 200))
    a, b, off = height_curve(stem_m, height_m)
    assert (a, b, off) == pytest.approx((1.8, 0.6, 0.105), rel=0.1)
    few = height_curve(stem_m[:10], height_m[:10])
    assert few == height_curve(np.empty(0), np.empty(0))


def test_true_north_is_not_the_grids():
    # UTM zone 18, central meridian 75 W: 2 degrees east of it at 45 N the grid's north lies
    # 2 x sin(45) = 1.41 degrees east of true north, so that true north lies that far west.
    to = gpd.GeoSeries([shapely.Point(-73, 45)], crs=4326).to_crs(CRS)
    latitude, north = places_on_earth(shapely.get_coordinates(to), CRS)
    assert latitude[0] == pytest.approx(45)
    assert north[0] == pytest.approx(-2 * np.sin(np.radians(45)), abs=0.01)
