"""Elevation: units of height, windows, warps, gaps."""

import tracemalloc
import warnings

import geopandas as gpd
import numpy as np
import pytest
import rasterio
from affine import Affine
from shapely.geometry import MultiPolygon, box

from playsite.errors import InputError
from playsite.layers import _grid
from playsite.layers import elevation as elevation_layer

EAST, NORTH = 500_000.0, 4_500_000.0
LAYER = '[layers.elevation]\npath = "dem.tif"\n'


def plane(rows=220, columns=220, *, percent=5.0, cell=1.0, base=100.0):
    """A plane that rises eastwards."""
    x = np.arange(columns) * cell
    return np.tile(base + percent / 100 * x, (rows, 1)).astype("float32")


def grade_pct(elevation):
    return 100 * np.nanmean(np.diff(elevation.array, axis=1)) / elevation.cell_m


def test_metres_by_the_studys_word(study):
    study.parcels()
    study.raster("dem.tif", plane())
    read = study.read(LAYER + 'height_unit = "m"\ndate = "2023"\nnoise = "3 cm"\n')
    elevation = read.layers.elevation
    assert elevation.height_unit_said_by == "the study"
    assert (elevation.noise_m, elevation.noise_length_m, elevation.date) == (0.03, None, "2023")
    assert elevation.cell_m == 1.0
    np.testing.assert_array_equal(elevation.array, plane())
    assert elevation.transform == Affine(1, 0, EAST - 50, 0, -1, NORTH + 150)


@pytest.mark.parametrize(
    ("unit", "metres"), [("metre", 1.0), ("ft", 0.3048), ("US survey foot", 1200 / 3937)]
)
def test_the_files_own_unit_is_taken(study, unit, metres):
    study.parcels()
    study.raster("dem.tif", plane(), unit=unit)
    elevation = study.read(LAYER).layers.elevation
    assert elevation.height_unit_said_by == "the file"
    np.testing.assert_allclose(elevation.array, plane() * metres, rtol=1e-6)


@pytest.mark.parametrize(
    ("crs", "metres"), [("EPSG:26918+5703", 1.0), ("EPSG:26918+6360", 0.3048006)]
)
def test_a_compound_system_says_the_unit_of_heights(study, crs, metres):
    study.parcels()
    study.raster("dem.tif", plane(), crs=crs)
    read = study.read(LAYER)
    np.testing.assert_allclose(read.layers.elevation.array, plane() * metres, rtol=1e-6)


def test_study_and_file_that_disagree_are_told_loudly(study):
    study.parcels()
    study.raster("dem.tif", plane(), unit="m")
    read = study.read(LAYER + 'height_unit = "ft"\n')
    assert read.found("loud", "0.3048 m", "study's word is taken")
    assert grade_pct(read.layers.elevation) == pytest.approx(5 * 0.3048, rel=1e-4)


def test_a_unit_that_nobody_knows_is_a_problem(study):
    study.parcels()
    study.raster("dem.tif", plane())
    assert study.read(LAYER + 'height_unit = "fathom"\n').told('"fathom" is not a unit of height')


def test_only_a_window_around_the_parcels_is_read(study):
    study.parcels()
    study.raster("dem.tif", plane(2000, 3000), corner=(EAST - 1000, NORTH + 1000))
    elevation = study.read(LAYER + 'height_unit = "m"\n').layers.elevation
    assert elevation.array.shape == (80 + 600, 100 + 600)
    assert (elevation.transform.c, elevation.transform.f) == (EAST - 300, NORTH + 380)
    np.testing.assert_array_equal(elevation.array[0], plane(1, 3000)[0, 700:1400])


def test_gaps_and_absurd_heights_are_no_heights(study):
    study.parcels()
    heights = plane()
    heights[0, :4] = [-9999, 9999, -600, np.inf]
    heights[1, 0] = np.nan
    study.raster("dem.tif", heights, nodata=-9999)
    read = study.read(LAYER + 'height_unit = "m"\n')
    assert np.isnan(read.layers.elevation.array).sum() == 5
    assert read.found("caution", "not finite", "9000 m: 3.")
    assert read.found("% of the cells around the parcels have no height")


