import numpy as np
import pytest
import shapely
from affine import Affine

from playsite.terrain.banks import let_through, suspected_culverts
from playsite.terrain.filling import filled

CELLS = 201
FOOT_M, CROWN_M, SIDE = 80.0, 9.0, 2.5
"""Downstream foot of the bank, width of its level crown, run of its sides to one of rise."""

CLOSED_M = (1.5 - 0.02 * (SIDE * 1.5 + CROWN_M)) / (1 + 0.02 * SIDE)
"""Depth behind the bank by plane geometry: the crown stands 1.5 m above the downstream foot, the
upstream foot lies 3.75 + 9 + 2.5 d further up a fall of 2 %: d = 1.5 - .02 (12.75 + 2.5 d)."""


def square(cells=CELLS, cell_m=1.0):
    return Affine(cell_m, 0, 430_000, 0, -cell_m, 5_150_000 + cells * cell_m)


def valley(*, bank=True, noise_seed=None):
    """Valley of 2 %, sides of 6 %, with a street on a bank across it; and the street's cells."""
    rows, columns = np.indices((CELLS, CELLS))
    up, across = CELLS - 0.5 - rows, columns - CELLS // 2
    ground = 100 + 0.02 * up + 0.06 * abs(across)
    first, last = FOOT_M + SIDE * 1.5, FOOT_M + SIDE * 1.5 + CROWN_M
    if bank:
        off = np.maximum(0, np.maximum(first - up, up - last))
        ground = np.maximum(ground, 100 + 0.02 * FOOT_M + 1.5 - off / SIDE)
    if noise_seed is not None:
        ground += np.random.default_rng(noise_seed).normal(0, 0.05, ground.shape)
    return ground, (up > first) & (up < last)


def straight_through():
    """The culvert: the crown's width, in the valley's bottom."""
    x, y = 430_000 + CELLS / 2, 5_150_000 + FOOT_M + SIDE * 1.5
    return shapely.LineString([(x, y), (x, y + CROWN_M)])


def test_the_known_answer_is_about_what_it_was_before():
    assert pytest.approx(1.18, abs=0.01) == CLOSED_M


def test_a_bank_across_a_valley_is_one_suspected_culvert():
    ground, ways = valley()
    (found,) = suspected_culverts(ground, square(), ways)
    # cells of 1 m: the lowest centre lies up to one cell above the foot
    assert found.depth_m == pytest.approx(CLOSED_M, abs=0.025)
    assert found.bank_m == pytest.approx(CLOSED_M, abs=0.025)
    # straight across, entry and exit in line
    assert np.ptp(found.path[:, 0]) <= 1
    assert found.path[0, 1] > found.path[-1, 1]
    assert found.crown[0] == pytest.approx(430_000 + CELLS / 2, abs=1)
    assert 5_150_083 < found.crown[1] < 5_150_094
    assert found.length_m == pytest.approx(SIDE * 1.5 + CROWN_M + SIDE * CLOSED_M, abs=2)
    # two sides of 6 % to a fall of 2 %: a wedge of d/.06 by d/.02, d^3 / (3 x .06 x .02)
    wedge_m3 = CLOSED_M**3 / (3 * 0.06 * 0.02)
    assert wedge_m3 == pytest.approx(found.volume_m3, rel=0.15)
    assert found.is_lower_bound
    assert not found.is_mapped


@pytest.mark.parametrize("seed", range(3))
def test_noise_neither_hides_nor_doubles_it(seed):
    ground, ways = valley(noise_seed=seed)
    (found,) = suspected_culverts(ground, square(), ways)
    assert found.depth_m == pytest.approx(CLOSED_M, abs=0.15)
    assert np.ptp(found.path[:, 0]) <= 4


@pytest.mark.parametrize("seed", [None, 0, 1, 2])
def test_no_bank_is_no_culvert(seed):
    ground, ways = valley(bank=False, noise_seed=seed)
    assert suspected_culverts(ground, square(), ways) == []


def test_a_bank_without_a_way_on_it_is_none():
    ground, ways = valley()
    assert suspected_culverts(ground, square(), np.zeros_like(ways)) == []


def test_a_way_that_lies_beside_the_bank_is_none():
    ground, ways = valley()
    assert suspected_culverts(ground, square(), np.roll(ways, 40, axis=0)) == []


