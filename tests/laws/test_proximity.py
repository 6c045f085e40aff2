"""What must hold of distances whatever the map."""

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, affinity, box

from playsite.proximity._dash_ground import WIDTH_M
from playsite.proximity.between import open_clearance_m
from playsite.proximity.clearance import clearance_m, nearest
from playsite.proximity.dash import dash_m
from playsite.proximity.walking import walk_m, walk_network

CLOSE_M = 1e-5
"""Ties are told apart to a micrometre; nodes are joined within a millimetre."""

place = st.tuples(st.integers(0, 30), st.integers(0, 30)).map(lambda p: (10.0 * p[0], 10.0 * p[1]))
points = st.lists(place.map(Point), min_size=1, max_size=5)
lines = st.lists(
    st.lists(place, min_size=2, max_size=4, unique=True).map(LineString),
    min_size=1,
    max_size=8,
)
boxes = st.lists(
    st.tuples(place, st.integers(3, 60), st.integers(3, 60)).map(
        lambda b: box(b[0][0] + 1, b[0][1] + 1, b[0][0] + 1 + b[1], b[0][1] + 1 + b[2]),
    ),
    max_size=4,
)
scenes = st.tuples(points, points, lines, boxes)
few = settings(max_examples=60, deadline=None)


def walks_m(origins, targets, streets, blocked, bridges=None):
    network = walk_network(streets, bridges=bridges, blocked=blocked)
    return walk_m(origins, targets, network, link_m=40).walk_m.to_numpy()


def never_more(small_m, big_m):
    assert np.all(small_m <= big_m + CLOSE_M)


@few
@given(scenes, place.map(Point))
def test_one_more_restroom_never_raises_a_walk(scene, restroom):
    origins, targets, streets, blocked = scene
    never_more(
        walks_m(origins, [*targets, restroom], streets, blocked),
        walks_m(origins, targets, streets, blocked),
    )


@few
@given(scenes, st.data())
def test_a_bridge_removed_never_shortens(scene, data):
    origins, targets, streets, blocked = scene
    bridges = data.draw(st.lists(st.booleans(), min_size=len(streets), max_size=len(streets)))
    bridges[0] = True
    # a walk is unknown without any network, not longer
    if len(streets) > 1:
        never_more(
            walks_m(origins, targets, streets, blocked, bridges),
            walks_m(origins, targets, streets[1:], blocked, bridges[1:]),
        )


@few
@given(scenes, boxes)
def test_more_buildings_never_shorten(scene, more):
    origins, targets, streets, blocked = scene
    # those that hold a target or an origin move the start of its links to their edge: leave them out
    shapes = shapely.union_all([*origins, *targets])
    more = [b for b in more if not b.intersects(shapes)]
    never_more(
        walks_m(origins, targets, streets, blocked),
        walks_m(origins, targets, streets, [*blocked, *more]),
    )


@few
@given(scenes)
def test_a_walk_is_as_long_as_its_path_and_never_shorter_than_straight(scene):
    origins, targets, streets, blocked = scene
    table = walk_m(origins, targets, walk_network(streets, blocked=blocked), link_m=40)
    outside = ~shapely.intersects(shapely.union_all(blocked), np.array(origins))
    found = table[np.isfinite(table.walk_m) & (table.note == "") & outside]
    np.testing.assert_allclose(shapely.length(found.path), found.walk_m, atol=0.005)
    never_more(found.straight_m - 0.005, found.walk_m)
    assert (table.note[np.isinf(table.walk_m)] != "").all()


@few
@given(scenes, st.randoms(use_true_random=False))
def test_order_of_rows_changes_nothing(scene, random):
    origins, targets, streets, blocked = scene
    before = walk_m(origins, targets, walk_network(streets, blocked=blocked), link_m=40)
    mixed = [random.sample(rows, len(rows)) for rows in (streets, blocked)]
    after = walk_m(origins, targets, walk_network(mixed[0], blocked=mixed[1]), link_m=40)
    np.testing.assert_allclose(after.walk_m, before.walk_m, atol=CLOSE_M)
    assert (after.note == before.note).all()
    order = random.sample(range(len(origins)), len(origins))
    again = walk_m(
        [origins[k] for k in order], targets, walk_network(streets, blocked=blocked), link_m=40
    )
    np.testing.assert_allclose(again.walk_m, before.walk_m.iloc[order], atol=CLOSE_M)
    assert again.target.tolist() == before.target.iloc[order].tolist()


