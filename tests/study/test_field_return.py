"""Field values that come back: laws of reading and taking back, pins, screens, obstacles."""

import csv
import datetime as dt
import shutil
from dataclasses import fields, replace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from made_up_study import CRS, box, ground, line, point, write_study

from playsite.criteria._contract import Measured
from playsite.criteria._registry import Chosen, load
from playsite.errors import InputError
from playsite.report.tables import write_tables
from playsite.study import one_part, run
from playsite.study.field_return import read_visits
from playsite.study.overriding import with_visit
from playsite.visits import Visit

HEAD = "parcel_id,criterion,value,unit,accuracy,method,role,date,photo,note\n"
TABLES = ("sites.csv", "measurements.csv", "ledger.csv", "sites.gpkg")
CRITERIA = 'criteria = ["fit", "grade", "traffic", "open_water", "restroom", "overhead"]'


@pytest.fixture(scope="module")
def memory(tmp_path_factory):
    return tmp_path_factory.mktemp("memory")


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    """Five parcels in a row, a street and a path below, a pond above, one restroom."""
    parcels = {f"0{i}": box(5 + 75 * i, 110, 60 + i, 70) for i in range(5)}
    parcels["thin"] = box(20, 20, 12, 70)
    layers = {
        "streets": ([line((0, 90), (400, 90))], {"class": ["local"]}),
        "paths": ([line((0, 100), (400, 100))], {"name": ["Walk"]}),
        "restrooms": ([point(30, 98)], {"access": ["yes"]}),
        "water": ([box(0, 230, 400, 20)], {"name": ["Pond"]}),
    }
    height = ground(lambda x, y: 10 + 0.0001 * x * y)
    folder = tmp_path_factory.mktemp("drawn")
    return write_study(folder, parcels, elevation=height, layers=layers, study=CRITERIA)


@pytest.fixture
def town(drawn, tmp_path, memory, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(memory))
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1772500000")
    return shutil.copytree(drawn.parent, tmp_path / "town") / drawn.name


def _sheet(town, *rows, name="sheet.csv"):
    file = town.parent / name
    file.write_text(HEAD + "".join(f"{row}\n" for row in rows), encoding="utf-8")
    return file


def _row(parcel, criterion, value, unit="m", accuracy="", date="2026-03-01", note=""):
    return f"{parcel},{criterion},{value},{unit},{accuracy},tape,parks staff,{date},,{note}"


def _back(parcel, criterion, date="2026-03-01", note="a slip"):
    return f"{parcel},{criterion},withdrawn,,,,parks staff,{date},,{note}"


def test_what_a_visit_found_has_no_error_in_common_with_what_the_map_says_elsewhere(town):
    file = town.read_text("utf-8") + '[criteria.grade]\nshared_error = "64 %"\n'
    town.write_text(file, "utf-8")
    desk = run(town).firm.common["grade"]
    assert set(desk.abs()) <= {0.8, 0.0}
    assert (desk.abs() == 0.8).any()
    site = desk.index[desk.abs() == 0.8][0]
    read_visits(town, _sheet(town, _row(site, "grade", "3", "%", accuracy="1")))
    seen = run(town).firm.common["grade"]
    assert seen[site] == 0.0
    assert seen.drop(site).equals(desk.drop(site)[seen.drop(site).index])


def _bytes(result, folder):
    folder.mkdir()
    write_tables(result, folder)
    return {name: (folder / name).read_bytes() for name in TABLES}


def _value(result, parcel, criterion):
    table = result.measurements.set_index(["parcel_id", "criterion"])
    return table.loc[(parcel, criterion)]


def _site(result, parcel):
    return result.sites.set_index("parcel_id").loc[parcel]