def test_a_way_that_ends_on_the_bank_is_not_crossed_from_side_to_side():
    ground, ways = valley()
    ways[:, : CELLS // 2 - 4] = False
    ways[:, CELLS // 2 + 5 :] = False
    assert suspected_culverts(ground, square(), ways) == []


def test_a_low_bank_and_a_small_catchment_need_none():
    ground, ways = valley()
    assert suspected_culverts(np.minimum(ground, 102.05), square(), ways) == []
    small, small_ways = ground[85:135, 75:126].copy(), ways[85:135, 75:126]
    assert suspected_culverts(small, square(50), small_ways) == []


def test_hollows_without_lower_ground_in_reach_are_none():
    ground = np.full((90, 90), 50.0)
    ground[30:60, 30:60] = 48
    assert suspected_culverts(ground, square(90), np.ones((90, 90), bool)) == []


@pytest.mark.parametrize(("away_m", "is_mapped"), [(0, True), (9, True), (12, False)])
def test_a_mapped_culvert_near_by_is_told(away_m, is_mapped):
    ground, ways = valley()
    mapped = [(430_000 + CELLS / 2 + away_m, 5_150_088), (0, 0)]
    (found,) = suspected_culverts(ground, square(), ways, mapped=mapped)
    assert found.is_mapped is is_mapped


def test_ways_of_another_shape_are_refused():
    with pytest.raises(ValueError, match=r"ways are \(3, 3\), but the elevation is \(4, 4\)"):
        suspected_culverts(np.zeros((4, 4)), square(4), np.zeros((3, 3), bool))


# --- Golden 10: a road's bank with and without its culvert ------------------------------------


def test_a_bank_ponds_without_its_culvert_and_not_with_it():
    ground, ways = valley()
    assert (filled(ground) - ground).max() > 1.1
    through = let_through(ground, square(), [straight_through()], reach_m=5)
    assert (filled(through) - through).max() < 0.01
    assert suspected_culverts(through, square(), ways) == []


def test_a_found_way_lets_the_water_through():
    ground, ways = valley(noise_seed=1)
    (found,) = suspected_culverts(ground, square(), ways)
    through = let_through(ground, square(), [shapely.LineString(found.path)])
    assert (filled(ground) - ground).max() > 1
    assert (filled(through) - through).max() < 0.25  # the noise's own hollows


def test_the_cut_falls_evenly_and_raises_nothing():
    ground, _ = valley(noise_seed=2)
    before = ground.copy()
    line = straight_through()
    through = let_through(ground, square(), [line, line.reverse()], reach_m=4)
    np.testing.assert_array_equal(ground, before)
    assert (through <= ground).all()
    rows, columns = np.nonzero(through < ground)
    assert 8 <= len(rows) <= 20
    in_order = through[rows, columns][np.argsort(rows)]
    assert (np.diff(in_order) <= 1e-12).all()


def test_a_deeper_place_on_the_way_makes_no_step_up():
    ground = np.array([[5.0, 9, 2, 9, 3]] * 3)
    line = shapely.LineString([(430_000.5, 5_150_001.5), (430_004.5, 5_150_001.5)])
    through = let_through(ground, square(3), [line], reach_m=0)[1]
    np.testing.assert_allclose(through, [5, 4.5, 2, 3, 3])


def test_lines_off_the_data_change_nothing():
    ground = np.full((5, 5), 7.0)
    ground[2, 2] = np.nan
    off = shapely.LineString([(0, 0), (9, 9)])
    over_the_gap = shapely.LineString([(430_000.5, 5_150_002.5), (430_004.5, 5_150_002.5)])
    through = let_through(ground, square(5), [off, over_the_gap, shapely.LineString()])
    np.testing.assert_array_equal(through, ground)


def test_a_line_along_the_rasters_first_row_is_cut_too():
    ground = np.array([[5.0, 9, 9, 9, 3]])
    line = shapely.LineString([(430_000.5, 5_150_000.5), (430_900, 5_150_000.5)])
    through = let_through(ground, square(1), [line], reach_m=0)
    np.testing.assert_allclose(through, [[5, 4.5, 4, 3.5, 3]])


def test_a_reach_below_nothing_is_refused():
    with pytest.raises(ValueError, match="reach must be 0 m or more, but it is -1"):
        let_through(np.zeros((3, 3)), square(3), [], reach_m=-1)
