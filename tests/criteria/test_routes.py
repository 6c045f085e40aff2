"""Truck, accessible route and emergency in whole runs: gates, signs, slopes, and what is not known."""

import numpy as np
import pytest
import shapely
from made_up_study import box, ground, line, point, write_study

from playsite.report.way_grades import WALK as WALKWAY
from playsite.report.way_grades import parts_by_grade, steepest
from playsite.study import run

PARCEL = box(170, 100, 60, 50)
NAMES = ["truck", "accessible_route", "emergency"]


def street(y=190, **columns):
    """A street of 8 m right through, 36 m north of the parcel's pavement side."""
    given = {"class": ["local"], "width_m": [8.0], "name": ["Main Street"]}
    return ([line((0, y), (400, y))], given | {key: [value] for key, value in columns.items()})


def fence(gate_m, kind="gate"):
    """A fence right through between parcel and street, with one gate east of the parcel's middle."""
    lines = [line((-200, 170), (600, 170)), line((200, 170), (200 + gate_m, 170))]
    return (lines, {"kind": ["fence", kind], "height_m": [1.8, 1.8]})


WALK = ([line((0, 183), (400, 183))], {"kind": ["footway"]})
LEVEL = ground(lambda x, y: 50 + 0.02 * y)


@pytest.fixture
def measure(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))

    def of(layers, elevation=LEVEL, criteria=NAMES):
        names = ", ".join(f'"{name}"' for name in ["fit", *criteria])
        file = write_study(
            tmp_path / "town",
            {"A": PARCEL},
            layers=layers,
            elevation=elevation,
            study=f'least_known = "0 %"\ncriteria = [{names}]',
        )
        result = run(file)
        return result.measurements.set_index("criterion"), result

    return of


def test_on_an_open_lawn_all_three_are_straight_and_drawn(measure):
    rows, result = measure({"streets": street(), "paths": WALK})
    pad = result.pads.geometry.iloc[0]
    straight_m = pad.distance(line((0, 186), (400, 186)))
    assert rows.loc["truck", "value"] == pytest.approx(straight_m, abs=0.01)
    assert rows.loc["emergency", "value"] == pytest.approx(straight_m, abs=0.01)
    to_walk_m = pad.distance(line((0, 182.25), (400, 182.25)))
    assert rows.loc["accessible_route", "value"] == pytest.approx(to_walk_m, rel=0.05)
    note = rows.loc["truck", "note"]
    assert "with nothing opened 7.3 m or wider; a 9.1 m truck turns in forwards" in note
    assert "steepest 2 %" in note
    assert "over 1 walk: lay plates" in rows.loc["truck", "note"]
    assert "no layer of fences and trees and buildings" in rows.loc["truck", "note"]
    assert "its grade 0 %" in rows.loc["emergency", "note"]
    drawn = result.evidence.set_index("criterion")
    assert drawn.loc["truck", "label"] == "truck, up to 2 %"
    assert drawn.loc["accessible_route", "geometry"].length == pytest.approx(
        rows.loc["accessible_route", "value"], abs=0.1
    )


def test_a_step_free_way_carries_the_heights_at_which_it_keeps_to_its_slope(measure):
    # 4 % of ground up to the walk: within 1:20, and drawn as steep as it is
    rows, result = measure(
        {"streets": street(), "paths": WALK},
        elevation=ground(lambda x, y: 50 + 0.04 * y),
        criteria=["accessible_route"],
    )
    way = result.evidence.set_index("criterion").loc["accessible_route", "geometry"]
    _, y, height = shapely.get_coordinates(way, include_z=True).T
    assert np.ptp(height - 0.04 * y) < 0.3  # within 15 cm of the ground
    assert height[-1] - height[0] == pytest.approx(0.04 * (y[-1] - y[0]), abs=0.03)
    assert {step for step, _ in parts_by_grade(way)} == {WALKWAY}
    assert f"running slope {steepest(way).grade_pct:.1f} %" in rows.loc["accessible_route", "note"]


