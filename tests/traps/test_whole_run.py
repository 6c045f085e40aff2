"""The false friends of the trade, each led through the whole run from files to ranks."""

import numpy as np
import pytest
from made_up_study import box, ground, line, point, write_study

from playsite.report.field_kit.doubts import doubts
from playsite.study import run


@pytest.fixture(autouse=True)
def _own_memory(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))


def _site(result, parcel_id):
    return result.sites.set_index("parcel_id").loc[parcel_id]


def _value(result, parcel_id, criterion):
    table = result.measurements
    own = table[(table["parcel_id"] == parcel_id) & (table["criterion"] == criterion)]
    return own["value"].iloc[0]


def test_the_terrace_of_a_steep_parcel_is_found(tmp_path):
    # 12 % all over but for one level terrace of 36 x 26 m: the parcel's mean hides it.
    def height(x, y):
        level = (x > 150) & (x < 190) & (y > 180) & (y < 210)
        return np.where(level, 0.12 * 195, 0.12 * y)

    file = write_study(tmp_path, {"A": box(100, 100, 200, 200)}, elevation=ground(height))
    result = run(file)
    assert _value(result, "A", "grade") < 1.0
    pad = result.pads.geometry.iloc[0]
    assert box(150, 180, 40, 30).buffer(0.5).covers(pad)


def test_a_large_thin_lot_does_not_hold_the_pad(tmp_path):
    # 40 x 272 ft has 1.4 times the pad's area; the width is what fails: 40 / 74.5 = 0.537.
    file = write_study(tmp_path, {"thin": box(50, 50, 12.192, 82.906)})
    result = run(file)
    site = _site(result, "thin")
    assert site["status"] == "does not fit"
    assert _value(result, "thin", "fit") == pytest.approx(12.192 / 22.7, rel=1e-3)
    assert len(result.measurements) == 1
    assert result.pads.empty


def test_a_lot_that_needs_a_turned_pad_fits(tmp_path):
    # 120 x 90 ft turned 37 degrees with 1 m all round: 0 and 90 degrees do not hold the pad.
    file = write_study(
        tmp_path,
        {"turned": box(150, 100, 36.576, 27.432, 37)},
        study='criteria = ["fit"]',
        more='[setbacks]\nparcel_line = "1 m"\n',
    )
    result = run(file)
    assert _site(result, "turned")["status"] == "ranked"
    assert _site(result, "turned")["pad_rotation_deg"] == pytest.approx(37, abs=8)


def test_a_flat_pond_is_never_taken_for_a_lawn(tmp_path):
    pond = box(120, 120, 120, 120)

    def height(x, y):
        wet = (x > 120) & (x < 240) & (y > 120) & (y < 240)
        return np.where(wet, 5.0, 10 + 0.04 * x)

    file = write_study(
        tmp_path,
        {"lake": box(60, 60, 280, 280)},
        elevation=ground(height),
        layers={"water": ([pond], {"name": ["Mill pond"]})},
    )
    result = run(file)
    assert result.pads.geometry.iloc[0].disjoint(pond)
    assert _value(result, "lake", "grade") == pytest.approx(4.0, abs=0.3)


def test_a_walk_over_a_far_bridge_is_not_the_straight_line(tmp_path):
    # The restroom lies 50 m off across a river; the bridge is 150 m to the east.
    river = box(0, 195, 400, 20)
    layers = {
        "water": ([river], {"name": ["Creek"]}),
        "paths": (
            [
                line((20, 185), (300, 185)),
                line((300, 185), (300, 225)),
                line((300, 225), (20, 225)),
            ],
            {"bridge": ["no", "yes", "no"]},
        ),
        "restrooms": ([point(150, 228)], {"access": ["yes"]}),
    }
    file = write_study(tmp_path, {"south": box(120, 130, 60, 40)}, layers=layers)
    result = run(file)
    walk = _value(result, "south", "restroom")
    assert walk == pytest.approx(2 * 150 + 40, rel=0.2)
    layers["paths"] = (layers["paths"][0][:1], {"bridge": ["no"]})
    without = run(
        write_study(tmp_path / "no_bridge", {"south": box(120, 130, 60, 40)}, layers=layers)
    )
    assert _value(without, "south", "restroom") == np.inf
    own = without.measurements.set_index("criterion").loc["restroom"]
    assert own["score"] == 0
    assert own["note"]


def test_distance_counts_from_the_pavement_not_the_centreline(tmp_path):
    # Five lanes of 3.5 m: the pavement begins 8.75 m from the centreline, 20 m from the pad.
    file = write_study(
        tmp_path,
        {"A": box(100, 100, 31.7, 22.7)},
        layers={"streets": ([line((0, 80), (400, 80))], {"class": ["arterial"], "lanes": [5]})},
    )
    result = run(file)
    assert _value(result, "A", "traffic") == pytest.approx(20 - 8.75, abs=0.01)
    assert "barrier" in _site(result, "A")["conditions"]


@pytest.mark.parametrize(("name", "weight"), [("restroom", 5), ("wetland", 1)])
def test_a_missing_layer_is_unknown_not_zero_not_free_and_a_task_for_the_field(
    tmp_path, name, weight
):
    file = write_study(
        tmp_path,
        {"A": box(100, 100, 60, 60)},
        elevation=ground(lambda x, _: 10 + 0.01 * x),
        study=f'criteria = ["fit", "grade", "{name}"]',
    )
    result = run(file)
    site, share = _site(result, "A"), weight / (4 + 6 + weight)
    assert np.isnan(_value(result, "A", name))
    assert result.unknowns[["parcel_id", "criterion"]].to_numpy().tolist() == [["A", name]]
    first = doubts(result, "A")[0]
    assert first.chosen.name == name
    assert first.why.startswith("not known")
    assert site["known_share"] == pytest.approx(1 - share)
    assert site["score_high"] - site["score_low"] == pytest.approx(share)
    assert site["score"] == pytest.approx((site["score_high"] + site["score_low"]) / 2)


def test_elevation_of_unknown_height_unit_is_refused(tmp_path):
    from playsite.errors import InputError

    file = write_study(
        tmp_path, {"A": box(100, 100, 60, 60)}, elevation=ground(lambda x, _: 10 + 0.05 * x)
    )
    file.write_text(file.read_text().replace('height_unit = "m"\n', ""))
    with pytest.raises(InputError, match="height_unit"):
        run(file)


def test_elevation_in_feet_is_brought_to_metres(tmp_path):
    feet = ground(lambda x, _: (10 + 0.05 * x) / 0.3048)
    file = write_study(tmp_path, {"A": box(100, 100, 60, 60)}, elevation=feet)
    file.write_text(file.read_text().replace('height_unit = "m"', 'height_unit = "ft"'))
    assert _value(run(file), "A", "grade") == pytest.approx(5.0, abs=0.05)


def test_a_stream_drawn_as_a_line_takes_its_land_and_stops_walks(tmp_path):
    stream = line((0, 200), (400, 200))
    layers = {
        "water": ([stream], {"name": ["Rill"]}),
        "paths": (
            [
                line((20, 190), (300, 190)),
                line((300, 190), (300, 210)),
                line((300, 210), (20, 210)),
            ],
            {"bridge": ["no", "yes", "no"]},
        ),
        "restrooms": ([point(150, 212)], {"access": ["yes"]}),
    }
    parcels = {"both": box(200, 140, 80, 120), "south": box(100, 120, 80, 75)}
    result = run(write_study(tmp_path, parcels, layers=layers))
    assert result.pads.distance(stream).min() >= 0.5
    assert _value(result, "south", "restroom") > 250
