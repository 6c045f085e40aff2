import heapq
import itertools
import math

import numpy as np
import pytest
import shapely
from affine import Affine
from numba import njit

from playsite.terrain.outlet import find_outlet
from playsite.terrain.pipe_moves import crossed_cells, moves

CELL_M = 1.0


def on_cells(rows, cell_m=CELL_M):
    return Affine(cell_m, 0, 0, 0, -cell_m, rows * cell_m)


# --- Against enumeration ------------------------------------------------------------------


def every_way(world, *, fall, reach):
    """Length of the shortest pipe by trying every course without a loop, and every cell to come up.

    The rules are written out again here, one course and one choice at a time.
    """
    ground, free, into, invert_m, rules = world
    both = itertools.product(range(-reach, reach + 1), repeat=2)
    steps = [(i, j) for i, j in both if math.gcd(i, j) == 1]
    pieces = [[*crossed_by_sampling(*step), (*step, 1.0)] for step in steps]
    begins = np.cumsum([0, *map(len, pieces)])
    if ground[0, 0] - invert_m > rules["deepest"]:
        return math.inf
    seen = np.zeros(ground.shape, bool)
    limits = (fall, rules["cover"], rules["deepest"], rules["freeboard"])
    told = (limits, begins, np.concatenate(pieces))
    return go(ground, free, into, (0, 0), (invert_m, False, 0.0), seen, told, math.inf)


@njit
def go(ground, free, into, at, state, seen, rules, best):
    """Go on from a cell in every way; gives back the least length found so far."""
    (row, column), (invert, up, length), (limits, begins, cells) = at, state, rules
    seen[row, column] = True
    for step in range(len(begins) - 1):
        piece = cells[begins[step] : begins[step + 1]]
        i, j = row + int(piece[-1, 0]), column + int(piece[-1, 1])
        further = length + math.hypot(piece[-1, 0], piece[-1, 1])
        if not (0 <= i < ground.shape[0] and 0 <= j < ground.shape[1]):
            continue
        if seen[i, j] or further >= best:
            continue
        for up_from in range(1 if up else len(piece) + 1):
            now = lay(ground, free, row, column, piece, invert, up_from, limits)
            if math.isnan(now):
                continue
            if up_from < len(piece):
                ends = now >= ground[i, j] + limits[3] - 1e-9
            else:
                ends = now >= into[i, j] - 1e-9
            if ends:
                best = further
                break
            after = (now, up_from < len(piece), further)
            best = go(ground, free, into, (i, j), after, seen, rules, best)
    seen[row, column] = False
    return best


@njit
def lay(ground, free, row, column, piece, invert, up_from, limits):
    """Invert at the piece's end if the pipe is up from this of its cells on; NaN if it can't be."""
    fall, cover, deepest, freeboard = limits
    length, behind = math.hypot(piece[-1, 0], piece[-1, 1]), 0.0
    for order in range(len(piece)):
        i, j = row + int(piece[order, 0]), column + int(piece[order, 1])
        if not free[i, j]:
            return math.nan
        invert -= fall * length * (piece[order, 2] - behind)
        behind = piece[order, 2]
        below = ground[i, j] - invert
        if order < up_from:
            below = max(below, cover)
            invert = ground[i, j] - below
        elif below >= cover and below > 1e-9 - freeboard:
            return math.nan
        if below > deepest + 1e-9:
            return math.nan
    return invert


def crossed_by_sampling(down, across):
    """Cells that a piece crosses, by many points along it, and where it is closest to each."""
    shares = (np.arange(9998) + 0.5) / 9998
    cells = dict.fromkeys(
        (round(float(i)), round(float(j)))
        for i, j in zip(down * shares, across * shares, strict=True)
    )
    squared = down**2 + across**2
    between = [cell for cell in cells if cell not in {(0, 0), (down, across)}]
    return [(i, j, (i * down + j * across) / squared) for i, j in between]


@pytest.mark.parametrize("neighbours", [8, 16, 32])
def test_the_cells_a_piece_crosses_are_those_of_points_along_it(neighbours):
    rows_and_columns, begins, crossed = moves(neighbours)
    for step, (first, last) in zip(rows_and_columns, itertools.pairwise(begins), strict=True):
        expected = np.array(crossed_by_sampling(*map(int, step))).reshape(-1, 3)
        np.testing.assert_allclose(crossed[first:last], expected)
    np.testing.assert_array_equal(
        crossed_cells(3, -5), np.array(crossed_by_sampling(3, -5)).reshape(-1, 3)
    )