def test_whole_numbers_with_a_scale_are_heights(study):
    study.parcels()
    study.raster("dem.tif", np.full((220, 220), 1234, "int16"), nodata=-1)
    with rasterio.open(study.folder / "dem.tif", "r+") as opened:
        opened.scales, opened.offsets = (0.01,), (100.0,)
    array = study.read(LAYER + 'height_unit = "m"\n').layers.elevation.array
    np.testing.assert_allclose(array, 112.34, rtol=1e-6)


def test_nothing_but_gaps_is_a_problem(study):
    study.parcels()
    study.raster("dem.tif", np.full((220, 220), -9999, "float32"), nodata=-9999)
    assert study.read(LAYER + 'height_unit = "m"\n').told("holds no height near the parcels")


def test_a_raster_elsewhere_is_a_problem(study):
    study.parcels()
    study.raster("dem.tif", plane(), corner=(EAST + 9000, NORTH))
    assert study.read(LAYER + 'height_unit = "m"\n').told("doesn't reach the parcels")


@pytest.mark.parametrize("content", [b"", b"no raster"])
def test_a_broken_raster_is_a_sentence(study, content):
    study.parcels()
    (study.folder / "dem.tif").write_bytes(content)
    (told,) = study.read(LAYER + 'height_unit = "m"\n').problems
    assert "can't be read" in told
    assert "[layers.elevation.path]" in told


def test_a_truncated_raster_is_a_sentence(study):
    study.parcels()
    study.raster("dem.tif", np.random.default_rng(1).random((900, 900)).astype("float32"))
    file = study.folder / "dem.tif"
    file.write_bytes(file.read_bytes()[:200_000])
    assert study.read(LAYER + 'height_unit = "m"\n').told("dem.tif", "can't be read")


def test_a_raster_without_a_place_is_refused(study):
    study.parcels()
    study.raster("dem.tif", plane(), crs=None)
    assert study.read(LAYER + 'height_unit = "m"\n').told("doesn't say what its coordinates mean")
    said = LAYER + 'height_unit = "m"\ncrs = "EPSG:26918"\n'
    assert not study.read(said).problems
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        study.raster("dem.tif", plane(), transform=Affine.identity())
    assert study.read(said).told("where on the map it lies")


@pytest.mark.parametrize(("cell", "told"), [(3.0, False), (10.0, True)])
def test_coarse_cells_are_told(study, cell, told):
    study.parcels()
    study.raster("dem.tif", plane(80, 80, cell=cell), cell=cell, corner=(EAST - 300, NORTH + 400))
    read = study.read(LAYER + 'height_unit = "m"\n')
    assert bool(read.found("caution", "Low spots are not assessed")) is told


def test_another_projection_is_warped_and_the_grade_stays(study):
    # From UTM 18N to the Long Island grid of the same datum.
    study.parcels([box(EAST, NORTH, EAST + 100, NORTH + 80)])
    study.raster("dem.tif", plane(900, 900), corner=(EAST - 400, NORTH + 500))
    read = study.read(LAYER + 'height_unit = "m"\n', study='crs = "EPSG:32118"')
    elevation = read.layers.elevation
    assert read.found("warped to NAD83 / New York Long Island", "bilinear")
    assert elevation.crs == read.layers.crs
    steep = np.hypot(*np.gradient(elevation.array[100:-100, 100:-100], elevation.cell_m))
    # Lengths on the two maps differ by their scales, under 0.1 % here.
    assert 100 * np.nanmedian(steep) == pytest.approx(5.0, rel=2e-3)