@pytest.mark.parametrize(("gate_m", "told"), [(4.2, "4.2 m at its narrowest"), (2.4, "2.4 m at")])
def test_a_gate_is_as_wide_as_it_is(measure, gate_m, told):
    rows, result = measure({"streets": street(), "fences": fence(gate_m)}, criteria=["truck"])
    row = rows.loc["truck"]
    assert told in row["note"]
    conditions = result.sites["conditions"].iloc[0]
    if gate_m < 3.7:
        assert "1 fence to be opened" in row["note"]
        assert row["high"] == np.inf
        assert "a way opened for trucks" in conditions
    else:
        assert row["high"] == row["value"]
        assert "trucks" not in conditions


@pytest.mark.parametrize(
    ("sign", "is_out"),
    [
        ({"max_weight_t": 10.0}, {"truck", "emergency"}),
        ({"max_weight_t": 20.0}, {"emergency"}),
        ({"max_height_m": 3.8}, {"truck", "emergency"}),
        ({"trucks": "no"}, {"truck", "emergency"}),
        ({"width_m": 5.0}, {"emergency"}),
        ({}, set()),
    ],
)
def test_signs_and_widths_keep_vehicles_out(measure, sign, is_out):
    rows, _ = measure({"streets": street(**sign)}, criteria=["truck", "emergency"])
    out = {name for name in ("truck", "emergency") if np.isinf(rows.loc[name, "value"])}
    assert out == is_out


def test_a_street_behind_a_weak_bridge_is_none(measure):
    lines = [line((0, 190), (100, 190)), line((100, 190), (130, 190)), line((130, 190), (400, 190))]
    columns = {
        "class": ["collector", "local", "local"],
        "width_m": [8.0] * 3,
        "max_weight_t": [np.nan, 5.0, np.nan],
        "bridge": ["no", "yes", "no"],
    }
    rows, result = measure({"streets": (lines, columns)}, criteria=["truck"])
    # Only the collector is left: from its end, not from the street before the parcel.
    pad = result.pads.geometry.iloc[0]
    end_m = pad.distance(box(0, 186, 100, 8))
    assert end_m > 60
    assert rows.loc["truck", "value"] == pytest.approx(end_m, rel=0.01)


@pytest.mark.parametrize(
    ("verge_m", "street_m", "told"),
    [(16, 8.0, "turns in forwards"), (1, 8.0, "has to back in"), (0.5, 5.0, "not seen to turn in")],
)
def test_a_wall_close_along_a_narrow_street_leaves_no_room_to_turn(
    measure, verge_m, street_m, told
):
    # a gate of 3.8 m, wide enough straight on, in a wall; houses across the street
    y = 190 - street_m / 2 - verge_m
    fences = ([line((-200, y), (200, y)), line((203.8, y), (600, y))], {"kind": ["wall"] * 2})
    houses = ([box(-200, 190.2 + street_m / 2, 800, 20)], {"kind": ["house"]})
    layers = {"streets": street(width_m=street_m), "fences": fences, "buildings": houses}
    rows, result = measure(layers, criteria=["truck"])
    assert told in rows.loc["truck", "note"]
    assert ("a wider way in" in result.sites["conditions"].iloc[0]) == ("not seen" in told)


@pytest.mark.parametrize(("south", "counts"), [(168, True), (155, False)])
def test_a_public_car_park_beside_the_street_is_pavement_too(measure, south, counts):
    lots = ([box(180, south, 30, 10)], {"access": ["yes"], "name": ["north lot"]})
    rows, result = measure({"streets": street(), "parking": lots}, criteria=["truck", "emergency"])
    pad = result.pads.geometry.iloc[0]
    expected = lots[0][0] if counts else line((0, 186), (400, 186))
    for name in ("truck", "emergency"):
        assert rows.loc[name, "value"] == pytest.approx(pad.distance(expected), abs=0.05)
        assert ("from the car park north lot" in rows.loc[name, "note"]) == counts


def test_a_steep_street_is_none_for_fire_engines(measure):
    steep = ground(lambda x, y: 50 + 0.13 * x)
    inside = ([line((10, 190), (390, 190))], {"class": ["local"], "width_m": [8.0]})
    rows, _ = measure({"streets": inside}, elevation=steep, criteria=["emergency", "truck"])
    assert np.isinf(rows.loc["emergency", "value"])
    assert np.isfinite(rows.loc["truck", "value"])


