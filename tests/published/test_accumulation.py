"""Filling, ways and accumulation against independent libraries, on made-up and on real ground."""

import numpy as np
import pytest
import rasterio
from affine import Affine
from scipy.ndimage import gaussian_filter

from playsite.terrain.filling import filled
from playsite.terrain.run_on import _routes, accumulate

METRE = Affine(1, 0, 0, 0, -1, 0)
INNER = (slice(1, -1), slice(1, -1))


@pytest.fixture(scope="module")
def lidar_ground(fetched):
    """Real ground of the lidar package, 400 x 400 cells, almost half of it in hollows."""
    with rasterio.open(fetched("lidar", "0.8.4", "lidar/data/dem.tif")) as file:
        return file.read(1).astype(np.float32)


def relief(*, sd_m, fall):
    smooth = gaussian_filter(np.random.default_rng(4).normal(size=(200, 200)), 8)
    return (sd_m * smooth / smooth.std() + fall * np.arange(200)[:, None]).astype(np.float32)


def grid_of(ground):
    library = pytest.importorskip("topotoolbox", reason="the test extra is not installed")
    grid = library.GridObject()
    grid.z, grid.cellsize, grid.transform = ground.copy(), 1.0, METRE
    return grid


def theirs(ground, across):
    """Receiver of each cell, -1 where there is none, and cells added up, by topotoolbox."""
    import topotoolbox

    flow = topotoolbox.FlowObject(grid_of(ground), sink_resolution=across)
    receiver = np.full(ground.size, -1)
    receiver[flow.source] = flow.target
    return receiver, flow.flow_accumulation().z.ravel()


def ours(ground):
    """Receiver of each cell, cells added up, and where the ground is level once it is filled."""
    routes, (rows, columns) = _routes(ground, multiple=False), ground.shape
    way = np.log2(np.maximum(routes.ways, 1)).astype(int)
    row, column = np.divmod(np.arange(routes.ways.size) + routes.steps[way], columns + 2)
    receiver = np.where(routes.ways > 0, (row - 1) * columns + column - 1, -1)
    receiver, flat = (
        each.reshape(rows + 2, columns + 2)[INNER].ravel() for each in (receiver, routes.flat > 0)
    )
    return receiver, accumulate(ground, METRE, multiple=False).ravel(), flat


def slope(ground, cells, receivers):
    level, columns = filled(ground).ravel(), ground.shape[1]
    down, right = np.subtract(np.divmod(receivers, columns), np.divmod(cells, columns))
    return (level[cells].astype(float) - level[receivers]) / np.hypot(down, right)


def test_ground_without_hollows_is_routed_and_added_up_as_by_topotoolbox():
    ground = relief(sd_m=0.2, fall=0.2)
    receiver, area, flat = ours(ground)
    assert not flat.any()
    expected_receiver, expected_area = theirs(ground, "carve")
    np.testing.assert_array_equal(receiver, expected_receiver)
    np.testing.assert_array_equal(area, expected_area)


def test_ground_with_hollows_is_routed_as_by_topotoolbox_but_for_ties_and_level_ground():
    # across a filled hollow it follows the hollow's old bed, we the two gradients
    ground = relief(sd_m=1, fall=0.02)
    receiver, _, flat = ours(ground)
    expected, _ = theirs(ground, "carve")
    assert flat.mean() > 0.1
    others = np.flatnonzero((receiver != expected) & ~flat)
    assert 0 < len(others) < 0.01 * receiver.size
    one, other = (slope(ground, others, each[others]) for each in (receiver, expected))
    np.testing.assert_array_equal(one, other)


@pytest.mark.fetched
def test_real_ground_is_filled_as_by_topotoolbox_and_pyflwdir(lidar_ground):
    dem = pytest.importorskip("pyflwdir", reason="the test extra is not installed").dem
    for gap in (0, 30):  # both take missing cells for outlets, as we do
        ground = lidar_ground.copy()
        ground[200 : 200 + gap, 150 : 150 + gap] = np.nan
        found = filled(ground)
        np.testing.assert_array_equal(found, grid_of(ground).fillsinks().z)
        by_pyflwdir, _ = dem.fill_depressions(ground, nodata=np.nan)
        np.testing.assert_array_equal(found, by_pyflwdir)
        assert np.mean(found > ground) > 0.05


@pytest.mark.fetched
def test_water_on_real_ground_adds_up_as_by_pyflwdir_given_the_same_ways(lidar_ground):
    pyflwdir = pytest.importorskip("pyflwdir", reason="the test extra is not installed")
    routes = _routes(lidar_ground, multiple=False)
    ways = routes.ways.reshape(routes.level.shape)[INNER]
    # its codes run clockwise from the east, ours row by row from the north-west; 0 ends a way
    coded = np.array([32, 64, 128, 16, 1, 8, 4, 2])[np.log2(np.maximum(ways, 1)).astype(int)]
    d8 = np.where(ways > 0, coded, 0).astype(np.uint8)
    expected = pyflwdir.from_array(d8, ftype="d8").upstream_area()
    area = accumulate(lidar_ground, METRE, multiple=False)
    np.testing.assert_array_equal(area, expected)
    assert area[ways == 0].sum() == lidar_ground.size
    assert area.max() > 0.8 * lidar_ground.size


@pytest.mark.fetched
def test_real_ground_sheds_its_water_where_topotoolbox_sheds_it(lidar_ground):
    # it crosses filled hollows by least cost, we by the two gradients: within a lake the ways
    # differ, and where a lake has two outlets or a cell two equally steep ways, so may what
    # follows. All else is the same to the cell, and so is almost all that leaves.
    receiver, area, flat = ours(lidar_ground)
    expected_receiver, expected_area = theirs(lidar_ground, "lcat")
    others = np.flatnonzero(receiver != expected_receiver)
    dry = others[~flat[others]]
    assert 0.4 < flat.mean() < 0.5
    assert 0 < len(dry) < 0.005 * np.count_nonzero(~flat)
    one, other = (slope(lidar_ground, dry, each[dry]) for each in (receiver, expected_receiver))
    np.testing.assert_array_equal(one, other)
    below = np.zeros(receiver.size, bool)
    for ways in (receiver, expected_receiver):
        below |= _reached(ways[others], ways)
    np.testing.assert_array_equal(area[~below], expected_area[~below])
    assert (area == expected_area)[~flat].mean() > 0.98
    ends = receiver < 0
    np.testing.assert_array_equal(ends, expected_receiver < 0)
    assert np.abs(area - expected_area)[ends].sum() / 2 < 0.0005 * receiver.size
    assert area[ends].max() > 0.8 * receiver.size


def _reached(cells, receiver):
    """Cells on the ways down from some cells, themselves counted."""
    found = np.zeros(receiver.size, bool)
    while len(cells):
        cells = np.unique(cells[cells >= 0])
        cells = cells[~found[cells]]
        found[cells] = True
        cells = receiver[cells]
    return found
