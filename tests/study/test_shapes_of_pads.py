"""A program that fits on a parcel only as an L, or as two age areas near each other."""

import pytest
import shapely
from made_up_study import TWO_AGES, box, ground, line, point, write_study

from playsite.report.layouts import layouts_on_map
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


def test_layouts_lie_in_their_pads_and_to_scale(result):
    """Equipment of each pad: its own size, inside the pad, whatever the pad's shape."""
    pads = result.pads.set_index("parcel_id")
    drawn = layouts_on_map(result, set(pads.index))
    for parcel in ("wide", "arms", "two near"):
        own = drawn[drawn["parcel_id"] == parcel]
        pad = pads.loc[parcel, "geometry"].buffer(0.003)
        surfacing = shapely.union_all(own.loc[own["role"] == "surfacing", "geometry"].array)
        equipment = own[own["role"] == "equipment"]
        assert len(equipment) == 7
        assert all(shapely.covers(pad, own.loc[own["role"] == "use zone", "geometry"].array))
        assert shapely.covers(surfacing.buffer(0.003), shapely.union_all(equipment.geometry.array))
        assert equipment.area.max() == pytest.approx(26 * 20 * 0.3048**2, rel=1e-6)


@pytest.fixture(scope="module")
def hindered(tmp_path_factory):
    parcels = {
        "set back": box(20, 20, 42, 32),
        "tree": box(100, 20, 40, 28),
        "line": box(180, 20, 80, 30),
    }
    layers = {
        "trees": ([point(103, 34)], {"diameter_m": [0.5]}),
        "overhead_lines": ([line((220, 0), (220, 80))], {"name": ["feeder"]}),
    }
    more = """
    [setbacks]
    parcel_line = "6 m"
    overhead_line = "5 m"
    tree_roots = 12
    [programs.smaller]
    pad = { length = "20 m", width = "12 m" }
    """
    return run(write_study(tmp_path_factory.mktemp("hindered"), parcels, layers=layers, more=more))


def test_one_rule_relaxed_is_told_with_its_figure(hindered):
    """42 by 32 m less 31.7 by 22.7 leaves 10.3 and 9.3: a setback of 4.65 m does, 6 m does not."""
    told = hindered.relaxations.set_index("parcel_id").loc[["set back"]]
    assert told["rule"].tolist() == ["setback from the parcel line"]
    assert told["fits_at_m"].item() == pytest.approx(4.65, abs=0.011)


def test_a_smaller_program_that_fits_is_known(hindered):
    assert hindered.fits_beside["smaller"].to_dict() == {
        "set back": True, "tree": True, "line": True
    }  # fmt: skip


def test_roots_and_overhead_lines_take_their_own_width(hindered):
    """12 stem diameters of 0.5 m are 6 m (BS 5837 by council guidance); a line takes 5 m each way."""
    taken = hindered.ledger.set_index(["parcel_id", "rule"])["removed_m2"]
    roots = taken["tree", "roots of trees, 12 times the stem around it"]
    inner = shapely.box(6, 6, 34, 22)  # of the lot, within its setback
    assert roots == pytest.approx(inner.intersection(shapely.Point(3, 14).buffer(6)).area, rel=0.01)
    assert taken["line", "overhead lines and 5 m around them"] == pytest.approx(10 * 18, rel=1e-6)
