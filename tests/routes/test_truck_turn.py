"""Turning: a right-angle bend opens where the design truck's radii say so."""

import numpy as np
import pytest
import shapely
from shapely import LineString, Polygon, box

from playsite.routes.truck_turn import SU_30, drive, turns_in


def bend(width_m):
    """Corridors of one width, east and then north; poses at the start, the far end, the walls."""
    walls = [box(-5, -3, 43, 0), box(40, -3, 43, 45), box(-5, width_m, 40 - width_m, 45)]
    aside = [off for off in np.arange(-2, 2.1, 0.5) if abs(off) < width_m / 2 - 1.3]
    starts = [(3, width_m / 2 + off, 0) for off in aside]
    return starts, box(40 - width_m, 40, 40, 45), walls


def bodies(poses):
    own = box(
        -SU_30.rear_m, -SU_30.width_m / 2, SU_30.wheelbase_m + SU_30.front_m, SU_30.width_m / 2
    )
    for x, y, heading, _ in poses:
        turned = shapely.affinity.rotate(own, heading, origin=(0, 0), use_radians=True)
        yield shapely.affinity.translate(turned, x, y)


@pytest.mark.parametrize(("width_m", "opens"), [(6.0, False), (6.5, False), (7.2, True), (8, True)])
def test_a_right_angle_bend_opens_between_6_5_and_7_2_m_forwards(width_m, opens):
    # 7.17 m is enough: the arc of the outer front corner less that of the inner wheel over sqrt 2
    starts, goal, walls = bend(width_m)
    assert (drive(starts, goal, walls, backs=False) is not None) == opens


def test_backing_up_helps_in_a_narrower_bend():
    starts, goal, walls = bend(6.5)
    poses = drive(starts, goal, walls)
    assert (poses[:, 3] < 0).any()


def test_a_drive_touches_nothing_bends_no_tighter_and_ends_where_it_should():
    starts, goal, walls = bend(7.2)
    poses = drive(starts, goal, walls, backs=False)
    solid = shapely.union_all(walls)
    assert not any(body.intersects(solid) for body in bodies(poses))
    turned = np.abs(np.diff(poses[:, 2]))
    gone_m = np.hypot(*np.diff(poses[:, :2], axis=0).T)
    assert (turned <= gone_m / SU_30.axle_radius_m * 1.01 + 1e-9).all()
    assert list(bodies(poses))[-1].intersects(goal)


def test_a_street_as_wide_as_a_truck_is_long_lets_it_turn_into_a_gate_and_a_narrow_one_does_not():
    pad = box(-8, 14, 8, 40)

    def turning(gate_m, street_m):
        fences = [box(-90, 10, -gate_m / 2, 10.2), box(gate_m / 2, 10, 90, 10.2)]
        line = LineString([(-90, 7.5 - street_m / 2), (90, 7.5 - street_m / 2)])
        houses = [box(-90, 4.5 - street_m, 90, 7.5 - street_m)]
        return turns_in(LineString([(0, 14), (0, 7.5)]), line, pad, [*fences, *houses])

    assert turning(8.0, 12.0) == "forwards"
    assert turning(3.0, 2.5) == ""


def test_from_a_car_park_it_may_start_in_any_direction():
    assert turns_in(LineString([(0, 30), (0, 0)]), None, box(-5, 30, 5, 40), []) == "forwards"


def test_the_same_scene_turned_gives_the_same_answer():
    for width_m, opens in ((6.3, False), (7.4, True)):
        starts, goal, walls = bend(width_m)
        turn = np.radians(33)
        c, s = np.cos(turn), np.sin(turn)
        turned = [(c * x - s * y, s * x + c * y, h + turn) for x, y, h in starts]
        shapes = [shapely.affinity.rotate(each, 33, origin=(0, 0)) for each in [goal, *walls]]
        assert (drive(turned, shapes[0], shapes[1:], backs=False) is not None) == opens


def test_a_closed_yard_is_no_drive():
    yard = Polygon(box(-15, -15, 15, 15).exterior, [box(-14, -14, 14, 14).exterior.coords])
    assert drive([(0, 0, 0)], box(30, -3, 40, 3), [yard]) is None
