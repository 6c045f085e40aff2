"""A program that fits on a parcel only as an L, or as two age areas near each other."""

import pytest
import shapely
from made_up_study import TWO_AGES, box, ground, write_study

from playsite.study import run

NARROW = shapely.union(box(20, 20, 90, 19), box(20, 20, 20, 90))
"""Two arms 19 and 20 m wide: the rectangle needs 21.4 m, one age area 16.9 m."""


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    parcels = {
        "wide": box(150, 20, 90, 60),
        "arms": NARROW,
        "strip": box(20, 200, 110, 14),
        "far apart": shapely.union(box(150, 200, 30, 18), box(300, 200, 30, 18)),
        "two near": shapely.union(box(20, 300, 32, 18), box(64, 300, 32, 18)),
    }
    folder = tmp_path_factory.mktemp("shapes")
    level = ground(lambda x, y: 0.01 * x + 0 * y)
    return run(write_study(folder, parcels, program=TWO_AGES, elevation=level))


def test_the_rectangle_is_placed_wherever_it_fits(result):
    pads = result.pads.set_index("parcel_id")
    assert pads.loc["wide", "shape"] == ""
    assert len(shapely.get_coordinates(pads.loc["wide", "geometry"])) == 5


def test_arms_too_narrow_for_the_rectangle_hold_an_l(result):
    pad = result.pads.set_index("parcel_id").loc["arms"]
    shape = next(shape for shape in result.pad.shapes if shape.name == pad["shape"])
    assert pad["shape"].startswith("an L")
    assert NARROW.buffer(0.002).covers(pad.geometry)
    assert pad.geometry.area == pytest.approx(shape.area_m2, rel=1e-6)


def test_lots_too_narrow_for_the_whole_hold_two_age_areas(result):
    pad = result.pads.set_index("parcel_id").loc["two near"]
    assert pad["shape"] == "two age areas"
    first, second = shapely.get_parts(pad.geometry)
    assert first.distance(second) <= 20
    land = result.parcels.set_index("parcel_id").geometry["two near"].buffer(0.002)
    assert land.covers(pad.geometry)
    areas = sorted((first.area, second.area))
    due = sorted(part.length_m * part.width_m for part in result.pad.shapes[-1].parts)
    assert areas == pytest.approx(due, rel=1e-3)


def test_what_is_too_narrow_or_too_far_apart_stays_out(result):
    status = result.sites.set_index("parcel_id")["status"]
    assert status["strip"] == status["far apart"] == "does not fit"


def test_grade_is_that_of_the_steepest_part(result):
    own = result.measurements[result.measurements["criterion"] == "grade"].set_index("parcel_id")
    assert own.loc["two near", "value"] == pytest.approx(1.0, abs=0.01)


def test_the_fit_says_in_which_shape(result):
    own = result.measurements[result.measurements["criterion"] == "fit"].set_index("parcel_id")
    assert own.loc["two near", "note"].startswith("fits as two age areas")
    assert own.loc["wide", "note"] == ""
