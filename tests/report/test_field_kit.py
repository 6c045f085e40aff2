"""The field kit: what is doubtful comes first, corners stand where the pad stands, the CSV comes back."""

import csv
import io
import math
import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pyproj
import pytest
import shapely
from report.made_up_result import made_up_result

from playsite.errors import InputError
from playsite.report.field_kit import kit_text, write_kit
from playsite.report.field_kit.doubts import doubts
from playsite.report.field_kit.sheet import corners, sheet_html, sheet_of
from playsite.report.field_kit.sheet_pdf import sheet_pdf
from playsite.report.memo.readings import Readings


@pytest.fixture(scope="module")
def result():
    return made_up_result(12)


def _with(result, criterion, **cells):
    best = result.ranked.iloc[0]["parcel_id"]
    table = result.measurements.copy()
    own = (table["parcel_id"] == best) & (table["criterion"] == criterion)
    for name, cell in cells.items():
        table.loc[own, name] = cell
    return replace(result, measurements=table)


def _known(result, **values):
    """First site with every criterion far from all knots and rules but those that are given."""
    far = {"fit": 5, "grade": 0.1, "traffic": 500, "open_water": 500, "shade": 90, "restroom": 1}
    for name, value in (far | values).items():
        chosen = {each.name: each for each in result.criteria}[name]
        ends = value if isinstance(value, tuple) else (value, value, value)
        low, middle, high = (float(each) for each in ends)
        score = float(chosen.curve.score([middle])[0])
        result = _with(result, name, value=middle, low=low, high=high, score=score)
    return result


def _first(result):
    best = result.ranked.iloc[0]["parcel_id"]
    free = result.conditions[result.conditions["parcel_id"] != best]
    return doubts(replace(result, conditions=free), best)


def test_what_is_not_known_comes_before_what_is_and_a_rule_before_both(result):
    nan = math.nan
    known = _known(result, restroom=(nan, nan, nan))
    assert _first(known)[0].chosen.name == "restroom"
    assert _first(known)[0].why == "not known"
    # 14 % is within a quarter of the limit of 15 %
    both = _known(result, restroom=(nan, nan, nan), grade=14)
    assert [each.chosen.name for each in _first(both)[:2]] == ["grade", "restroom"]
    assert "near a rule: steeper than 15%" in _first(both)[0].why


def test_a_sure_nothing_is_not_near_a_rule_against_anything(result):
    def against_any(chosen):
        screens = tuple(replace(screen, limit=0.0) for screen in chosen.screens)
        return replace(chosen, screens=screens) if chosen.name == "grade" else chosen

    criteria = tuple(map(against_any, result.criteria))
    for grade, near in ((0, False), ((0, 0, 1), True)):
        found = _first(replace(_known(result, grade=grade), criteria=criteria))
        own = next(each for each in found if each.chosen.name == "grade")
        assert own.at_rule == near


def test_an_unknown_value_that_a_rule_reads_says_the_rule(result):
    nan = math.nan
    found = _first(_known(result, grade=(nan, nan, nan), traffic=(nan, nan, nan)))
    assert [each.chosen.name for each in found[:2]] == ["grade", "traffic"]
    assert found[0].why == "not known; out if steeper than 15%"


def test_a_wide_interval_comes_before_a_narrow_one_and_counts_by_weight(result):
    found = _first(_known(result, traffic=(8, 20, 50), restroom=(118, 120, 122)))
    assert [each.chosen.name for each in found[:2]] == ["traffic", "restroom"]
    assert "between 26 and 160 ft" in found[0].why
    heavy = [
        replace(each, weight=10 * each.weight if each.name == "restroom" else each.weight)
        for each in result.criteria
    ]
    found = _first(
        replace(
            _known(result, traffic=(8, 20, 50), restroom=(110, 120, 130)), criteria=tuple(heavy)
        )
    )
    assert found[0].chosen.name == "restroom"


def test_what_settles_a_near_tie_comes_before_what_moves_more(result):
    best, other = result.ranked["parcel_id"].iloc[:2]
    row = {
        "ahead": best,
        "behind": other,
        "parcel_id": best,
        "criterion": "shade",
        "gain": 1,
        "turns": 0.4,
        "settles": 0.6,
    }
    firm = replace(result.firm, next_measurements=pd.DataFrame([row]))
    found = _first(replace(_known(result, traffic=(8, 20, 50)), firm=firm))
    assert [each.chosen.name for each in found[:2]] == ["shade", "traffic"]
    number = result.sites.set_index("parcel_id").loc[other, "site_no"]
    assert found[0].why.startswith(f"does most to settle the near-tie with Site {number}")


def test_what_moves_nothing_is_sure(result):
    found = _first(_known(result))
    assert all(each.is_sure and not each.why for each in found)


def test_corners_are_the_pads_own_in_metres_and_degrees():
    crs = "EPSG:26918"
    pad = shapely.affinity.rotate(shapely.box(500_000, 4_500_000, 500_031.7, 4_500_022.7), 25)
    found = corners(pad, crs)
    again = shapely.Polygon([(each["easting"], each["northing"]) for each in found])
    assert again.equals(pad)
    assert [each["letter"] for each in found] == list("ABCD")
    assert found[0]["northing"] == max(each["northing"] for each in found)
    assert not shapely.is_ccw(again.exterior)
    assert sorted(round(each["side_m"], 3) for each in found) == [22.7, 22.7, 31.7, 31.7]
    # pyproj's own inverse, as the second opinion on degrees
    back = pyproj.Transformer.from_crs("EPSG:4326", crs)
    for each in found:
        east, north = back.transform(each["latitude"], each["longitude"])
        assert math.dist((east, north), (each["easting"], each["northing"])) < 1e-3