def test_degrees_are_warped_to_square_cells(study):
    study.parcels()
    # One arc-second and a half across: about 0.86 x 1.11 m at 40.65 degrees.
    cell = 1e-5
    study.raster(
        "dem.tif",
        np.full((1000, 1200), 7.0, "float32"),
        cell=cell,
        crs="EPSG:4269",
        corner=(-75.004, 40.654),
    )
    read = study.read(LAYER + 'height_unit = "m"\n')
    elevation = read.layers.elevation
    on_ground = cell * np.pi / 180 * 6_378_137
    expected = on_ground * np.sqrt(np.cos(np.radians(40.65)))
    assert elevation.cell_m == pytest.approx(expected, rel=5e-3)
    assert np.nanmin(elevation.array) == np.nanmax(elevation.array) == 7.0


def test_a_turned_raster_is_warped_north_up(study):
    study.parcels()
    turned = Affine.translation(EAST - 200, NORTH) @ Affine.rotation(30) @ Affine.scale(1, -1)
    columns, rows = np.meshgrid(np.arange(600) + 0.5, np.arange(600) + 0.5)
    north = turned.d * columns + turned.e * rows + turned.f
    study.raster("dem.tif", (0.05 * (north - NORTH)).astype("float32"), transform=turned)
    read = study.read(LAYER + 'height_unit = "m"\n')
    elevation = read.layers.elevation
    assert read.found("turned", "warped")
    assert elevation.transform.b == elevation.transform.d == 0
    steep = -100 * np.diff(elevation.array, axis=0) / elevation.cell_m  # rows go south
    assert np.nanmedian(steep) == pytest.approx(5.0, abs=0.01)


def test_a_raster_in_feet_on_the_map_keeps_its_cells(study):
    # Cells of 3 survey feet in New York's foot system: heights are copied, only the scale changes.
    study.parcels([box(1_000_000, 200_000, 1_000_300, 200_300)], crs="EPSG:2263")
    heights = plane(400, 400)
    study.raster("dem.tif", heights, crs="EPSG:2263", cell=3.0, corner=(999_600, 200_900))
    read = study.read(LAYER + 'height_unit = "ft"\n')
    elevation = read.layers.elevation
    assert elevation.cell_m == pytest.approx(3 * 1200 / 3937)
    assert not read.found("warped")
    np.testing.assert_allclose(elevation.array, heights * np.float32(0.3048), rtol=1e-6)


def test_two_realizations_of_one_datum_move_no_cell(study):
    study.parcels()
    study.raster("dem.tif", plane(), crs="EPSG:6347")  # NAD83(2011) / UTM 18N
    read = study.read(LAYER + 'height_unit = "m"\n')
    np.testing.assert_array_equal(read.layers.elevation.array, plane())
    assert not read.found("warped")


def test_several_tiles_become_one_raster(study):
    study.parcels()
    whole = plane()
    study.raster("a.tif", whole[:, :120])
    study.raster("b.tif", whole[:, 100:] / 0.3048, corner=(EAST + 50, NORTH + 150))
    read = study.read(
        '[[layers.elevation]]\npath = "a.tif"\nheight_unit = "m"\nnoise = "3 cm"\ndate = "2020"\n'
        '[[layers.elevation]]\npath = "b.tif"\nheight_unit = "ft"\nnoise = "5 cm"\ndate = "2021"\n'
    )
    elevation = read.layers.elevation
    np.testing.assert_allclose(elevation.array, whole, rtol=1e-6)
    assert (elevation.noise_m, elevation.date, elevation.path) == (
        0.05,
        "2020, 2021",
        "a.tif, b.tif",
    )


def test_parcels_off_the_elevation_are_listed(study):
    study.parcels(
        [box(EAST + x, NORTH, EAST + x + 50, NORTH + 50) for x in (0, 140, 400)],
        parcel_id=["on", "half", "off"],
    )
    study.raster("dem.tif", plane())
    read = study.read(LAYER + 'height_unit = "m"\n')
    assert read.found("caution", "Parcels without elevation: 1 of 3", "(off)")
    assert read.found("caution", "only in part: 1 of 3", "(half)")
    assert not read.found("(on)")


