"""Grade and filling against published figures and independent libraries."""

import matplotlib as mpl
import numpy as np
import pytest
import rasterio
from affine import Affine
from scipy import ndimage, stats

from playsite.terrain.grade import cell_grade_pct, pad_grade
from playsite.terrain.low_spots import filled, low_spots


@pytest.fixture(scope="module")
def mountains():
    """Real elevation, 344 x 403, whole metres: a sample of matplotlib's."""
    path = mpl.get_data_path() + "/sample_data/jacksboro_fault_dem.npz"
    with np.load(path) as stored:
        return stored["elevation"].astype(np.float32)


def reconstructed(ground):
    """Fill by scikit-image's greyscale reconstruction from the edge."""
    from skimage.morphology import reconstruction

    seed = np.full_like(ground, ground.max())
    seed[[0, -1]], seed[:, [0, -1]] = ground[[0, -1]], ground[:, [0, -1]]
    return reconstruction(seed, ground, method="erosion", footprint=np.ones((3, 3)))


def test_the_window_of_the_much_copied_worked_example():
    # Horn's weights, cell 5: dz/dx 0.05, dz/dy -3.8, rise over run 3.80032, 75.25762 degrees
    window = np.array([[50, 45, 50], [30, 30, 30], [8, 10, 10]])
    grade_pct = cell_grade_pct(window, cell_m=5)[1, 1]
    assert grade_pct / 100 == pytest.approx(3.80032, abs=1e-3)
    assert np.degrees(np.arctan(grade_pct / 100)) == pytest.approx(75.25762, abs=1e-3)


def test_the_inclined_plane():
    # derived: a = .02, b = .03 gives sqrt(a2 + b2) = 3.6056 %, 2.0649 degrees
    rows, columns = np.indices((60, 60))
    ground = 0.02 * columns - 0.03 * rows
    transform = Affine(1, 0, 0, 0, -1, 60)
    pad = pad_grade(ground, transform, [[30, 30, 25]], length_m=32, width_m=22)
    for grade_pct in (cell_grade_pct(ground, cell_m=1)[30, 30], pad.grade_pct[0]):
        assert grade_pct == pytest.approx(3.6056, abs=5e-5)
        assert np.degrees(np.arctan(grade_pct / 100)) == pytest.approx(2.0649, abs=5e-5)


def test_cells_agree_with_xarray_spatial_on_real_ground(mountains):
    xarray = pytest.importorskip("xarray")
    slope = pytest.importorskip("xrspatial").slope
    rows, columns = mountains.shape
    where = {"y": 90.0 * np.arange(rows)[::-1], "x": 90.0 * np.arange(columns)}
    degrees = slope(xarray.DataArray(mountains, dims=("y", "x"), coords=where, attrs={"res": 90}))
    theirs_pct = 100 * np.tan(np.radians(degrees.to_numpy().astype(float)))
    ours_pct = cell_grade_pct(mountains, cell_m=90)
    np.testing.assert_allclose(ours_pct[1:-1, 1:-1], theirs_pct[1:-1, 1:-1], atol=2e-3)
    assert np.nanmax(ours_pct) > 50


def test_filling_is_to_the_bit_that_of_scikit_image_on_real_ground(mountains):
    ours = filled(mountains)
    np.testing.assert_array_equal(ours, reconstructed(mountains))
    assert (ours > mountains).sum() > 100


@pytest.mark.parametrize("seed", [1, 2])
def test_filling_is_to_the_bit_that_of_scikit_image_on_rough_ground(seed):
    rng = np.random.default_rng(seed)
    ground = ndimage.gaussian_filter(rng.normal(size=(400, 300)), 6) * 20
    ground += rng.normal(0, 0.05, ground.shape)
    ours = filled(ground)
    np.testing.assert_array_equal(ours, reconstructed(ground))
    assert np.mean(ours > ground) > 0.2


@pytest.mark.fetched
def test_hollows_of_real_lidar_ground_are_those_of_the_lidar_package(fetched):
    paths = [fetched("lidar", "0.8.4", f"lidar/data/{name}.tif") for name in ("dem", "sink")]
    with rasterio.open(paths[0]) as file:
        ground, transform = file.read(1, masked=True).filled(np.nan), file.transform
    with rasterio.open(paths[1]) as file:
        theirs = ~np.ma.getmaskarray(file.read(1, masked=True))
    ours = filled(ground) > ground
    # it leaves small hollows out, so ours hold all of theirs and a little more
    assert not (theirs & ~ours).any()
    assert (ours & theirs).sum() / (ours | theirs).sum() == pytest.approx(0.985, abs=0.001)
    spots = low_spots(ground, transform, noise_m=0.05)
    assert (spots.labels[theirs] > 0).mean() > 0.95


def test_the_raw_grade_of_noise_is_that_of_its_distribution():
    # Horn's weights have a sum of squares of 12 / 64, so each component of noise sd s on cells of
    # 1 m has sd s sqrt(12) / 8, and their length follows Rayleigh's law
    noise = np.random.default_rng(8).normal(0, 0.05, (1000, 1000))
    grade_pct = cell_grade_pct(noise, cell_m=1)[1:-1, 1:-1]
    law = stats.rayleigh(scale=100 * 0.05 * np.sqrt(12) / 8)
    assert np.mean(grade_pct) == pytest.approx(law.mean(), rel=0.005)
    assert np.percentile(grade_pct, 95) == pytest.approx(law.ppf(0.95), rel=0.005)
    assert (round(law.mean(), 1), round(law.ppf(0.95), 1)) == (2.7, 5.3)
