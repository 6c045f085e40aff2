"""The gate: shapes and parcels that need mending, and what is said of it."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import GeometryCollection, LineString, MultiPolygon, Point, Polygon, box

from playsite.layers._candidates import shape_keys

EAST, NORTH, CRS = 500_000.0, 4_500_000.0, "EPSG:26918"


def at(x, y, width, height):
    return box(EAST + x, NORTH + y, EAST + x + width, NORTH + y + height)


BOW_TIE = Polygon([(EAST, NORTH), (EAST + 40, NORTH + 40), (EAST + 40, NORTH), (EAST, NORTH + 40)])


def test_a_ring_that_crosses_itself_is_repaired_and_listed(study):
    study.parcels([at(100, 0, 50, 50), BOW_TIE], parcel_id=["a", "b"])
    read = study.read()
    assert read.layers.parcels.is_valid.all()
    # Two triangles of half base times height: 2 x 20 x 40 / 2.
    assert read.layers.parcels.loc["b"].geometry.area == pytest.approx(800)
    assert read.found("Shapes that are not valid", "so on): 1.", "features 2", "repaired")


def test_a_shape_without_land_is_left_out_and_counted(study):
    flat = Polygon([(EAST, NORTH), (EAST + 5, NORTH + 5), (EAST, NORTH), (EAST, NORTH)])
    study.parcels([at(0, 0, 50, 50), Polygon(), None, flat], parcel_id=list("abcd"))
    read = study.read()
    assert read.layers.parcels.index.tolist() == ["a"]
    assert read.found("caution", "without a shape: 2", "features 2, 3")
    assert read.found("caution", "without any extent once they are repaired: 1", "features 4")


def test_only_the_right_parts_of_a_mixed_shape_are_kept(study):
    mixed = GeometryCollection([at(0, 0, 10, 10), LineString([(EAST, NORTH), (EAST + 9, NORTH)])])
    study.features("parcels.geojson", [mixed, Point(EAST, NORTH)], parcel_id=["a", "b"])
    read = study.read(parcels='[layers.parcels]\npath = "parcels.geojson"\ncrs = "EPSG:26918"\n')
    assert read.layers.parcels.geometry.area.tolist() == [pytest.approx(100)]
    assert read.found("caution", "Features that are Point, where polygons are due: 1")


def test_a_parcel_of_several_parts_stays_one(study):
    study.parcels([MultiPolygon([at(0, 0, 10, 10), at(50, 0, 10, 10)])], parcel_id=["a"])
    read = study.read()
    assert len(read.layers.parcels) == 1
    assert read.found("Parcels of several parts: 1", "(a)")


def test_a_row_that_is_there_twice_counts_once(study):
    study.parcels([at(0, 0, 10, 10), at(0, 0, 10, 10).reverse()], parcel_id=["a", "a"])
    read = study.read()
    assert read.layers.parcels.index.tolist() == ["a"]
    assert read.found("Rows that repeat a parcel", "shape: 1", "(a)")


def test_several_shapes_of_one_id_are_one_parcel(study):
    shapes = [at(0, 0, 10, 10), at(50, 0, 10, 10), at(5, 5, 10, 10), at(90, 0, 9, 9)]
    study.parcels(shapes, parcel_id=["a", "a", "a", "b"])
    read = study.read()
    # 100 + 100 + 100 less the 5 x 5 that two share.
    assert read.layers.parcels.area.to_dict() == {"a": pytest.approx(275), "b": pytest.approx(81)}
    assert read.found("caution", "Ids that stand at several shapes: 1", "(a)")
    assert read.layers.parcels["parcel_id"].tolist() == ["a", "b"]
    assert read.layers.parcels.geometry.name == "geometry"


def test_one_piece_of_land_under_two_ids_is_judged_under_both(study):
    study.parcels([at(0, 0, 10, 10), at(20, 0, 9, 9), at(0, 0, 10, 10)], parcel_id=["a", "b", "c"])
    read = study.read()
    assert read.layers.parcels.index.tolist() == ["a", "b", "c"]
    assert read.found("caution", "Parcels on the same land as another: 1", "c (as a)")
    assert not read.found("share more than")  # told once


def test_a_parcel_without_an_id_is_a_problem_with_its_rows(study):
    study.parcels(
        [at(0, 0, 10, 10), at(20, 0, 10, 10), at(40, 0, 9, 9)], parcel_id=["a", None, " "]
    )
    (told,) = study.read().problems
    assert "parcels without a parcel_id: 2 (features 2, 3)" in told


def test_a_file_without_ids_lists_its_columns(study):
    study.parcels(PARCEL_NO=["a"], OWNED_BY=["town"])
    (told, _) = study.read().problems
    assert 'no column "parcel_id"; it has PARCEL_NO, OWNED_BY' in told
    assert 'columns.parcel_id = "..."' in told


def test_numbers_as_ids_become_text(study):
    study.parcels([at(0, 0, 10, 10), at(20, 0, 10, 10)], parcel_id=[7.0, 12.0])
    assert study.read().layers.parcels.index.tolist() == ["7", "12"]


def test_parcels_that_overlap_are_told_and_neighbours_are_not(study):
    study.parcels([at(0, 0, 10, 10), at(8, 0, 10, 10), at(18, 0, 10, 10)], parcel_id=list("abc"))
    assert study.read().found("caution", "share more than 10% of the smaller: 1", "(a and b)")


def test_a_parcel_far_off_is_told_loudly(study):
    study.parcels([at(0, 0, 10, 10), at(20, 0, 10, 10), at(90_000, 0, 9, 9)], parcel_id=list("abc"))
    assert study.read().found("loud", "Parcels more than 50 km from the middle of all: 1", "(c)")


@pytest.mark.parametrize(("side_m", "told"), [(3, True), (50, False)])
def test_parcels_that_are_hardly_so_small_are_told_loudly(study, side_m, told):
    study.parcels([at(0, 0, side_m, side_m)])
    assert bool(study.read().found("loud", "feet may have been taken", "under")) is told


def test_land_of_the_size_of_a_town_is_no_parcel(study):
    study.parcels([at(0, 0, 50, 50), at(100, 0, 9_000, 9_000)], parcel_id=["a", "town"])
    read = study.read()
    assert read.found("loud", "more than 50 square kilometres: 1", "left out", "(town)")
    assert read.layers.parcels.index.tolist() == ["a"]
    study.parcels([at(0, 0, 9_000, 9_000)])
    assert study.read().told("every parcel has more than 50 square", "feet may have been taken")


@given(
    start=st.integers(0, 3),
    backwards=st.booleans(),
    shift_m=st.floats(-0.0002, 0.0002),
    corner=st.tuples(st.integers(0, 900_000), st.integers(0, 9_000_000)),
)
def test_a_shape_has_one_key_however_it_is_drawn(start, backwards, shift_m, corner):
    import geopandas as gpd

    ring = np.array([(0, 0), (30, 0), (30, 20), (0, 20)], dtype=float) + corner
    drawn = np.roll(ring, start, axis=0)
    drawn = drawn[::-1] if backwards else drawn
    shapes = [Polygon(ring), Polygon(drawn + shift_m), Polygon(ring + 0.01)]
    keys = shape_keys(gpd.GeoSeries(shapes)).tolist()
    assert keys[0] == keys[1]
    assert keys[0] != keys[2]


def test_holes_and_parts_survive_the_gate(study):
    shell = at(0, 0, 50, 50).difference(at(10, 10, 10, 10))
    study.parcels([shell], parcel_id=["a"])
    kept = study.read().layers.parcels.geometry.iloc[0]
    assert shapely.equals(kept, shell)
