"""Shade off a surface model, against closed forms and against the shadows of the same bodies."""

import numpy as np
import pytest
import shapely
from affine import Affine

from playsite.sun.casters import Crowns
from playsite.sun.position import Suns
from playsite.sun.shade import shaded_pct
from playsite.sun.shadows import prism_shadows, throw
from playsite.sun.surface_shade import Tops, cleared, is_shaded, shadows_of_tops, share_pct

CELL_M, SIDE = 0.5, 200
X = (np.arange(SIDE) + 0.5) * CELL_M
AT = Affine(CELL_M, 0, 0, 0, -CELL_M, SIDE * CELL_M)
NOBODY = Crowns(np.empty((0, 2)), *(np.empty(0),) * 4, np.empty(0, dtype=bool))


def tops(*blocks):
    """Level ground at 10 m with blocks (west, south, east, north, height)."""
    x, y = np.meshgrid(X, SIDE * CELL_M - X)
    top_m = np.full(x.shape, 10.0)
    for west, south, east, north, height in blocks:
        top_m[(x > west) & (x < east) & (y > south) & (y < north)] = 10.0 + height
    return Tops(top_m, AT)


def suns(*pairs):
    return Suns(*(np.array(column, float) for column in zip(*pairs, strict=True)))


@pytest.mark.parametrize("altitude", [30.0, 45.0, 60.0])
def test_a_wall_throws_its_height_over_the_tangent(altitude):
    # Sun in the south: a wall 6 m high shades 6 / tan(altitude) north of it.
    wall = tops((20, 40, 80, 42, 6.0))
    y = np.arange(42.25, 70, 0.1)
    shaded = is_shaded(
        np.column_stack([np.full(len(y), 50.0), y]), wall, suns((altitude, 180.0)), level_m=10.0
    )[0]
    reach = y[shaded].max() - 42
    assert reach == pytest.approx(6 / np.tan(np.radians(altitude)), abs=1.0)
    assert not shaded[y > 42 + reach + 0.2].any()


def test_it_agrees_with_the_shadow_of_the_same_prism():
    house = shapely.box(40, 40, 52, 48)
    given = suns((35.0, 200.0), (50.0, 120.0), (25.0, 260.0))
    thrown = throw(given.altitude_deg, given.azimuth_deg)
    shadows = prism_shadows(np.repeat(house, 3), np.zeros(3), np.full(3, 7.0), thrown)
    pad = shapely.box(44, 49, 66, 63)
    exact = shaded_pct([pad], shadows)[:, 0]
    found = share_pct([pad], tops((40, 40, 52, 48, 7.0)), given, level_m=10.0)[:, 0]
    assert found == pytest.approx(exact, abs=2.0)
    drawn = shadows_of_tops(pad, tops((40, 40, 52, 48, 7.0)), given, level_m=10.0)
    assert shaded_pct([pad], drawn)[:, 0] == pytest.approx(exact, abs=2.0)


def test_what_stands_on_the_ground_that_is_dug_and_crowns_that_go_are_cut_out():
    pad = shapely.box(40, 40, 60, 60)
    grove = tops((45, 45, 52, 52, 8.0), (62, 45, 70, 55, 8.0))
    noon = suns((50.0, 180.0), (40.0, 90.0))
    before = share_pct([pad], grove, noon, level_m=10.0)[:, 0]
    after = share_pct([pad], cleared(grove, pad.buffer(3), NOBODY), noon, level_m=10.0)[:, 0]
    assert after[0] == 0
    assert 0 < after[1] < before[1]
    # The eastern grove belongs to one tree whose stem is dug out.
    gone = Crowns(
        np.array([[62.5, 50.0]]), np.array([12.0]), *(np.array([8.0]),) * 3, np.array([True])
    )
    assert share_pct([pad], cleared(grove, pad.buffer(3), gone), noon, level_m=10.0)[1, 0] == 0


def test_low_suns_are_not_told_and_unknown_tops_cast_no_shade():
    pad = shapely.box(40, 40, 60, 60)
    wall = tops((20, 30, 80, 32, 30.0))
    share = share_pct([pad], wall, suns((3.0, 180.0), (45.0, 180.0)), level_m=10.0)[:, 0]
    assert np.isnan(share[0])
    assert share[1] == 100
    unknown = Tops(np.where(wall.top_m > 11, np.nan, wall.top_m), AT)
    assert share_pct([pad], unknown, suns((45.0, 180.0)), level_m=10.0)[0, 0] == 0