def first_come(world, *, fall):
    """Length by the search that keeps one label a cell, which a swale leads astray."""
    ground, free, into, invert_m, rules = world
    limits = (fall, rules["cover"], rules["deepest"], rules["freeboard"])
    steps = [step for step in itertools.product((-1, 0, 1), repeat=2) if step != (0, 0)]
    queue, settled = [(0.0, (0, 0), False, invert_m, False)], set()
    while queue:
        length, at, up, invert, ends = heapq.heappop(queue)
        if ends:
            return length
        if (at, up) in settled:
            continue
        settled.add((at, up))
        for step in steps:
            i, j = at[0] + step[0], at[1] + step[1]
            if not (0 <= i < ground.shape[0] and 0 <= j < ground.shape[1]):
                continue
            piece = np.array([(*step, 1.0)])
            for up_from in [0] if up else [0, 1]:
                now = lay(ground, free, *at, piece, invert, up_from, limits)
                if not math.isnan(now):
                    over = ground[i, j] + limits[3] if up_from == 0 else into[i, j]
                    further = length + math.hypot(*step)
                    heapq.heappush(queue, (further, (i, j), up_from == 0, now, now >= over - 1e-9))
    return math.inf


def small_world(seed, shape):
    """A small slope with a swale, some land that may not be dug, at times an inlet."""
    rng = np.random.default_rng(seed)
    rows, columns = np.indices(shape)
    ground = 10 - rng.uniform(0, 0.03) * columns - rng.uniform(-0.02, 0.02) * rows
    ground[:, 1:-1] -= rng.uniform(0, 0.5, (shape[0], shape[1] - 2))
    ground[:, -1] -= rng.uniform(0, 0.8, shape[0])
    free = rng.random(shape) > 0.2
    free[0, 0] = True
    into = np.full(shape, np.inf)
    if rng.random() < 0.3:
        into[-1, -1] = 10 - rng.uniform(0.3, 1)
    rules = {
        "cover": float(rng.choice([0, 0.15, 0.3])),
        "deepest": float(rng.choice([np.inf, 0.6])),
        "freeboard": float(rng.choice([0, 0.05])),
    }
    return ground, free, into, 10 - rng.uniform(0.2, 0.6), rules


@pytest.mark.parametrize(
    ("neighbours", "shape", "worlds"), [(8, (3, 5), 300), (16, (3, 4), 100), (32, (2, 4), 60)]
)
def test_no_course_of_all_is_shorter(neighbours, shape, worlds):
    found = astray = 0
    transform = on_cells(shape[0])
    for seed in range(worlds):
        world = ground, free, into, invert_m, rules = small_world(seed, shape)
        options = {
            "inlets": [(shape[1] - 0.5, 0.5, into[-1, -1])] if np.isfinite(into).any() else [],
            "freeboard_m": rules["freeboard"],
            "neighbours": neighbours,
            "straighten": False,
        }
        deepest_m = None if math.isinf(rules["deepest"]) else rules["deepest"]
        covered = {"cover_m": rules["cover"], "deepest_m": deepest_m}
        pipe = find_outlet(ground, transform, free, (0, 0), invert_m, **options, **covered)
        best = every_way(world, fall=0.01, reach={8: 1, 16: 2, 32: 3}[neighbours])
        assert (math.inf if pipe is None else pipe.length_m) == pytest.approx(best), seed
        if pipe is not None:
            found += 1
            astray += neighbours == 8 and first_come(world, fall=0.01) > pipe.length_m + 1e-6
    # the worlds must be such that there is something to get wrong
    assert 0.3 < found / worlds < 0.95
    assert astray >= (5 if neighbours == 8 else 0)


# --- Known answers ------------------------------------------------------------------------


def falling_east(grade_pct, *, length_m=70.0, cell_m=0.25, rows=9):
    columns = np.arange(round(length_m / cell_m))
    ground = 10 - grade_pct / 100 * cell_m * np.tile(columns, (rows, 1))
    return ground, on_cells(rows, cell_m), np.full(ground.shape, fill_value=True)


@pytest.mark.parametrize(("grade_pct", "length_m"), [(5, 13.75), (3, 27.5), (2, 55), (1, None)])
@pytest.mark.parametrize("cover_m", [0, 0.3])
def test_a_plane_is_reached_at_depth_over_difference_of_grades(grade_pct, length_m, cover_m):
    # derived: L = d / (s - g), d = 0.55, g = 1 %
    ground, transform, free = falling_east(grade_pct)
    pipe = find_outlet(
        ground, transform, free, (4, 0), 9.45, freeboard_m=0, cover_m=cover_m, fall_pct=1
    )
    if length_m is None:
        assert pipe is None
        return
    assert pipe.length_m == pytest.approx(length_m)
    assert pipe.ends == "daylight"
    assert pipe.invert_end_m == pytest.approx(9.45 - 0.01 * length_m)
    assert pipe.deepest_trench_m == pytest.approx(0.55)
    assert pipe.line.length == pytest.approx(length_m)
    assert len(pipe.line.coords) == 2


def test_freeboard_is_depth_too():
    ground, transform, free = falling_east(5)
    pipe = find_outlet(ground, transform, free, (4, 0), 9.45)
    assert pipe.length_m == pytest.approx((0.55 + 0.1) / 0.04)
    assert pipe.invert_end_m == pytest.approx(10 - 0.05 * pipe.length_m + 0.1)