def test_a_bank_is_graded_or_gone_round(measure):
    bank = ground(lambda x, y: 50 + 0.35 * np.clip(y - 165, 0, 12))
    rows, _ = measure({"streets": street()}, elevation=bank, criteria=["truck"])
    assert "of ground over 15 % to be graded" in rows.loc["truck", "note"]
    assert rows.loc["truck", "high"] == np.inf


def test_without_elevation_or_streets_they_are_unknown(measure):
    rows, result = measure({"streets": street(), "paths": WALK}, elevation=None)
    assert rows.loc[["truck", "accessible_route"], "value"].isna().all()
    assert "its grade is not known" in rows.loc["emergency", "note"]
    rows, result = measure({"paths": WALK})
    assert rows.loc[["truck", "emergency"], "value"].isna().all()
    assert set(result.unknowns["criterion"]) >= {"truck", "emergency"}


def test_elevation_that_ends_at_the_pad_leaves_the_accessible_route_unknown(measure):
    elevation = ground(lambda x, y: np.where(y > 60, np.nan, 50.0))
    rows, result = measure({"paths": WALK}, elevation=elevation, criteria=["accessible_route"])
    assert np.isnan(rows.loc["accessible_route", "value"])
    assert result.sites["status"].iloc[0] == "ranked"
    assert rows.loc["accessible_route", "note"].startswith("unknown: the elevation doesn't hold")


def test_a_strip_of_unknown_ground_on_the_way_is_unknown_and_never_a_reason_to_be_out(measure):
    elevation = ground(lambda x, y: np.where((y > 160) & (y < 170), np.nan, 50.0))
    rows, result = measure({"paths": WALK}, elevation=elevation, criteria=["accessible_route"])
    assert np.isnan(rows.loc["accessible_route", "value"])
    assert result.sites["status"].iloc[0] == "ranked"


def plateau(height_m):
    """Level ground round the parcel, so much higher than all else."""
    return ground(
        lambda x, y: 50.0 + height_m * ((x > 160) & (x < 240) & (y > 90) & (y < 165)).astype(float)
    )


def test_a_cliff_all_round_screens_out_and_one_on_a_side_is_only_a_long_way(measure):
    rows, result = measure({"paths": WALK}, elevation=plateau(20.0), criteria=["accessible_route"])
    assert np.isinf(rows.loc["accessible_route", "value"])
    assert result.sites["status"].iloc[0] == "screened out"
    cliff = ground(lambda x, y: 50.0 + np.where(y > 165, 20.0, 0.0))
    rows, result = measure({"paths": WALK}, elevation=cliff, criteria=["accessible_route"])
    assert np.isinf(rows.loc["accessible_route", "value"])
    assert result.sites["status"].iloc[0] == "ranked"
    assert "no way within 200 m" in rows.loc["accessible_route", "note"]


def test_where_none_is_found_and_none_is_shown_to_be_impossible_it_is_unknown(measure):
    # a bank of 2.5 m all round: too steep to be graded within 15 cm, not too high for a ramp
    rows, result = measure({"paths": WALK}, elevation=plateau(2.5), criteria=["accessible_route"])
    row = rows.loc["accessible_route"]
    assert np.isnan(row["value"])
    assert "a survey and a grading plan" in row["note"]
    assert result.sites["status"].iloc[0] == "ranked"
    assert result.sites["score_high"].iloc[0] == 1.0


def ditch(*, all_round):
    edge = [(0, 165), (400, 165)] if not all_round else [(90, 165), (310, 165), (310, 60), (90, 60)]
    return ([line(*edge, *edge[:1])], {"name": ["Ditch"], "width_m": [3.0]})


@pytest.mark.parametrize("all_round", [True, False])
def test_only_what_is_closed_off_all_round_is_screened_out(measure, all_round):
    looked = ([box(0, 0, 400, 400), box(10, 10, 5, 5)], {"searched": ["yes", "no"]})
    layers = {"paths": WALK, "water": ditch(all_round=all_round), "wetlands": looked}
    rows, result = measure(layers, criteria=["accessible_route"])
    assert result.sites["status"].iloc[0] == ("screened out" if all_round else "ranked")
    assert np.isinf(rows.loc["accessible_route", "value"])
    assert ("no step-free way can be built" in set(result.misses["rule"])) == all_round