def sparse(path, side, corner, hills=()):
    """A raster of side x side cells of 1 m that says it reaches everywhere, and is cheap to write.

    ``hills`` are column and row of blocks of 1,024 cells that hold a plane of 5 %.
    """
    with rasterio.open(
        path, "w", driver="GTiff", width=side, height=side, count=1, dtype="float32",
        crs="EPSG:26918", SPARSE_OK=True, tiled=True, compress="deflate", nodata=-9999,
        BIGTIFF="YES", transform=Affine(1, 0, corner[0], 0, -1, corner[1]),
    ) as opened:  # fmt: skip
        for column, row in hills:
            opened.write(plane(1024, 1024), 1, window=((row, row + 1024), (column, column + 1024)))


def windows_read(monkeypatch):
    """Sizes of all that is read of rasters from now on, in cells."""
    sizes, copied = [], _grid._copied

    def counted(opened, corner, grid, dtype):
        sizes.append(grid.width * grid.height)
        return copied(opened, corner, grid, dtype)

    monkeypatch.setattr(_grid, "_copied", counted)
    return sizes


def test_of_a_large_raster_only_the_ground_near_clustered_parcels_is_read(study, monkeypatch):
    sparse(study.folder / "dem.tif", 20_000, (EAST - 9_728, NORTH + 10_752), [(9216, 10240)])
    study.parcels([box(EAST + x, NORTH, EAST + x + 50, NORTH + 50) for x in (0, 60)])
    sizes = windows_read(monkeypatch)
    tracemalloc.start()
    elevation = study.read(LAYER + 'height_unit = "m"\n').layers.elevation
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert elevation.is_whole
    assert sizes == [710 * 650]
    assert peak < 50e6  # the whole raster is 1,600 MB
    assert grade_pct(elevation) == pytest.approx(5, rel=1e-3)


def test_parcels_spread_over_a_large_raster_are_read_in_windows(study, monkeypatch):
    # Two groups, 17 km apart: 3e8 cells lie around them, and no more than a group's are read.
    corner = (EAST - 1024, NORTH + 19_000)
    sparse(study.folder / "dem.tif", 20_000, corner, [(512, 18_432), (17_408, 1_024)])
    near = [box(EAST + x, NORTH, EAST + x + 50, NORTH + 50) for x in (0, 100)]
    far = [box(EAST + x, NORTH + 17_400, EAST + x + 50, NORTH + 17_450) for x in (16_700, 16_800)]
    bare = [box(EAST + 9_000, NORTH + 9_000, EAST + 9_050, NORTH + 9_050)]
    off = [box(EAST - 1_900, NORTH, EAST - 1_850, NORTH + 50)]
    shapes = [*near, *far, *bare, *off]
    study.parcels(shapes, parcel_id=["n1", "n2", "f1", "f2", "bare", "off"])
    sizes = windows_read(monkeypatch)
    tracemalloc.start()
    read = study.read(LAYER + 'height_unit = "m"\n')
    elevation = read.layers.elevation
    assert not elevation.is_whole
    assert elevation.array.size == 0
    assert read.found("million cells here", "in windows around groups of parcels, never as a whole")
    assert read.found("caution", "Parcels without elevation: 1 of 6", "(off)")
    for number, part in enumerate((near, far)):
        window = elevation.window(gpd.GeoSeries(part).total_bounds)
        assert window.is_whole
        assert window.array.shape == (650, 750)
        assert grade_pct(window) == pytest.approx(5, rel=1e-3), number
    nothing = elevation.window(bare[0].bounds)
    assert np.isnan(nothing.array).all()
    assert elevation.window(box(EAST - 3000, NORTH, EAST - 2950, NORTH + 50).bounds) is None
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert max(sizes) < 500_000
    assert peak < 50e6


