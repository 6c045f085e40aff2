"""Shadows on level ground, against closed forms."""

import numpy as np
import pytest
import shapely

from playsite.sun.shadows import (
    convex_parts,
    crown_ellipses,
    ellipse_polygons,
    prism_shadows,
    throw,
)


def crown(radius_m, bottom_m, top_m, altitude_deg, azimuth_deg=180.0):
    thrown = throw([altitude_deg], [azimuth_deg])
    sizes = (np.array([each], dtype=float) for each in (radius_m, bottom_m, top_m))
    centre, spread = crown_ellipses(np.zeros((1, 2)), *sizes, thrown)
    return centre[0], ellipse_polygons(centre[0], spread[0])[0]


def test_a_sphere_throws_an_ellipse():
    # Radius 3 m, centre 6 m up, sun at 48.8 degrees: pi r^2 / sin a = 37.58 m2, 6 / tan a = 5.25 m off.
    centre, shadow = crown(3, 3, 9, 48.8)
    assert shadow.area == pytest.approx(37.58, abs=0.01)
    assert centre[0] == pytest.approx([0, 5.25], abs=0.01)
    west, south, east, north = shadow.bounds
    assert (east - west) / 2 == pytest.approx(3, rel=0.01)
    assert (north - south) / 2 == pytest.approx(3 / np.sin(np.radians(48.8)), rel=0.01)


@pytest.mark.parametrize("azimuth", [0.0, 37.0, 120.0, 270.0])
def test_a_spheroid_throws_the_shadow_of_its_own_points(azimuth):
    rng = np.random.default_rng(2)
    points = rng.normal(size=(4000, 3))
    points *= np.array([2.0, 2.0, 4.0]) / np.linalg.norm(points, axis=1)[:, None]
    points[:, 2] += 7.0
    landed = points[:, :2] + points[:, 2:] * throw(35.0, azimuth)
    shadow = crown(2, 3, 11, 35.0, azimuth)[1]
    assert shapely.contains_xy(shadow.buffer(0.05), landed).all()
    hull = shapely.MultiPoint(landed).convex_hull
    assert hull.area == pytest.approx(shadow.area, rel=0.02)


def test_a_crown_right_under_the_sun_shades_its_own_disc():
    centre, shadow = crown(4, 3, 10, 90.0)
    assert centre[0] == pytest.approx([0, 0], abs=1e-9)
    assert shadow.area == pytest.approx(np.pi * 16)


def test_a_wall_of_a_house_sweeps_what_it_is_high_over_the_tangent():
    # A house of 10 by 6 m, 5 m high, sun in the south at 45 degrees: 10 by 6, and 10 by 5 north of it.
    house = np.array([shapely.box(0, 0, 10, 6)])
    (shadow,) = prism_shadows(house, np.zeros(1), np.full(1, 5.0), throw([45.0], [180.0]))
    assert shapely.symmetric_difference(shadow, shapely.box(0, 0, 10, 11)).area < 1e-6


def test_a_court_keeps_its_sun_where_the_walls_are_low():
    ring = shapely.box(0, 0, 30, 30).difference(shapely.box(5, 5, 25, 25))
    parts, owner = convex_parts(np.array([ring]))
    heights, thrown = np.full(len(parts), 4.0), np.tile(throw(45.0, 180.0), (len(parts), 1))
    shadow = shapely.union_all(prism_shadows(parts, 0 * heights, heights, thrown))
    assert set(owner) == {0}
    assert shapely.area(parts).sum() == pytest.approx(ring.area)
    # 20 by 16 m of the court stay in the sun; 30 by 4 m lie in shade north of the house.
    assert shadow.area == pytest.approx(900 - 20 * 16 + 30 * 4)