def test_reading_and_taking_back_gives_the_same_tables_to_the_byte(town, tmp_path):
    before = _bytes(run(town), tmp_path / "one")
    rows = [("00", "restroom", "none"), ("01", "grade", "9", "%"), ("02", "open_water", "3", "ft")]
    read_visits(town, _sheet(town, *(_row(*row) for row in rows)))
    changed = _bytes(run(town), tmp_path / "two")
    assert changed["sites.csv"] != before["sites.csv"]
    assert (tmp_path / "two" / "changes.csv").exists()
    read_visits(town, _sheet(town, *(_back(*row[:2]) for row in rows)))
    assert _bytes(run(town), tmp_path / "three") == before
    assert not (tmp_path / "three" / "changes.csv").exists()


def test_a_visit_that_agrees_with_the_map_changes_no_rank_and_no_score(town):
    before = run(town)
    own = before.measurements
    own = own[(own["parcel_id"] == "01") & np.isfinite(own["value"])]
    units = {"pct": "%", "m": "m", "ratio": "ratio"}
    rows = [_row("01", r.criterion, repr(r.value), units[r.unit]) for r in own.itertuples()]
    done = read_visits(town, _sheet(town, *rows))
    assert len(done.added) == len(rows) >= 4
    pd.testing.assert_frame_equal(done.after.sites, before.sites)


def test_a_shorter_walk_never_ranks_a_site_lower(town):
    pad = run(town).pads.set_index("parcel_id").loc["03"]
    place = [f"{pad[name]:.3f}" for name in ("easting", "northing", "rotation_deg")]
    said = ("m", "", "tape", "parks staff", "2026-03-01", "", "", *place)
    results = [
        run(town, log=[Visit("03", "restroom", far, *said)]) for far in ("none", "130", "90")
    ]
    found = [_site(result, "03") for result in results]
    assert [site["score"] for site in found] == sorted(site["score"] for site in found)
    assert [site["rank"] for site in found] == sorted((s["rank"] for s in found), reverse=True)
    assert found[2]["score"] > found[0]["score"]


def test_the_same_sheet_read_twice_adds_nothing_and_says_so(town):
    sheet = _sheet(town, _row("00", "restroom", "100", "ft"))
    assert len(read_visits(town, sheet).added) == 1
    log = (town.parent / "visits.csv").read_bytes()
    again = read_visits(town, sheet)
    assert (again.added, again.known) == ((), 1)
    assert (town.parent / "visits.csv").read_bytes() == log


def test_feet_are_metres_afterwards_and_the_map_is_kept_beside(town):
    mapped = _value(run(town), "01", "restroom")
    done = read_visits(
        town, _sheet(town, _row("01", "restroom", "500", "ft", "10", note="round the fence"))
    )
    row = _value(done.after, "01", "restroom")
    assert row["value"] == pytest.approx(152.4, abs=1e-9)
    assert (row["low"], row["high"]) == pytest.approx((149.352, 155.448), abs=1e-9)
    assert row["map_value"] == mapped["value"]
    assert (row["origin"], row["layer"], row["layer_date"]) == (
        "field",
        "parks staff",
        "2026-03-01",
    )
    assert (row["method"], row["note"]) == ("tape", "round the fence")
    assert mapped["origin"] == "map"


def test_an_unsaid_accuracy_is_not_zero_the_maps_interval_stays_around_the_value(town):
    mapped = _value(run(town), "02", "grade")
    assert mapped["high"] > mapped["value"] > mapped["low"]
    row = _value(
        read_visits(town, _sheet(town, _row("02", "grade", "5", "%"))).after, "02", "grade"
    )
    half = (mapped["value"] - mapped["low"], mapped["high"] - mapped["value"])
    assert (5 - row["low"], row["high"] - 5) == pytest.approx(half, abs=1e-9)


def test_a_visit_screens_out_what_the_map_lets_pass_and_says_the_rule(town):
    done = read_visits(
        town, _sheet(town, _row("01", "grade", "16", "%"), _row("02", "open_water", "4"))
    )
    for parcel, rule in (("01", "steeper than 15 %"), ("02", "6 m or less from open water")):
        assert _site(done.before, parcel)["status"] == "ranked"
        assert _site(done.after, parcel)["status"] == "screened out"
        assert rule in _site(done.after, parcel)["reason"]


