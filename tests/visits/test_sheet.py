"""A filled-in sheet: what spreadsheets do to it, and every fault told at once with its remedy."""

import csv
import datetime as dt
import io
import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from playsite.problems import Problems
from playsite.units import Unit
from playsite.visits import (
    Asked,
    Known,
    Visit,
    check_rows,
    new_rows,
    quantity,
    read_log,
    read_sheet,
    standing_of,
    write_log,
)

HEAD = "parcel_id,criterion,value,unit,accuracy,method,role,date,photo,note\n"
ASKED = {
    "grade": Asked(Unit.PERCENT, (0, 200)),
    "restroom": Asked(Unit.METRE, (0, 100_000)),
    "falling_trees": Asked(Unit.COUNT, (0, 10_000)),
    "fit": Asked(Unit.RATIO, (0, 1000)),
}
KNOWN = Known(ASKED, {"0012": True, "7-1": True, "tight": False}, dt.date(2026, 3, 31))
SOUND = "0012,restroom,100,ft,5,tape,parks staff,2026-03-04,,\n"


def _read(tmp_path, content, known=KNOWN):
    file = tmp_path / "sheet.csv"
    file.write_bytes(content if isinstance(content, bytes) else content.encode())
    problems = Problems()
    sheet = read_sheet(file, problems)
    check_rows(sheet.rows, known, str(file), problems)
    return sheet, [str(problem) for problem in problems.items]


def test_a_sound_row_has_no_fault(tmp_path):
    sheet, faults = _read(tmp_path, HEAD + SOUND)
    assert faults == []
    assert sheet.rows[0].parcel_id == "0012"


@pytest.mark.parametrize(
    "content",
    [
        (HEAD + SOUND).encode("utf-8-sig"),
        (HEAD + SOUND).encode("utf-16"),
        (HEAD + SOUND).replace(",", ";").encode(),
        (HEAD + SOUND).replace(",", "\t").encode(),
        (HEAD + SOUND).replace("\n", "\r\n").encode(),
        (HEAD.title() + SOUND + ",,,,,,,,,\n").encode(),
        (HEAD + SOUND).replace("\n", ",,\n").encode(),
        ("sep=;\n" + (HEAD + SOUND).replace(",", ";")).encode(),
    ],
    ids=["mark", "utf-16", "semicolons", "tabs", "windows", "capitals", "empty columns", "sep"],
)
def test_what_spreadsheets_write_is_read_alike(tmp_path, content):
    sheet, faults = _read(tmp_path, content)
    assert faults == []
    assert [row.said for row in sheet.rows] == [
        ("0012", "restroom", "100", "ft", "5", "tape", "parks staff", "2026-03-04", "", "")
    ]


def test_decimal_commas_are_read_where_semicolons_part_and_refused_where_commas_do(tmp_path):
    parted = (HEAD + SOUND.replace("100", "88.5")).replace(",", ";").replace("88.5", "88,5")
    sheet, faults = _read(tmp_path, parted)
    assert (sheet.rows[0].value, faults) == ("88.5", [])
    _, faults = _read(tmp_path, HEAD + SOUND.replace("100", '"88,5"'))
    assert "thousands or decimals" in faults[0]


def test_feet_become_metres_and_none_is_without_end():
    # the international foot: 0.3048 m exactly (U.S. National Bureau of Standards, 1959)
    assert quantity("100", "ft", Unit.METRE) == pytest.approx(30.48, abs=1e-12)
    assert quantity("30.48", "m", Unit.METRE) == 30.48
    assert quantity("None", "", Unit.METRE) == math.inf