@few
@given(scenes)
def test_moving_everything_changes_nothing(scene):
    moved = [[affinity.translate(g, 500_000, 4_000_000) for g in part] for part in scene]
    np.testing.assert_allclose(walks_m(*moved), walks_m(*scene), atol=CLOSE_M)
    np.testing.assert_allclose(
        clearance_m(moved[0], moved[2]), clearance_m(scene[0], scene[2]), atol=1e-8
    )


@few
@given(scenes)
def test_clearance_is_the_least_of_all_and_the_same_from_both_sides(scene):
    _, _, shapes, features = scene
    if not features:
        return
    every = shapely.distance(np.array(shapes)[:, None], np.array(features)[None])
    np.testing.assert_allclose(clearance_m(shapes, features), every.min(axis=1), atol=1e-9)
    np.testing.assert_allclose(clearance_m(features, shapes), every.min(axis=0), atol=1e-9)
    table = nearest(shapes, features)
    assert len(table) == len(shapes)
    lowest = [np.flatnonzero(row == row.min())[0] for row in every]
    assert table.feature.tolist() == lowest


@few
@given(points, lines, boxes, boxes)
def test_a_barrier_more_never_opens(origins, features, barriers, more):
    pads = [p.buffer(3, 1) for p in origins]
    options = {"reach_m": 60, "step_m": 5}
    free = open_clearance_m(pads, features, [], **options)
    some = open_clearance_m(pads, features, barriers, **options)
    many = open_clearance_m(pads, features, [*barriers, *more], **options)
    never_more(free, some)
    never_more(some, many)
    straight = clearance_m(pads, features)
    near = straight <= 60
    np.testing.assert_allclose(free[near], straight[near], atol=1e-9)


def dashes_m(pads, hazards, barriers):
    return dash_m(pads, hazards, barriers, reach_m=80).dash_m.to_numpy()


@few
@given(points, points, st.tuples(lines, boxes), st.tuples(lines, boxes))
def test_a_barrier_more_never_shortens_a_dash(origins, hazards, barriers, more):
    pads = [p.buffer(3, 1) for p in origins]
    barriers, more = (walls + houses for walls, houses in (barriers, more))
    free, some, many = (
        dashes_m(pads, hazards, walls) for walls in ([], barriers, [*barriers, *more])
    )
    straight = clearance_m(pads, hazards).to_numpy()
    np.testing.assert_allclose(free, np.where(straight <= 80, straight, np.inf), atol=1e-6)
    never_more(free, some)
    never_more(some, many)


@few
@given(points, points, lines, boxes, st.data())
def test_opening_a_gate_never_lengthens_a_dash_and_closing_it_gives_the_old_one(
    origins, hazards, fences, houses, data
):
    which = data.draw(st.integers(0, len(fences) - 1))
    at_m = fences[which].length * data.draw(st.floats(0.1, 0.9))
    leaf = Point(0, 0).buffer(data.draw(st.sampled_from([0.5, 2.0])))
    hole = affinity.translate(leaf, *fences[which].interpolate(at_m).coords[0])
    rest = [*fences[:which], *fences[which + 1 :], *houses]
    shut = dashes_m(origins, hazards, [*rest, fences[which]])
    open_m = dashes_m(origins, hazards, [*rest, fences[which].difference(hole)])
    never_more(open_m, shut)
    leaves = shapely.get_parts(fences[which].intersection(hole))
    again = dashes_m(origins, hazards, [*rest, fences[which].difference(hole), *leaves])
    np.testing.assert_allclose(
        again, shut, atol=2 * WIDTH_M
    )  # a joint cut anew turns on its corner


@few
@given(points, points, lines, boxes, place.map(Point))
def test_one_more_hazard_never_lengthens_a_dash(origins, hazards, fences, houses, hazard):
    barriers = [*fences, *houses]
    never_more(
        dashes_m(origins, [*hazards, hazard], barriers), dashes_m(origins, hazards, barriers)
    )


@few
@given(points, points, lines, boxes, st.randoms(use_true_random=False))
def test_a_dash_is_the_same_in_any_order_and_anywhere(origins, hazards, fences, houses, random):
    barriers = [*fences, *houses]
    before = dashes_m(origins, hazards, barriers)
    mixed = random.sample(barriers, len(barriers))
    np.testing.assert_allclose(dashes_m(origins, hazards, mixed), before, atol=CLOSE_M)
    moved = [
        [affinity.translate(g, 500_000, 4_000_000) for g in part]
        for part in (origins, hazards, barriers)
    ]
    np.testing.assert_allclose(dashes_m(*moved), before, atol=CLOSE_M)
    table = dash_m(origins, hazards, barriers, reach_m=80)
    found = table[np.isfinite(table.dash_m)]
    np.testing.assert_allclose(shapely.length(found.path), found.dash_m, atol=1e-6)
