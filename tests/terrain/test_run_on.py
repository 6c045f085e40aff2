import numpy as np
import pytest
from affine import Affine
from scipy import sparse
from scipy.ndimage import gaussian_filter
from scipy.sparse.linalg import spsolve

from playsite.terrain import _routing
from playsite.terrain.arriving import arriving_m2
from playsite.terrain.drainage import drainage
from playsite.terrain.run_on import _routes, accumulate, pad_mask, run_on, run_on_mask
from playsite.terrain.run_on_range import drained_m2


def square(cells, cell_m=1.0):
    return Affine(cell_m, 0, 430_000, 0, -cell_m, 5_150_000 + cells * cell_m)


def relief(side, seed=0, *, sd_m=1.0, length=6, fall=0.02):
    smooth = gaussian_filter(np.random.default_rng(seed).normal(size=(side, side)), length)
    return sd_m * smooth / smooth.std() + fall * np.arange(side)[:, None]


def with_flats_and_gaps(seed):
    ground = np.round(relief(70, seed), 1)  # much level ground
    ground[30:33, 40:44] = np.nan
    return ground


def leaving(ground, *, multiple):
    """Cells of water that leave over the data's edge."""
    routes = _routes(ground, multiple=multiple)
    ends = routes.of_raster((routes.ways == 0).astype(float)) == 1
    return accumulate(ground, square(len(ground)), multiple=multiple)[ends].sum()


# --- Known answers --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("multiple", "mean", "sd", "within"),
    # an outward cone's specific area is r / 2 (geometry); one way all water: .87, .52, as tried
    # beforehand; Freeman (1991) chose the power 1.1 so that a cone's flow is even
    [(True, 1.05, 0.0, 0.02), (False, 0.87, 0.52, 0.03)],
)
def test_water_leaves_a_cone_as_evenly_as_the_way_of_dividing_allows(multiple, mean, sd, within):
    rows, columns = np.indices((401, 401)) - 200
    radius = np.hypot(rows, columns)
    area = accumulate(-0.05 * radius, square(401), multiple=multiple)
    ring = (radius > 20) & (radius < 190)
    ratio = area[ring] / (radius[ring] / 2)
    assert ratio.mean() == pytest.approx(mean, abs=0.01)
    assert ratio.std() == pytest.approx(sd, abs=within)


@pytest.mark.parametrize("multiple", [True, False])
@pytest.mark.parametrize("seed", range(3))
def test_all_water_reaches_the_edge_across_hollows_and_level_ground(multiple, seed):
    # conservation: what falls is what leaves
    ground = with_flats_and_gaps(seed)
    known = np.isfinite(ground).sum()
    assert abs(leaving(ground, multiple=multiple) / known - 1) < 1e-12


def test_a_strip_across_a_plane_gets_what_lies_above_it():
    # geometry: as much goes left as right, so width times distance to the top
    plane = np.repeat(0.03 * np.arange(60.0)[::-1, None], 200, axis=1)
    strip = np.zeros(plane.shape, bool)
    strip[50, 80:120] = True
    found = run_on_mask(plane, Affine(2, 0, 0, 0, -2, 120), strip)
    assert found.catchment_m2 == pytest.approx(4 * 40 * 51, rel=1e-12)
    assert found.pad_m2 == 4 * 40
    assert found.run_on_m2 == pytest.approx(4 * 40 * 50, rel=1e-12)
    np.testing.assert_allclose(accumulate(plane, square(60))[50, 80:120], 51)


def test_noise_on_a_plane_makes_stripes_of_single_ways_only():
    # 2 % with 5 mm noise: spread across the slope 3.0 and 0.44 of the mean, as tried beforehand
    noise = np.random.default_rng(0).normal(0, 0.005, (300, 300))
    plane = 0.02 * np.arange(300.0)[::-1, None] + noise
    spread = []
    for multiple in (False, True):
        across = accumulate(plane, square(300), multiple=multiple)[200:290, 60:240]
        spread.append((across.std(axis=1) / across.mean(axis=1)).mean())
    assert spread[0] > 2
    assert spread[1] < 0.6


def test_level_ground_has_no_stripes():
    # water of a slope crosses a level terrace to its foot as evenly as it came
    ground = np.repeat(np.concatenate([np.arange(40.0, 0, -1), np.zeros(40)])[:, None], 200, axis=1)
    for multiple in (False, True):
        area = accumulate(ground, square(80), multiple=multiple)
        # at the sides water leaves over the edge, as nothing is known beyond it
        expected = np.repeat(np.arange(1, 81)[:, None], 20, axis=1)
        np.testing.assert_allclose(area[:, 90:110], expected, rtol=1e-9)


def test_level_ground_drains_away_from_high_and_towards_low_ground():
    # the two gradients of Barnes, Lehman, Mulla (2014), by hand: steps from the high side plus
    # twice the steps to the way out
    ground = np.full((5, 7), 9.0)
    ground[1:4, 1:6] = 4
    ground[2, 6] = 3
    level = np.pad(ground, 1, constant_values=np.nan)
    steps = _routing.around(level.shape[1])
    flat = _routing.flat_steps(level, _routing.drops(level), steps).reshape(level.shape)
    # away from the wall: 1 beside it, 2 in the middle row; the way out is row 2, column 5
    expected = np.array([[9, 7, 5, 3, 0], [9, 6, 4, 2, 0], [9, 7, 5, 3, 0]])
    np.testing.assert_array_equal(flat[2:5, 2:7], expected)