def test_square_feet_and_acres_become_square_metres():
    # an acre is 43,560 square feet (U.S. National Institute of Standards, Handbook 44, appendix C)
    assert quantity("5140", "sq ft", Unit.SQUARE_METRE) == pytest.approx(477.5216, abs=1e-3)
    assert quantity("1", "acre", Unit.SQUARE_METRE) == pytest.approx(4046.8564, abs=1e-3)
    assert quantity("0.5", "ha", Unit.SQUARE_METRE) == 5000
    for unit, said in (("", 'write "sq ft" or "m2"'), ("ft", "not a unit of area")):
        with pytest.raises(ValueError, match=said):
            quantity("500", unit, Unit.SQUARE_METRE)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("100,ft", "100,"), "nobody can tell"),
        (("100,ft", "100,%"), "not a unit of length"),
        (("100,ft", "-3,m"), "not plausible"),
        (("100,ft", "400000,ft"), "not plausible"),
        (("100,ft", "about 100,ft"), "not a number"),
        (("restroom,100,ft,5", "grade,0.04,ratio,"), "0.04 as a ratio is 4 %"),
        (("restroom,100,ft,5", "grade,250,%,"), "not plausible for grade (0 to 200 pct)"),
        (("restroom,100,ft,5", "falling_trees,3,m,"), 'write "count"'),
        (("100,ft,5", "100,ft,-5"), "the accuracy -5 can't be"),
        (("0012", "12"), 'Did you mean "0012"? Spreadsheets drop leading zeros'),
        (("0012", "7-2"), "The nearest ids: 7-1"),
        (("0012", "tight"), 'parcel "tight" has no pad'),
        (("restroom", "restrom"), 'Did you mean "restroom"?'),
        (("2026-03-04", "3/4/2026"), "can be read in more than one way"),
        (("2026-03-04", "46085"), "Write year-month-day, as 2026-03-04"),
        (("2026-03-04", "2026-02-30"), "no day of the calendar"),
        (("2026-03-04", "2026-04-01"), "is in the future"),
        (("2026-03-04", ""), "no date"),
        (("parks staff", ""), "no role"),
        (("tape", ""), "no method"),
        (("restroom,100,ft", "restroom,withdrawn,"), "no reason for taking it back"),
        (("restroom,100,ft", "obstacle,3,m"), "says no place"),
        (("restroom,100,ft", "obstacle,0,m"), "an obstacle of 0 m can't be"),
    ],
)
def test_a_fault_is_told_with_its_line_and_remedy(tmp_path, change, said):
    _, faults = _read(tmp_path, HEAD + SOUND + SOUND.replace(*change))
    assert any(said in fault for fault in faults), faults
    assert all("line 3" in fault for fault in faults)


def test_all_faults_of_all_rows_are_told_at_once(tmp_path):
    rows = "0013,restroom,100,,,,,soon,,\n0012,grade,500,%,,level,parks staff,2027-01-01,,\n"
    _, faults = _read(tmp_path, HEAD + rows)
    assert len(faults) == 7  # parcel, date, role, method, unit; value, date


@pytest.mark.parametrize(
    ("head", "said"),
    [
        (HEAD.replace("unit,", ""), "columns are missing: unit"),
        (HEAD.replace("accuracy", "acuracy"), 'Did you mean "accuracy"?'),
        (HEAD.replace("photo", "weather"), "put it into the note"),
        (HEAD.replace("photo", "note"), "columns stand twice: note"),
        ("", "columns are missing"),
    ],
)
def test_a_head_at_fault_is_told(tmp_path, head, said):
    sheet, faults = _read(tmp_path, head)
    assert said in " ".join(faults)
    assert sheet.rows == ()


def test_a_note_with_a_loose_comma_is_told(tmp_path):
    _, faults = _read(tmp_path, HEAD + SOUND.replace(",,\n", ",,dark, wet\n"))
    assert "between double quotes" in faults[0]


