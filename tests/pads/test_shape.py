"""The pad's outline, drawn to scale."""

import numpy as np
import pytest
import shapely

from playsite.pads.shape import pad_polygon, pad_polygons


@pytest.mark.parametrize("rotation_deg", [0, 17.3, 45, 90, 142.8, 179.9])
def test_a_pad_has_its_sides_and_its_long_side_points_along_the_rotation(rotation_deg):
    pad = pad_polygon(500_000, 4_650_000, rotation_deg, length_m=31.6, width_m=22.7)
    corners = shapely.get_coordinates(pad)
    sides_m = np.hypot(*np.diff(corners, axis=0).T)
    assert sorted(sides_m) == pytest.approx([22.7, 22.7, 31.6, 31.6], abs=1e-8)
    long_side = np.diff(corners, axis=0)[int(np.argmax(sides_m))]
    turned = np.degrees(np.arctan2(long_side[1], long_side[0])) - rotation_deg
    assert abs((turned + 90) % 180 - 90) < 1e-6
    assert (pad.centroid.x, pad.centroid.y) == pytest.approx((500_000, 4_650_000), abs=1e-6)


def test_many_pads_are_the_single_pads():
    places = np.array([[0, 0, 0], [10, -5, 30], [7, 7, 90.0]])
    many = pad_polygons(places, length_m=9, width_m=4)
    for place, pad in zip(places, many, strict=True):
        assert pad.equals_exact(pad_polygon(*place, length_m=9, width_m=4), 0)
    assert len(pad_polygons(np.empty((0, 3)), length_m=9, width_m=4)) == 0


@pytest.mark.parametrize("sides_m", [(0, 0), (20, 30), (-4, -5), (np.nan, 3), (np.inf, 3)])
def test_sides_that_make_no_pad_are_refused(sides_m):
    with pytest.raises(ValueError, match="length and a width"):
        pad_polygon(0, 0, 0, length_m=sides_m[0], width_m=sides_m[1])