def test_corners_of_two_areas_go_on_in_the_alphabet():
    both = shapely.MultiPolygon([shapely.box(0, 0, 10, 10), shapely.box(20, 0, 30, 10)])
    found = corners(both, "EPSG:32617")
    assert [each["letter"] for each in found] == list("ABCDEFGH")


def test_the_sheet_has_plan_corners_tasks_and_cautions_and_loads_nothing(result):
    site = Readings(result).short_list[0]
    page = sheet_html(sheet_of(result, site))
    assert "Screening only, not a survey. Call 811 before any digging." in page
    assert "Walk it with a level." in page
    assert 'src="data:image/png;base64,' in page
    assert "size: letter" in page
    assert not re.search(r"(?:src|href)=\"(?!data:)", page)
    pad = result.pads.set_index("parcel_id").geometry.loc[site["parcel_id"]]
    for each in corners(pad, result.study.crs):
        assert f"{each['latitude']:.6f}, {each['longitude']:.6f}" in page
    metres = replace(result, study=replace(result.study, units="metres"))
    metric = sheet_html(sheet_of(metres, site))
    assert "size: A4" in metric


def test_names_from_files_cannot_write_into_the_page(result):
    sites = result.sites.copy()
    sites.loc[0, "name"] = "<script>alert(1)</script>"
    page = sheet_html(sheet_of(replace(result, sites=sites), sites.iloc[0].to_dict()))
    assert "<script>" not in page


def test_a_low_spot_too_unsure_to_be_drawn_is_on_the_sheet_to_be_looked_at(result):
    spots = result.low_spots.assign(probability=0.4, standing="field check")
    doubtful = replace(result, low_spots=spots)
    near = {
        pad.parcel_id: pad.geometry.distance(spots.geometry.union_all()) < 30
        for pad in doubtful.pads.itertuples()
    }
    sites = doubtful.ranked.to_dict("records")
    site = next(each for each in sites if near[each["parcel_id"]])
    sheet = sheet_of(doubtful, site)
    assert sheet.low_spots[0].startswith("Possible low spot, 40% likely, 6 in deep")
    assert sheet.low_spots[0] in sheet_html(sheet)
    assert "Low spots near it" not in sheet_html(replace(sheet, low_spots=[]))
    assert len(sheet_pdf(sheet)) > len(sheet_pdf(replace(sheet, low_spots=[])))


def test_the_sheet_as_pdf_is_tagged_and_the_same_each_time(result):
    sheet = sheet_of(result, Readings(result).short_list[0])
    told = sheet_pdf(sheet)
    assert told.startswith(b"%PDF-")
    assert b"/StructTreeRoot" in told
    assert b"<pdfuaid:part>1</pdfuaid:part>" in told
    assert sheet.title.encode() in told
    assert sheet_pdf(sheet) == told


def test_names_from_files_are_text_in_the_pdf_and_no_markup(result):
    # the last letters are in no font of this project: they must not stop the sheet
    name = 'Lot #panic("no") *x* $y$ @z <w> \ud800 "q" \u4e2d\u6587'
    sheet = replace(sheet_of(result, Readings(result).short_list[0]), title=name)
    assert sheet_pdf(sheet).startswith(b"%PDF-")


def test_the_csv_has_a_row_a_question_with_the_pads_place(result):
    sites = Readings(result).short_list
    rows = list(csv.DictReader(io.StringIO(kit_text(result, sites))))
    assert len(rows) == len(sites) * len(result.criteria)
    first = rows[0]
    pad = result.pads.set_index("parcel_id").loc[first["parcel_id"]]
    place = [float(first[f"pad_{name}"]) for name in ("easting", "northing", "rotation_deg")]
    assert np.allclose(place, [pad["easting"], pad["northing"], pad["rotation_deg"]], atol=1e-3)
    assert {row["value"] for row in rows} == {""}
    assert {row["unit"] for row in rows} == {"ratio", "%", "ft"}


def test_the_kit_is_written_whole_and_keeps_a_csv_that_was_filled_in(result, tmp_path):
    names = write_kit(result, tmp_path / "kit")
    assert len(names) == 5
    for name in names:
        assert (tmp_path / "kit" / name).read_bytes().startswith(b"%PDF-")
        page = (tmp_path / "kit" / name).with_suffix(".html").read_text("utf-8")
        assert "most doubtful first" in page
    filled = (tmp_path / "kit" / "field.csv").read_text(encoding="utf-8-sig") + "more\n"
    (tmp_path / "kit" / "field.csv").write_text(filled, encoding="utf-8")
    write_kit(result, tmp_path / "kit")
    assert (tmp_path / "kit" / "field (kept).csv").read_text(encoding="utf-8") == filled


def test_a_parcel_without_a_pad_has_no_sheet(result, tmp_path):
    tight = result.sites.loc[result.sites["status"] == "does not fit", "parcel_id"].iloc[0]
    with pytest.raises(InputError, match="has no pad to visit"):
        write_kit(result, tmp_path / "kit", [tight, "nowhere"])
    assert not (tmp_path / "kit").exists()


def test_without_a_short_list_parcels_must_be_named(tmp_path):
    out = made_up_result(3, statuses=("screened out",))
    with pytest.raises(InputError, match="no short list"):
        write_kit(out, tmp_path / "kit")