# --- One pad --------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(3))
def test_one_cell_gets_what_the_whole_raster_added_up_says(seed):
    ground = with_flats_and_gaps(seed)
    whole = accumulate(ground, square(70))
    rng = np.random.default_rng(seed)
    for row, column in rng.integers(0, 70, (25, 2)):
        if np.isnan(ground[row, column]):
            continue
        pad = np.zeros(ground.shape, bool)
        pad[row, column] = True
        found = run_on_mask(ground, square(70), pad)
        assert found.catchment_m2 == pytest.approx(whole[row, column], rel=1e-12)


@pytest.mark.parametrize("seed", range(3))
def test_shares_solve_the_equations_that_define_them(seed):
    # s = F s off the pad, s = 1 on it: scipy's sparse solver
    ground = with_flats_and_gaps(seed)
    pad = pad_mask(ground.shape, square(70), [430_035, 5_150_030, 20], length_m=14, width_m=9)
    found = run_on_mask(ground, square(70), pad)
    routes, size = _routes(ground, multiple=True), 72 * 72
    on_pad = np.pad(pad, 1).ravel()
    share = np.empty(8)
    table = sparse.lil_array((size, size))
    for cell in np.flatnonzero((routes.ways > 0) & ~on_pad):
        height = routes.level.ravel()
        _routing.fractions(cell, routes.ways, height, routes.flat, routes.steps, share)
        for way in np.flatnonzero(share):
            table[cell, cell + routes.steps[way]] = share[way]
    solved = spsolve(sparse.eye_array(size, format="csr") - table.tocsr(), on_pad.astype(float))
    expected = solved.reshape(72, 72)[1:-1, 1:-1]
    known = np.isfinite(ground)
    np.testing.assert_allclose(found.shares[known], expected[known], atol=1e-12)
    assert np.isnan(found.shares[~known]).all()
    assert found.shares[known].min() >= 0
    assert 0.9 < found.shares[known & ~pad].max() <= 1 + 1e-12


@pytest.mark.parametrize("seed", range(4))
def test_what_arrives_over_the_outline_is_what_lies_above(seed):
    ground = with_flats_and_gaps(seed)
    pad = pad_mask(ground.shape, square(70), [430_035, 5_150_030, 20], length_m=14, width_m=9)
    found = run_on_mask(ground, square(70), pad)
    assert np.nansum(found.inflow_m2) == pytest.approx(found.run_on_m2, rel=1e-12)
    assert (found.inflow_m2[~pad & np.isfinite(ground)] == 0).all()
    inner = pad & np.pad(pad, 1)[2:, 1:-1] & np.pad(pad, 1)[:-2, 1:-1]
    inner &= np.pad(inner, 1)[1:-1, 2:] & np.pad(inner, 1)[1:-1, :-2]
    assert (found.inflow_m2[inner] == 0).all()


@pytest.mark.parametrize("seed", range(4))
def test_many_pads_get_what_following_each_one_uphill_says(seed):
    # pads of all sizes, over level ground, gaps and the data's edge, and one without elevation
    ground, rng = with_flats_and_gaps(seed), np.random.default_rng(seed)
    ground += rng.normal(0, 0.05 * (seed % 2), ground.shape)
    ways = drainage(ground, square(70))
    masks = [
        pad_mask(ground.shape, square(70), place, length_m=long_m, width_m=short_m)
        for place, long_m, short_m in zip(
            rng.uniform([430_000, 5_150_000, 0], [430_070, 5_150_070, 180], (40, 3)),
            rng.uniform(1, 40, 40),
            rng.uniform(1, 25, 40),
            strict=True,
        )
    ]
    masks.append(np.isnan(ground))
    followed = [drained_m2(ways, mask) for mask in masks]
    found = arriving_m2(ways, [np.argwhere(mask) for mask in masks])
    np.testing.assert_allclose(found, followed, rtol=1e-12, atol=1e-9)
    assert np.isnan(found[-1])
    assert np.nanmax(found) > 500


def test_a_longer_wall_above_a_pad_lets_less_through():
    plane = np.repeat(0.03 * np.arange(120.0)[::-1, None], 160, axis=1)
    place = [430_080, 5_150_020, 0]
    areas = []
    for half in (0, 5, 10, 20, 30, 40):
        walled = plane.copy()
        walled[80, 80 - half : 80 + half] += 2
        areas.append(run_on(walled, square(120), place, length_m=20, width_m=10).catchment_m2)
    assert areas == sorted(areas, reverse=True)
    assert areas[-1] < 0.5 * areas[0]


def test_the_edge_of_the_data_makes_it_a_lower_bound():
    rows, columns = np.indices((121, 121)) - 60
    hill = -0.05 * np.hypot(rows, columns)
    size = {"length_m": 8, "width_m": 8}
    on_the_hill = run_on(hill, square(121), [430_080.5, 5_150_060.5, 0], **size)
    assert not on_the_hill.is_lower_bound
    hill[60, 70] = np.nan
    assert run_on(hill, square(121), [430_080.5, 5_150_060.5, 0], **size).is_lower_bound
    plane = np.repeat(0.03 * np.arange(121.0)[::-1, None], 121, axis=1)
    assert run_on(plane, square(121), [430_060, 5_150_060, 0], **size).is_lower_bound


def test_a_pad_off_the_data_gets_nothing():
    ground = relief(40)
    for place in ([429_000, 5_150_020, 0], [np.nan, 0, 0]):
        found = run_on(ground, square(40), place, length_m=8, width_m=8)
        assert (found.catchment_m2, found.pad_m2, found.run_on_m2) == (0, 0, 0)
        assert not found.is_lower_bound


def test_masks_of_another_shape_are_refused():
    with pytest.raises(ValueError, match=r"cells are \(3, 3\), but the elevation is \(4, 4\)"):
        run_on_mask(np.zeros((4, 4)), square(4), np.ones((3, 3), bool))