def test_rows_without_a_value_are_left_out_and_told_where_they_say_something(tmp_path):
    rows = "0012,restroom,,ft,,tape,,,,\n0012,grade,,%,,level,,,IMG_3,too wet to measure\n"
    sheet, faults = _read(tmp_path, HEAD + rows + SOUND)
    assert (len(sheet.rows), sheet.left_out, faults) == (1, (3,), [])


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(content=st.binary(max_size=400), headed=st.booleans())
def test_no_file_is_so_broken_that_it_is_not_told_in_sentences(tmp_path, content, headed):
    sheet, faults = _read(tmp_path, (HEAD.encode() if headed else b"") + content)
    problems = Problems()
    new_rows(sheet.rows, [], "", problems)
    standing_of(sheet.rows)
    assert headed or faults or not content.strip(b"\r\n")
    assert all(fault.startswith(str(tmp_path)) for fault in faults)


CELLS = st.text(st.characters(codec="utf-8"), max_size=12)


@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(cells=st.lists(CELLS, min_size=10, max_size=10))
def test_whatever_stands_in_the_cells_is_a_row_or_a_fault(tmp_path, cells):
    text = io.StringIO()
    csv.writer(text).writerow(cells)
    sheet, faults = _read(tmp_path, (HEAD + text.getvalue()).encode("utf-8"))
    if sheet.rows:
        assert faults  # no chance text is a sound row: its parcel, its date, its unit


def test_no_such_file_is_a_fault_without_a_line(tmp_path):
    problems = Problems()
    read_sheet(tmp_path / "gone.csv", problems)
    assert "there is no such file" in str(problems.items[0])


def _visit(value, date="2026-03-04", criterion="restroom", note=""):
    return Visit("0012", criterion, value, "ft", "", "tape", "parks staff", date, "", note)


def test_the_log_gives_back_what_was_written_formulas_and_zeros_too(tmp_path):
    log = [
        _visit("100", note="=2+2, or so"),
        _visit("-5", note="-3 m lower"),
        _visit("7", note='say "no"\nlater'),
    ]
    write_log(tmp_path, log)
    problems = Problems()
    again = read_log(tmp_path, problems)
    assert [row.said for row in again] == [row.said for row in log]
    assert problems.items == []
    assert "'=2+2" in (tmp_path / "visits.csv").read_text()
    assert [path.name for path in tmp_path.iterdir()] == ["visits.csv"]


def _why(log):
    return [each.why_not for each in standing_of(log)]


def test_of_several_visits_the_latest_date_counts_whatever_the_order_of_reading():
    assert _why([_visit("1", "2026-03-05"), _visit("2", "2026-03-04")]) == [
        "",
        "a later one counts",
    ]
    assert _why([_visit("1"), _visit("2")]) == ["a later one counts", ""]


def test_taking_a_visit_back_lets_the_one_before_count():
    log = [_visit("1"), _visit("2", "2026-03-05"), _visit("withdrawn", "2026-03-05", note="slip")]
    assert _why(log) == ["", "withdrawn", "withdraws"]


def test_each_obstacle_counts_and_is_taken_back_by_its_place():
    one, two = (_visit("3", criterion="obstacle", note=f"at {n}, 5: slab") for n in (1, 2))
    back = _visit("withdrawn", criterion="obstacle", note="at 1, 5: it was leaves")
    assert _why([one, two]) == ["", ""]
    assert _why([one, two, back]) == ["withdrawn", "", "withdraws"]


def test_a_sheet_read_twice_adds_nothing_and_a_withdrawn_row_can_be_read_again():
    problems = Problems()
    row, back = _visit("1"), _visit("withdrawn", note="slip")
    assert new_rows([row], [], "", problems) == [row]
    assert new_rows([row], [row], "", problems) == []
    assert new_rows([row, back], [row, back], "", problems) == []
    assert new_rows([row], [row, back], "", problems) == [row]
    assert problems.items == []


def test_what_was_never_read_cannot_be_taken_back():
    problems = Problems()
    new_rows([_visit("withdrawn", "2026-03-09", note="slip")], [_visit("1")], "f", problems)
    assert "Dates of its visits: 2026-03-04" in str(problems.items[0])
