import numpy as np
import pytest

from playsite.terrain.grade import cell_grade_pct


def plane(east, north, *, shape=(30, 40), cell_m=1.0, kind=np.float64):
    rows, columns = np.indices(shape)
    return (east * columns * cell_m - north * rows * cell_m).astype(kind)


@pytest.mark.parametrize("kind", [np.float32, np.float64])
@pytest.mark.parametrize("cell_m", [0.5, 1.0, 3.0])
def test_a_plane_has_its_grade_in_every_inner_cell(kind, cell_m):
    grade_pct = cell_grade_pct(plane(0.02, 0.03, cell_m=cell_m, kind=kind), cell_m=cell_m)
    assert grade_pct.dtype == kind
    tolerance = 1e-10 if kind is np.float64 else 1e-3
    np.testing.assert_allclose(grade_pct[1:-1, 1:-1], 100 * np.hypot(0.02, 0.03), atol=tolerance)


def test_the_edge_is_missing():
    grade_pct = cell_grade_pct(np.zeros((5, 6)), cell_m=1)
    edge = np.ones((5, 6), bool)
    edge[1:-1, 1:-1] = False
    np.testing.assert_array_equal(np.isnan(grade_pct), edge)


@pytest.mark.parametrize("down", [-1, 0, 1])
@pytest.mark.parametrize("right", [-1, 0, 1])
def test_any_missing_cell_of_the_window_makes_the_grade_missing(down, right):
    ground = np.zeros((7, 7))
    ground[3 + down, 3 + right] = np.nan
    assert np.isnan(cell_grade_pct(ground, cell_m=1)[3, 3])


def test_cells_away_from_a_missing_one_keep_their_grade():
    ground = plane(0.1, 0)
    ground[10, 10] = np.nan
    grade_pct = cell_grade_pct(ground, cell_m=1)
    assert np.isnan(grade_pct[9:12, 9:12]).all()
    assert np.isfinite(grade_pct[1:-1, 1:-1]).sum() == 28 * 38 - 9


@pytest.mark.parametrize("shape", [(1, 1), (2, 9), (9, 2), (0, 5), (3, 0)])
def test_ground_without_a_whole_window_is_all_missing(shape):
    grade_pct = cell_grade_pct(np.zeros(shape), cell_m=1)
    assert grade_pct.shape == shape
    assert np.isnan(grade_pct).all()


def test_strips_do_not_show():
    ground = np.random.default_rng(1).normal(size=(517, 40))
    at_once = np.vstack(
        [cell_grade_pct(ground[row : row + 3], cell_m=1)[1] for row in range(len(ground) - 2)]
    )
    np.testing.assert_array_equal(cell_grade_pct(ground, cell_m=1)[1:-1], at_once)


def test_the_array_given_is_the_one_written_to():
    ground, out = plane(0.05, 0), np.empty((30, 40))
    assert cell_grade_pct(ground, cell_m=1, out=out) is out
    assert out[5, 5] == pytest.approx(5)


def test_whole_numbers_and_other_layouts_are_read():
    ground = np.asfortranarray(np.tile(np.arange(8, dtype=np.int16), (5, 1)))
    assert cell_grade_pct(ground, cell_m=10)[2, 3] == pytest.approx(10)


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"cell_m": 0}, "above 0 m, but it is 0"),
        ({"cell_m": float("nan")}, "but it is nan"),
        ({"cell_m": 1, "out": np.empty((2, 2))}, r"shape \(3, 3\)"),
        ({"cell_m": 1, "out": np.empty((3, 3), np.float32)}, "it is float32"),
    ],
)
def test_what_makes_no_sense_is_refused(options, told):
    with pytest.raises(ValueError, match=told):
        cell_grade_pct(np.zeros((3, 3)), **options)


def test_writing_over_the_elevation_is_refused():
    ground = np.zeros((3, 3))
    with pytest.raises(ValueError, match="must not be the elevation itself"):
        cell_grade_pct(ground, cell_m=1, out=ground)


def test_elevation_that_is_no_raster_is_refused():
    with pytest.raises(ValueError, match=r"2-D array, but its shape is \(4,\)"):
        cell_grade_pct(np.zeros(4), cell_m=1)