def test_a_wire_seen_on_a_visit_screens_where_no_layer_knows_wires(town):
    done = read_visits(town, _sheet(town, _row("01", "overhead", "10", "ft")))
    assert np.isnan(_value(done.before, "01", "overhead")["value"])
    assert "nearer to a conductor" in _site(done.after, "01")["reason"]
    assert ("01", "overhead") not in set(
        done.after.unknowns[["parcel_id", "criterion"]].itertuples(index=False)
    )


def test_the_curve_of_traffic_reads_the_distance_over_the_one_due(town):
    # 10 m are due from a local street: 4 m are 0.4 of it, which is poor; 10 m are acceptable.
    near = read_visits(town, _sheet(town, _row("01", "traffic", "4"))).after
    assert _value(near, "01", "traffic")["score"] == pytest.approx(0.0, abs=1e-9)
    due = read_visits(town, _sheet(town, _row("01", "traffic", "10", date="2026-03-02"))).after
    assert _value(due, "01", "traffic")["score"] == pytest.approx(0.5, abs=1e-9)
    assert "nearer to a street than its class requires" in " ".join(
        near.conditions.loc[near.conditions["parcel_id"] == "01", "rule"]
    )


def test_what_only_a_rule_reads_is_given_by_its_own_name(town):
    done = read_visits(town, _sheet(town, _row("01", "traffic.open_arterial_m", "5")))
    assert "within 6 m of an arterial" in _site(done.after, "01")["reason"]
    assert (
        "open_arterial_m 5 m on a site visit of 2026-03-01"
        in _value(done.after, "01", "traffic")["note"]
    )
    mapped = _value(done.before, "01", "traffic")["value"]
    assert _value(done.after, "01", "traffic")["value"] == mapped


def test_a_way_on_the_map_is_drawn_only_where_the_visit_agrees_with_it(town):
    far_m = _value(run(town), "01", "restroom")["value"]
    for walk_m, drawn in ((1.05 * far_m, True), (2 * far_m, False)):
        (town.parent / "visits.csv").unlink(missing_ok=True)
        evidence = read_visits(
            town, _sheet(town, _row("01", "restroom", f"{walk_m}"))
        ).after.evidence
        own = evidence[(evidence["parcel_id"] == "01") & (evidence["criterion"] == "restroom")]
        assert bool(len(own)) == drawn


def test_leading_zeros_that_a_spreadsheet_dropped_come_back_by_the_pads_place(town):
    pad = run(town).pads.set_index("parcel_id").loc["03"]
    head = HEAD.strip() + ",pad_easting,pad_northing,pad_rotation_deg\n"
    place = f",{pad['easting']:.3f},{pad['northing']:.3f},{pad['rotation_deg']:.3f}"
    sheet = town.parent / "kit.csv"
    sheet.write_text(head + _row("3", "restroom", "30") + place + "\n", encoding="utf-8")
    assert read_visits(town, sheet).added[0].parcel_id == "03"
    with pytest.raises(InputError, match='Did you mean "03"'):
        read_visits(town, _sheet(town, _row("3", "restroom", "40")))


def test_a_fault_in_one_row_writes_nothing_of_any(town):
    sheet = _sheet(town, _row("01", "restroom", "30"), _row("01", "restroom", "30", "furlong"))
    with pytest.raises(InputError, match="furlong"):
        read_visits(town, sheet)
    assert not (town.parent / "visits.csv").exists()


def test_tomorrow_next_year_is_refused_today_is_not(town):
    today = dt.datetime.now(tz=dt.UTC).date()
    assert read_visits(
        town, _sheet(town, _row("01", "restroom", "30", date=today.isoformat()))
    ).added
    later = today.replace(year=today.year + 1, day=1).isoformat()
    with pytest.raises(InputError, match="in the future"):
        read_visits(town, _sheet(town, _row("01", "restroom", "40", date=later)))