def test_daylight_or_an_inlet_at_the_start_needs_no_pipe():
    ground, transform, free = falling_east(5)
    for pipe in (
        find_outlet(ground, transform, free, (4, 0), 10.2),
        find_outlet(ground, transform, free, (4, 0), 9.5, inlets=[(0.1, 1.1, 9.4)]),
    ):
        assert (pipe.length_m, pipe.line.length) == (0, 0)


def test_an_inlet_counts_only_if_it_is_low_enough():
    ground, transform, free = falling_east(0)
    # 20 m away the pipe has come down to 9.25
    for inlet_m, reached in ((9.25, True), (9.26, False)):
        pipe = find_outlet(ground, transform, free, (4, 0), 9.45, inlets=[(20.125, 1.125, inlet_m)])
        assert (pipe is not None) == reached
        if reached:
            assert (pipe.ends, pipe.length_m) == ("inlet", pytest.approx(20))
            assert pipe.invert_end_m == pytest.approx(9.25)


def test_a_swale_across_the_way_pushes_the_pipe_down_and_makes_it_longer():
    ground, transform, free = falling_east(2, length_m=140)
    straight = find_outlet(ground, transform, free, (4, 0), 9.45, cover_m=0.3)
    ground[:, 40:44] -= 0.5  # at 10 m: the bottom is at 9.3 and the pipe must lie at 9.0
    under = find_outlet(ground, transform, free, (4, 0), 9.45, cover_m=0.3)
    # from there 0.8 m below the slope, where it would be 0.45 m
    assert under.length_m > straight.length_m + 15
    assert under.deepest_trench_m > straight.deepest_trench_m + 0.2


def test_a_swale_that_can_be_passed_is_passed_by():
    ground, transform, free = falling_east(2, length_m=140, rows=60)
    ground[:40, 40:44] -= 0.5
    around = find_outlet(ground, transform, free, (4, 0), 9.45, cover_m=0.3)
    ground[:, 40:44] = ground[0, 40:44]
    under = find_outlet(ground, transform, free, (4, 0), 9.45, cover_m=0.3)
    assert around.length_m < under.length_m
    assert around.line.bounds[1] < (60 - 40) * 0.25


def test_the_trench_has_its_bound():
    ground, transform, free = falling_east(5)
    ground[:, 20:24] += 1.0
    assert find_outlet(ground, transform, free, (4, 0), 9.45, deepest_m=1.5)
    assert find_outlet(ground, transform, free, (4, 0), 9.45, deepest_m=1.0) is None
    assert find_outlet(ground, transform, free, (4, 0), 9.45, deepest_m=0.5) is None


@pytest.mark.parametrize(("neighbours", "over"), [(8, 0.11), (16, 0.02), (32, 0.01)])
@pytest.mark.parametrize("direction_deg", [10, 22.5, 37])
def test_a_course_is_nearly_straight_whatever_the_direction(neighbours, over, direction_deg):
    rows, columns = np.indices((220, 220)) * 0.25
    turn = math.radians(direction_deg)
    ground = 10 - 0.05 * (columns * math.cos(turn) + rows * math.sin(turn))
    free = np.isfinite(ground)
    straight_m = (ground[2, 2] - 9.0 + 0.1) / 0.04
    bent, pipe = (
        find_outlet(
            ground,
            on_cells(220, 0.25),
            free,
            (2, 2),
            9.0,
            neighbours=neighbours,
            straighten=straighten,
        )
        for straighten in (False, True)
    )
    assert straight_m - 1e-6 <= pipe.length_m <= bent.length_m
    assert pipe.length_m == pytest.approx(straight_m, rel=over)


def test_only_allowed_and_known_ground_is_used_whatever_says_so():
    ground, transform, free = falling_east(5)
    land = shapely.box(0, 0, 12, 3)
    assert find_outlet(ground, transform, land, (4, 0), 9.45) is None
    far = shapely.box(0, 0, 20, 3)
    as_shape = find_outlet(ground, transform, far, shapely.Point(0.1, 1.1), 9.45)
    as_mask = find_outlet(ground, transform, free, (4, 0), 9.45)
    assert as_shape == as_mask
    ground[:, 50] = np.nan
    assert find_outlet(ground, transform, free, (4, 0), 9.45) is None


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"fall_pct": -1}, "fall"),
        ({"cover_m": math.nan}, "cover"),
        ({"deepest_m": -1}, "greatest depth"),
        ({"freeboard_m": math.inf}, "freeboard"),
        ({"neighbours": 12}, "8, 16 or 32"),
        ({"invert_m": math.nan}, "invert"),
        ({"start": (-1, 0)}, "must start"),
        ({"start": (4, 1)}, "must start"),
        ({"allowed": np.ones((9, 280))}, "true and false"),
        ({"allowed": np.full((2, 2), fill_value=True)}, "shape"),
    ],
)
def test_what_makes_no_sense_is_refused(change, says):
    ground, transform, free = falling_east(5)
    ground[4, 1] = np.nan
    given = {"allowed": free, "start": (4, 0), "invert_m": 9.45} | change
    with pytest.raises(ValueError, match=says):
        find_outlet(ground, transform, **given)