def test_a_ditch_with_an_end_is_gone_round(measure):
    water = ([line((0, 165), (200, 165))], {"name": ["Ditch"], "width_m": [3.0]})
    rows, _ = measure({"paths": WALK, "water": water}, criteria=["accessible_route"])
    assert np.isfinite(rows.loc["accessible_route", "value"])


def test_a_fence_without_a_gate_is_opened_and_told_and_is_no_reason_to_be_out(measure):
    corners = [(150, 168), (250, 168), (250, 80), (150, 80), (150, 168)]
    fences = ([line(*corners)], {"kind": ["fence"], "height_m": [1.8]})
    rows, result = measure({"paths": WALK, "fences": fences}, criteria=["accessible_route"])
    row = rows.loc["accessible_route"]
    assert result.sites["status"].iloc[0] == "ranked"
    pad = result.pads.geometry.iloc[0]
    assert row["value"] == pytest.approx(pad.distance(line((0, 182.25), (400, 182.25))), rel=0.05)
    assert row["high"] == np.inf
    assert "fences to be opened with gates 91 cm wide: 1" in row["note"]


def test_where_no_arrival_is_mapped_near_it_is_unknown_and_never_a_reason_to_be_out(measure):
    far = ([line((0, 395), (10, 395))], {"kind": ["sidewalk"]})
    rows, result = measure({"paths": far, "streets": street()}, criteria=["accessible_route"])
    assert result.sites["status"].iloc[0] == "ranked"
    assert np.isnan(rows.loc["accessible_route", "value"])
    assert "mapped within 200 m" in rows.loc["accessible_route", "note"]
    assert "accessible_route" in set(result.unknowns["criterion"])


def test_steps_and_private_paths_are_no_arrival_and_the_car_park_is_told(measure):
    paths = (
        [line((0, 160), (400, 160)), line((0, 155), (400, 155)), line((0, 183), (400, 183))],
        {"kind": ["steps", "footway", "footway"], "access": ["yes", "private", "yes"]},
    )
    lots = ([box(80, 100, 30, 30)], {"access": ["yes"], "capacity_disabled": ["2"]})
    rows, result = measure({"paths": paths, "parking": lots}, criteria=["accessible_route"])
    row = rows.loc["accessible_route"]
    pad = result.pads.geometry.iloc[0]
    assert row["value"] == pytest.approx(pad.distance(paths[0][2]) - 0.75, rel=0.06)
    assert row["note"].startswith("from a path; ")
    assert "from the car park" in row["note"]


def test_streets_of_which_nobody_says_whether_they_have_a_sidewalk_are_told(measure):
    rows, _ = measure({"streets": street()}, criteria=["accessible_route"])
    assert "nobody says whether the streets have sidewalks" in rows.loc["accessible_route", "note"]
    rows, _ = measure({"streets": street(sidewalk="no")}, criteria=["accessible_route"])
    assert np.isnan(rows.loc["accessible_route", "value"])


def test_a_slope_asks_for_more_way_than_straight(measure):
    hill = ground(lambda x, y: 50 + 0.12 * np.clip(y - 150, 0, 30))
    rows, _ = measure({"paths": WALK}, elevation=hill, criteria=["accessible_route"])
    row = rows.loc["accessible_route"]
    assert row["value"] > 0.12 * 30 * 20 * 0.95
    assert "more than straight" in row["note"]
    assert "benched to keep 1:48 across" in row["note"]


def test_crowns_and_wires_over_the_way_are_told(measure):
    trees = ([point(x, 178) for x in range(0, 400, 5)], {"diameter_m": [0.2] * 80})
    wires = ([line((0, 175), (400, 175))], {"name": ["feeder"]})
    layers = {"streets": street(), "trees": trees, "overhead_lines": wires}
    rows, _ = measure(layers, criteria=["truck"])
    note = rows.loc["truck", "note"]
    assert "crowns: prune to 4.3 m" in note
    assert "roots of" in note
    assert "under an overhead line" in note