def test_moved_values_measure_nothing_again(town, monkeypatch):
    run(town)

    def measured_again(*_arguments):
        raise AssertionError

    monkeypatch.setattr(one_part, "search_parcel", measured_again)
    done = read_visits(town, _sheet(town, _row("01", "restroom", "none")))
    assert _site(done.after, "01")["score"] < _site(done.before, "01")["score"]
    assert np.isinf(_value(run(town), "01", "restroom")["value"])


def test_a_visit_counts_only_at_the_pad_that_it_was_made_at(town):
    mapped = run(town)
    pad = mapped.pads.set_index("parcel_id").loc["01"]
    head = HEAD.strip() + ",pad_easting,pad_northing,pad_rotation_deg\n"
    for off_m, applies in ((0.3, True), (3.0, False)):
        (town.parent / "visits.csv").unlink(missing_ok=True)
        place = f",{pad['easting'] + off_m},{pad['northing']},{pad['rotation_deg']}"
        sheet = town.parent / "kit.csv"
        sheet.write_text(head + _row("01", "restroom", "none") + place + "\n", encoding="utf-8")
        after = read_visits(town, sheet).after
        assert (after.desk is not None) == applies
        assert np.isinf(_value(after, "01", "restroom")["value"]) == applies
    said = " ".join(map(str, after.findings))
    assert "What was found at parcel 01 no longer applies: the pad has moved by 3.0 m" in said
    assert "loud" in {finding.weight for finding in after.findings if finding.layer == "visits"}
    assert "pad has moved" in after.visits["standing"].iloc[0]


def test_an_obstacle_on_the_pad_moves_it_off_and_its_visits_no_longer_apply(town, tmp_path):
    start = run(town)
    pad = start.pads.set_index("parcel_id").loc["02"]
    before = _bytes(start, tmp_path / "one")
    spot = pad.geometry.centroid
    at = f"at {spot.x:.2f} {spot.y:.2f}: old slab"
    read_visits(town, _sheet(town, _row("02", "restroom", "none"), _row("01", "restroom", "none")))
    done = read_visits(town, _sheet(town, _row("02", "obstacle", "5", "ft", note=at)))
    moved = done.after.pads.set_index("parcel_id")
    assert moved.loc["02"].geometry.distance(spot) > 1.523
    assert moved.drop("02").geometry.equals(
        done.before.pads.set_index("parcel_id").drop("02").geometry
    )
    assert any("parcel 02" in str(finding) for finding in done.after.findings)
    assert _value(done.after, "02", "restroom")["origin"] == "map"
    assert _value(done.after, "01", "restroom")["origin"] == "field"
    assert "obstacles found on a visit" in set(done.after.ledger["rule"])
    drawn = done.after.evidence.set_index("label").loc["in the way: old slab"]
    assert drawn["parcel_id"] == "02"
    assert drawn.geometry.centroid.distance(spot) < 0.02
    rows = [_back("02", "obstacle", note=at), _back("02", "restroom"), _back("01", "restroom")]
    read_visits(town, _sheet(town, *rows))
    assert _bytes(run(town), tmp_path / "two") == before


def test_a_pad_that_an_obstacle_moved_is_all_that_the_same_land_off_limits_makes_it(town):
    spot = run(town).pads.set_index("parcel_id").geometry.loc["02"].centroid
    at = f"at {spot.x:.3f} {spot.y:.3f}: old slab"
    told = read_visits(town, _sheet(town, _row("02", "obstacle", "2", note=at))).after
    seen = told.evidence["label"] == "in the way: old slab"
    told = replace(told, evidence=told.evidence[~seen])
    disc = shapely.Point(round(spot.x, 3), round(spot.y, 3)).buffer(2)
    gpd.GeoDataFrame(geometry=[disc], crs=CRS).to_file(town.parent / "off.gpkg")
    (town.parent / "visits.csv").unlink()
    with town.open("a", encoding="utf-8") as file:
        file.write('\n[layers.off_limits]\npath = "off.gpkg"\n')
    mapped = run(town)
    tables = [
        each.name
        for each in fields(mapped)
        if each.name not in {"ledger", "taken", "visits", "rooms"}
    ]
    compared = 0
    for name in tables:
        one, other = (getattr(result, name) for result in (told, mapped))
        if "parcel_id" in getattr(one, "columns", ()):
            own = [
                table[table["parcel_id"] == "02"].reset_index(drop=True) for table in (one, other)
            ]
            pd.testing.assert_frame_equal(*own, obj=name)
            compared += len(own[0]) > 0
    assert compared > 6