def test_a_large_raster_without_any_height_is_a_problem(study):
    sparse(study.folder / "dem.tif", 20_000, (EAST - 1024, NORTH + 19_000))
    study.parcels([box(EAST + x, NORTH + x, EAST + x + 50, NORTH + x + 50) for x in (0, 17_000)])
    read = study.read(LAYER + 'height_unit = "m"\n')
    assert read.told("holds no height near any of 2 parcels")


def test_a_large_raster_that_breaks_off_is_a_sentence_not_unknown_ground(study, monkeypatch):
    noise = np.random.default_rng(1).random((900, 900)).astype("float32")
    study.raster("dem.tif", noise, corner=(EAST - 50, NORTH + 850))
    file = study.folder / "dem.tif"
    whole = file.read_bytes()
    study.parcels([box(EAST, NORTH + y, EAST + 50, NORTH + y + 50) for y in (0, 700)])
    monkeypatch.setattr(elevation_layer.read_elevation, "__kwdefaults__", {"most_cells": 1e5})
    monkeypatch.setattr(elevation_layer, "AROUND_M", 50.0)
    elevation = study.read(LAYER + 'height_unit = "m"\n').layers.elevation
    file.write_bytes(whole[: len(whole) // 2])  # the file breaks off in the south
    with pytest.raises(InputError, match=r"layer elevation: dem.tif can't be read"):
        elevation.window((EAST, NORTH, EAST + 50, NORTH + 50))


def test_a_parcel_whose_parts_lie_far_apart_is_named(study):
    sparse(study.folder / "dem.tif", 20_000, (EAST - 1024, NORTH + 19_000), [(512, 18_432)])
    parts = [box(EAST + x, NORTH + x, EAST + x + 50, NORTH + x + 50) for x in (0, 17_000)]
    study.parcels([MultiPolygon(parts), parts[0]], parcel_id=["split", "a"])
    told = study.read(LAYER + 'height_unit = "m"\n').told("around parcel split it has 312 million")
    assert "slip in its coordinates" in told[0]


def test_of_several_bands_the_first_is_read_and_that_is_told(study):
    study.parcels()
    study.raster("dem.tif", plane(), count=2)
    read = study.read(LAYER + 'height_unit = "m"\n')
    assert read.found("caution", "has 2 bands")
    np.testing.assert_array_equal(read.layers.elevation.array, plane())


def test_a_tile_whose_cells_lie_between_is_brought_to_the_first(study):
    study.parcels()
    study.raster("a.tif", plane()[:, :120])
    study.raster(
        "b.tif", plane(base=100 + 0.05 * 100.5)[:, :119], corner=(EAST + 50.5, NORTH + 150)
    )
    read = study.read(
        '[[layers.elevation]]\npath = "a.tif"\nheight_unit = "m"\n'
        '[[layers.elevation]]\npath = "b.tif"\nheight_unit = "m"\n'
    )
    elevation = read.layers.elevation
    inside = elevation.array[:, :215]
    np.testing.assert_allclose(inside, plane()[:, :215], atol=0.03)
    assert grade_pct(elevation) == pytest.approx(5, abs=0.05)


def test_a_tile_that_lies_elsewhere_does_no_harm(study):
    study.parcels()
    study.raster("a.tif", plane())
    study.raster("b.tif", plane(), corner=(EAST + 90_000, NORTH))
    entries = [f'[[layers.elevation]]\npath = "{x}.tif"\nheight_unit = "m"\n' for x in "ba"]
    read = study.read("".join(entries))
    assert not read.problems
    np.testing.assert_array_equal(read.layers.elevation.array, plane())


def test_a_raster_on_another_continent_is_a_problem(study):
    study.parcels()
    study.raster("dem.tif", plane(), crs="EPSG:3031")  # Antarctica
    assert study.read(LAYER + 'height_unit = "m"\n').told("doesn't reach the parcels")