def test_an_obstacle_off_every_pad_moves_nothing(town):
    before = run(town)
    pad = before.pads.set_index("parcel_id").geometry.loc["02"]
    parcel = before.parcels.set_index("parcel_id").geometry.loc["02"]
    free = parcel.difference(pad.buffer(3)).representative_point()
    if before.alternatives.geometry.distance(free).min() < 1:
        assert len(before.alternatives)
    done = read_visits(
        town, _sheet(town, _row("02", "obstacle", "0.5", note=f"at {free.x:.2f} {free.y:.2f}"))
    )
    pd.testing.assert_frame_equal(done.after.sites, before.sites)
    assert (done.after.alternatives.geometry.distance(free) >= 0.5 - 1e-6).all()


def test_an_obstacle_may_be_told_in_degrees_and_its_swapped_numbers_are_found(town):
    pad = run(town).pads.set_index("parcel_id").to_crs("EPSG:4326").geometry.loc["03"].centroid
    degrees = f"at {pad.y:.7f} {pad.x:.7f}: stump"
    done = read_visits(town, _sheet(town, _row("03", "obstacle", "2", note=degrees)))
    assert (
        not done.after.pads.set_index("parcel_id")
        .geometry.loc["03"]
        .equals(done.before.pads.set_index("parcel_id").geometry.loc["03"])
    )
    swapped = f"at {pad.x:.7f} {pad.y:.7f}: stump"
    with pytest.raises(InputError, match="swapped"):
        read_visits(
            town, _sheet(town, _row("03", "obstacle", "2", note=swapped, date="2026-03-02"))
        )
    with pytest.raises(InputError, match=f"in {CRS}"):
        read_visits(town, _sheet(town, _row("03", "obstacle", "2", note="at 500000 4400000")))


def test_a_log_that_was_spoilt_by_hand_stops_the_run_with_its_line(town):
    read_visits(town, _sheet(town, _row("01", "restroom", "30"), _row("02", "restroom", "30")))
    log = town.parent / "visits.csv"
    log.write_text(log.read_text(encoding="utf-8").replace("02,restroom,30", "02,restroom,far"))
    with pytest.raises(InputError, match=r"visits.csv, line 3: .*not a number"):
        run(town)


def test_the_log_says_what_was_and_what_is(town):
    read_visits(town, _sheet(town, _row("01", "restroom", "100", "ft")))
    read_visits(town, _sheet(town, _row("01", "restroom", "none", date="2026-03-02", note="shut")))
    with (town.parent / "visits.csv").open(encoding="utf-8", newline="") as file:
        first, second = csv.DictReader(file)
    assert first["parcel_id"] == "01"
    assert first["was"].endswith(" m")
    assert (first["now"], second["was"], second["now"]) == ("30.48 m", "30.48 m", "inf m")
    assert first["role"] == "parks staff"
    assert first["read_on"] == "2026-03-03"


@pytest.mark.parametrize(("name", "read"), [("accessible_route", 30.48), ("traffic", np.nan)])
def test_a_visit_stands_for_what_the_map_does_not_know_where_it_is_the_same_thing(name, read):
    # a way is read as a way; a ratio to what a street requires can't be told from the way alone
    criterion, package = load(name)
    chosen = Chosen(criterion, criterion.curve, criterion.screens, 1.0, 1.0, package)
    nothing = pd.Series([np.nan], index=[7])
    visit = Visit("A", name, "100", unit="ft", accuracy="5")
    got = with_visit(Measured(nothing), 7, visit, chosen, 30.48)
    assert (got.value[7], got.low[7]) == (30.48, pytest.approx(28.956))
    assert got.reads.tolist() == pytest.approx([read], nan_ok=True)
