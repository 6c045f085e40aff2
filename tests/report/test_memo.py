"""The memo, opened again: what it says, that it says no more, and that its plans hold their scale."""

import csv
import datetime as dt
import hashlib
import io
import re
import zipfile
from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from docx.oxml.ns import qn
from docx.shared import Emu, Mm
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree
from PIL import Image
from report.made_up_result import made_up_result, with_no_evidence
from report.memo_file import opened_memo

from playsite.problems import Finding
from playsite.report.ink import INK
from playsite.report.memo import A4, LETTER, write_memo
from playsite.report.memo.plan import SCALES, plan_scale, site_plan
from playsite.report.people_units import distance_text, interval_text
from playsite.report.plain_text import one_line
from playsite.report.tables import run_text, write_tables
from playsite.report.wording import answer_sentence, score_text, value_text
from playsite.result import CAUTIONS

EMU_PER_MM = 36_000  # ECMA-376: 914,400 in an inch
HOSTILE = {
    1: "A\x00B\x07<b>&amp;</b>]]> \u202egnp.exe",
    2: "$\\frac{x}{y}$ {brace} %s",
    3: "x" * 5000,
    4: "a character that is none, \uffff, and a mark \u0007",
    5: "  \n\t ",
    6: "日本語 العربية",
}
FINDINGS = (
    Finding("The ground has a step of 0.4 m", "It was left", "Ask the county", weight="loud"),
    Finding("12 trees lie in streets", "They were left out", layer="trees", weight="caution"),
    Finding("3 lots have no name", layer="parcels"),
)
RESULTS = {
    "ordered": made_up_result(),
    "noticed": made_up_result(findings=FINDINGS),
    "metres": made_up_result(units="metres"),
    "tied": made_up_result(tied=3),
    "many": made_up_result(200),
    "three": made_up_result(6, statuses=("ranked", "screened out")),
    "one": made_up_result(3, statuses=("ranked", "does not fit", "not assessed")),
    "none": made_up_result(9, statuses=("screened out", "does not fit", "not assessed")),
    "bare": with_no_evidence(made_up_result(base_map=False)),
    "hostile": made_up_result(names=HOSTILE),
}


@pytest.fixture(scope="module", params=RESULTS)
def case(request):
    return request.param


@pytest.fixture(scope="module")
def result(case):
    return RESULTS[case]


@pytest.fixture(scope="module")
def memo_of(tmp_path_factory):
    """Each of the results above is written once."""
    made = {}

    def memo_of(case):
        if case not in made:
            made[case] = written(RESULTS[case], tmp_path_factory.mktemp(case))
        return made[case]

    return memo_of


@pytest.fixture
def memo(case, memo_of):
    return memo_of(case)


def written(result, folder):
    return opened_memo(result, folder)


def headings(memo, level=1):
    return [p.text for p in memo.paragraphs if p.style.name == f"Heading {level}"]


def texts(memo):
    """Every text of the body, in the order of reading."""
    return [
        "".join(t.text or "" for t in p.iter(qn("w:t"))) for p in memo.element.body.iter(qn("w:p"))
    ]


def rows(table):
    return [[cell.text for cell in row.cells] for row in table.rows]


def evidence(memo, letter):
    """Rows of the evidence table under keys of a letter: key, what, value, how, source."""
    found, key = [], ""
    for row in rows(table_with(memo, "Key", "What", "Value"))[1:]:
        key = row[0] or key
        found += [[key, *row[1:]]] if key.startswith(letter) else []
    return found


def table_with(memo, *head):
    return next(t for t in memo.tables if rows(t)[0][: len(head)] == list(head))


def pictures(memo):
    """Words, size in mm and pixels of each picture."""
    for inline in memo.element.body.iter(qn("wp:inline")):
        about, extent = inline.find(qn("wp:docPr")), inline.find(qn("wp:extent"))
        blip = next(inline.iter(qn("a:blip")))
        blob = memo.part.related_parts[blip.get(qn("r:embed"))].blob
        size = (int(extent.get("cx")) / EMU_PER_MM, int(extent.get("cy")) / EMU_PER_MM)
        yield about, size, np.asarray(Image.open(io.BytesIO(blob)).convert("RGB"))


def test_the_headline_is_the_answer(result, memo):
    (title,) = [p.text for p in memo.paragraphs if p.style.name == "Title"]
    assert title == one_line(answer_sentence(result))
    assert title == memo.paragraphs[0].text


def test_the_cautions_stand_word_for_word_in_every_memo(memo):
    said = [text.removeprefix("•") for text in texts(memo)]
    place = said.index(CAUTIONS[0])
    assert said[place : place + len(CAUTIONS)] == list(CAUTIONS)
    foot = memo.sections[0].footer.paragraphs[0].text
    assert foot.startswith("Screening only, not a survey. Call 811 before any digging.")


def test_the_document_has_a_title_and_no_person(result, memo):
    core = memo.core_properties
    assert core.title == result.study.title
    assert core.author == core.last_modified_by == core.comments == ""
    assert core.created == core.modified == dt.datetime(2026, 3, 3, tzinfo=core.created.tzinfo)


def test_every_page_has_its_number_and_the_study(result, memo):
    foot = etree.tostring(memo.sections[0].footer._element).decode()
    assert re.search(r'instr="\s*PAGE\s*"', foot)
    assert re.search(r'instr="\s*NUMPAGES\s*"', foot)
    assert memo.sections[0].header.paragraphs[0].text.startswith(result.study.title)


def test_every_picture_has_words_of_its_own_and_a_numbered_caption(memo):
    about = [picture for picture, _, _ in pictures(memo)]
    assert all(len(a.get("descr")) > 30 for a in about)
    assert len({a.get("descr") for a in about}) == len({a.get("id") for a in about}) == len(about)
    captions = [p.text for p in memo.paragraphs if p.style.name == "Caption"]
    assert [c.split(".")[0] for c in captions] == [f"Figure {n + 1}" for n in range(len(about))]


def test_every_table_repeats_its_head_and_says_what_it_shows(memo):
    assert memo.tables
    for table in memo.tables:
        assert [row._tr.trPr.find(qn("w:tblHeader")) is not None for row in table.rows] == [
            number == 0 for number in range(len(table.rows))
        ]
        assert all(row._tr.trPr.find(qn("w:cantSplit")) is not None for row in table.rows)
        assert table._tbl.tblPr.find(qn("w:tblCaption")).get(qn("w:val"))
        assert all(rows(table)[0])


def test_tables_and_pictures_are_no_wider_than_the_text(memo):
    section = memo.sections[0]
    text_mm = (section.page_width - section.left_margin - section.right_margin) / EMU_PER_MM
    for _, (width_mm, _), _ in pictures(memo):
        assert width_mm <= text_mm + 0.05
    for table in memo.tables:
        assert sum(column.width for column in table.columns) / EMU_PER_MM <= text_mm + 0.1


def test_no_text_is_set_smaller_than_seven_and_a_half_points_or_in_a_font_of_its_own(memo):
    for paragraph in memo.element.body.iter(qn("w:p")):
        assert not list(paragraph.iter(qn("w:rFonts"), qn("w:sz")))
    sizes = {s.name: s.font.size.pt for s in memo.styles if s.type == 1 and s.font.size}
    used = {p.style.name for p in memo.paragraphs} | {"Table Text", "Table Head", "Footer"}
    assert min(sizes[name] for name in used - {"After Table"}) >= 7.5
    assert memo.styles["Normal"].font.name == "Segoe UI"
    assert memo.styles["Title"].font.name == "Palatino Linotype"


def test_there_is_a_sheet_for_each_of_the_first_five(result, memo):
    sites = result.ranked if result.shows_order else result.ranked.sort_values("site_no")
    due = [f"Site {n}" for n in sites["site_no"].head(5)]
    assert [h.split(",")[0] for h in headings(memo, 2) if re.match(r"Site \d", h)] == due
    plans = [a.get("descr") for a, _, _ in pictures(memo) if a.get("descr").startswith("Plan of")]
    assert [re.match(r"Plan of (Site \d+)", words)[1] for words in plans] == due


@pytest.mark.parametrize("case", ["ordered", "metres", "bare", "three"], indirect=False)
def test_a_plan_holds_the_scale_that_it_states(case, memo_of):
    """The pad's line is measured in the picture itself, in pixels, and taken back to metres."""
    result = RESULTS[case]
    memo = memo_of(case)
    plans = [(a, size, dots) for a, size, dots in pictures(memo) if "Plan of" in a.get("descr")]
    assert plans
    pads = result.pads.set_index("site_no").geometry
    deep = np.array([int(INK["overprint-deep"][at : at + 2], 16) for at in (1, 3, 5)])
    for about, (width_mm, height_mm), dots in plans:
        number, scale = re.match(r"Plan of Site (\d+) at 1:([\d,]+)", about.get("descr")).groups()
        scale = int(scale.replace(",", ""))
        assert f"1:{scale:,} on paper" in about.get("title")
        line = np.argwhere((dots == deep).all(axis=2))
        tall_dots, wide_dots = line.max(axis=0) - line.min(axis=0)
        wide_m = wide_dots / dots.shape[1] * width_mm / 1000 * scale
        tall_m = tall_dots / dots.shape[0] * height_mm / 1000 * scale
        left, low, right, high = pads[int(number)].bounds
        line_m = 0.0011 * scale  # the line is 2 points wide; its corners stand out a little more
        assert right - left - 0.3 <= wide_m <= right - left + line_m
        assert high - low - 0.3 <= tall_m <= high - low + line_m


pad_sides = st.floats(3, 400)


@given(pad_sides, pad_sides, st.one_of(st.none(), st.floats(3, 9000)))
def test_the_pad_always_fits_on_its_plan(long_m, wide_m, parcel_m):
    pad = shapely.box(0, 0, long_m, wide_m)
    parcel = None if parcel_m is None else shapely.box(0, 0, parcel_m, parcel_m)
    scale = plan_scale(pad, parcel, width_m=0.178, height_m=0.08)
    assert scale in SCALES
    assert long_m <= 0.178 * scale
    assert wide_m <= 0.08 * scale


def test_the_plan_tells_low_spots_apart_and_which_way_water_runs():
    result = RESULTS["ordered"]
    pad = result.pads[result.pads["parcel_id"] == result.arrows["parcel_id"].iloc[0]].iloc[0]
    own = shapely.Point(pad["easting"] + 20, pad["northing"] - 18).buffer(5)
    spots = result.low_spots.iloc[[0, 0, 0]].assign(
        standing=["credible", "field check", "cannot be told"],
        depth_m=[0.15, 0.15, np.nan],
        probability=[0.8, 0.4, np.nan],
        geometry=[own, shapely.affinity.translate(own, -40), pad["geometry"].buffer(35)],
    )
    plan = site_plan(replace(result, low_spots=spots), pad.to_dict(), LETTER)
    assert plan.drawn.png.startswith(b"\x89PNG")
    for told in (
        "blue rings: low spots, solid 90% sure and more, broken 75 to 89%, dotted 60 to 74%",
        "stipple: hollows not looked at closer, or hidden in the noise",
        "small blue arrows: the way that water runs",
    ):
        assert told in plan.alt
        assert told in plan.key.lower()
    # what is less sure is not drawn: without it the plan is the same to the byte
    fewer = replace(result, low_spots=spots.iloc[[0, 2]])
    assert site_plan(fewer, pad.to_dict(), LETTER).drawn.svg == plan.drawn.svg
    bare = site_plan(with_no_evidence(result), pad.to_dict(), LETTER)
    assert "low spots" not in bare.alt
    assert "arrows" not in bare.alt


def test_the_plan_marks_what_is_steeper_than_a_walk_on_a_step_free_way():
    result = RESULTS["ordered"]
    pad = result.pads[result.pads["status"] == "ranked"].iloc[0]
    east, north = pad["easting"], pad["northing"]

    def plan(*grades_pct):
        height = np.cumsum([0, *(0.12 * each for each in grades_pct)])
        line = [(east - 16 - 12 * k, north, float(z)) for k, z in enumerate(height)]
        table = pd.DataFrame(
            {
                "parcel_id": [pad["parcel_id"]],
                "criterion": "accessible_route",
                "label": "step-free",
            }
        )
        own = gpd.GeoDataFrame(table, geometry=[shapely.LineString(line)], crs=result.evidence.crs)
        return site_plan(replace(result, evidence=own), pad.to_dict(), LETTER)

    key = {grades: plan(*grades).key for grades in ((3, 4), (3, 7), (3, 12))}
    assert all("blue line: a new step-free way, up to 5%" in each.lower() for each in key.values())
    assert ["blue rungs" in each for each in key.values()] == [False, True, False]
    assert ["the rules don't allow" in each for each in key.values()] == [False, False, True]
    assert plan(3, 7).drawn.svg != plan(3, 4).drawn.svg


def test_scores_and_values_are_those_of_the_tables(tmp_path, memo_of):
    result = RESULTS["ordered"]
    memo = memo_of("ordered")
    write_tables(result, tmp_path)
    with (tmp_path / "sites.csv").open(encoding="utf-8", newline="") as file:
        sites = [row for row in csv.DictReader(file) if row["status"] == "ranked"]
    ranking = rows(table_with(memo, "Rank", "Site", "Score of 100"))[1:]
    assert [(r[0].split(",")[0][:-2], r[2]) for r in ranking] == [
        (site["rank"], score_text(float(site["score"]))) for site in sites
    ]
    with (tmp_path / "measurements.csv").open(encoding="utf-8", newline="") as file:
        measured = list(csv.DictReader(file))
    told = evidence(memo, "V")
    assert {row[0] for row in told} == {f"V{site['site_no']}" for site in sites[:5]}
    for site in sites[:5]:
        own = [row for row in measured if row["parcel_id"] == site["parcel_id"]]
        cells_of_site = [row[1:] for row in told if row[0] == f"V{site['site_no']}"]
        source = ""
        for row, cells in zip(own, cells_of_site, strict=True):
            value = value_text(float(row["value"] or "nan"), row["unit"], "feet")
            ends = [float(row[end] or "nan") for end in ("low", "high")]
            straight = row["straight_m"]
            beside = f"{distance_text(float(straight), 'feet')} straight" if straight else ""
            said = [value, beside, interval_text(*ends, row["unit"], "feet"), row["note"]]
            assert cells[1] == "; ".join(filter(None, said))
            source = source if cells[2] == "as above" else cells[2]
            assert source == f"{row['layer']} {row['layer_date']}"
    facts = [rows(t)[1:] for t in memo.tables if rows(t)[0] == ["What", "Value", "Word"] * 2]
    assert len(facts) == 5
    for site, table in zip(sites, facts, strict=False):
        values = {row["criterion"].replace("_", " "): value_text(float(row["value"] or "nan"), row["unit"], "feet")
                  for row in measured if row["parcel_id"] == site["parcel_id"]}  # fmt: skip
        shown = {
            cells[at].lower(): cells[at + 1].split(";")[0]
            for cells in table
            for at in (0, 3)
            if cells[at]
        }
        assert shown == values


@pytest.mark.parametrize("case", ["three", "one", "none"], indirect=False)
def test_fewer_than_four_sites_are_compared_and_never_ranked(case, memo_of):
    memo = memo_of(case)
    said = " ".join(texts(memo))
    assert not re.search(r"\b\d+(st|nd|rd|th)\b", said)
    assert not any("Rank" in rows(table)[0] for table in memo.tables)
    assert "comes first" not in said
    compared = [rows(table)[0] for table in memo.tables if rows(table)[0][0] == "Question"]
    sites = [name for head in compared for name in head if name.startswith("Site ")]
    assert sites == sorted(sites)
    assert len(sites) == len(RESULTS[case].ranked)


def test_an_order_is_printed_from_four_on_and_ties_are_said(memo_of):
    memo = memo_of("tied")
    ranks = [row[0] for row in rows(table_with(memo, "Rank"))[1:]]
    assert ranks[:4] == ["1st, tied", "1st, tied", "1st, tied", "4th"]


def test_where_none_is_ranked_the_nearest_misses_stand_and_no_plan(memo_of):
    memo = memo_of("none")
    (about, *_), *others = pictures(memo)  # the map of what was left out, and no plan
    assert about.get("descr").startswith("Map of all parcels")
    assert not others
    near = rows(table_with(memo, "Nearest misses"))[1:]
    assert len(near) == 5
    assert all("missed by" in row[1] or "fits" in row[1] for row in near)
    assert "The nearest miss is " + near[0][0] in " ".join(texts(memo))


def test_every_parcel_left_out_is_told_with_its_margin(memo_of):
    result = RESULTS["ordered"]
    memo = memo_of("ordered")
    told = {row[0].split(",")[0]: row[2] for row in rows(table_with(memo, "Parcel", "Verdict"))[1:]}
    out = result.sites[result.sites["status"] != "ranked"]
    assert set(told) == {f"Site {n}" for n in out["site_no"]}
    screened = out.loc[out["status"] == "screened out", "site_no"]
    assert all("missed by" in told[f"Site {n}"] for n in screened)
    tally = rows(table_with(memo, "Rule, each parcel counted once"))[1:]
    assert sum(int(row[1]) for row in tally) == len(out)


def test_a_condition_stands_first_on_its_sheet(memo_of):
    result = RESULTS["ordered"]
    memo = memo_of("ordered")
    parcel = result.conditions.iloc[0]["parcel_id"]
    number = result.sites.set_index("parcel_id").loc[parcel, "site_no"]
    said = [p.text for p in memo.paragraphs]
    place = next(n for n, text in enumerate(said) if text.startswith(f"Site {number}, "))
    assert said[place + 1].startswith("Ranked, only with a fence or other barrier along the street")


def test_conditions_of_many_sites_stand_in_the_table_and_do_not_flood_the_summary(tmp_path):
    result = RESULTS["many"]
    ranked = result.ranked["parcel_id"].tolist()
    one = result.conditions.iloc[[0]]
    every = pd.concat([one.assign(parcel_id=parcel) for parcel in ranked], ignore_index=True)
    memo = written(replace(result, conditions=every), tmp_path)
    said = [p.text for p in memo.paragraphs]
    summary = said[said.index("Summary") : said.index("Land considered, and what was left out")]
    (box,) = (text for text in summary if "Ranked, only with" in text)
    numbers = result.sites.set_index("parcel_id")["site_no"]
    named = box.split(": ")[0]
    assert all(f"Site {numbers[parcel]}" in named for parcel in ranked[:5])
    assert f"Site {numbers[ranked[5]]}" not in re.findall(r"Site \d+", named)
    needs = [row[-1] for row in rows(table_with(memo, "Rank"))[1:]]
    assert set(needs) == {one.iloc[0]["needs"]}


def test_loud_findings_stand_before_the_summary_and_notes_in_the_appendix(memo_of):
    memo = memo_of("noticed")
    said = texts(memo)
    place = {key: next(n for n, t in enumerate(said) if key in t) for key in (
        "Before you rely on this: The ground has a step of 1 ft. It was left. Ask the county.",
        "Summary", "12 trees lie in streets", "Appendix", "3 lots have no name",
    )}  # fmt: skip
    assert list(place.values()) == sorted(place.values())


def test_parts_with_nothing_to_say_are_left_out(tmp_path):
    all_ranked = made_up_result(5, statuses=("ranked",))
    memo = written(replace(all_ranked, ledger=all_ranked.ledger.iloc[:0]), tmp_path)
    assert "Land considered, and what was left out" not in headings(memo)
    assert "What was noticed in the data" not in headings(memo)
    assert "Also noticed" not in headings(memo, 2)
    assert "Where a remedy is needed" not in headings(memo, 2)


def test_line_error_and_pad_are_always_said(memo):
    said = " ".join(texts(memo))
    assert re.search(r"Lot lines on the map may be off by (10 ft|3 m)\.", said)
    assert re.search(r"The play area is (104 by 74\.5 ft|31\.7 by 22\.7 m)", said)


def test_the_method_is_written_from_the_records(memo_of):
    result = RESULTS["metres"]
    table = rows(table_with(memo_of("metres"), "Question", "Measured, and how"))[1:]
    scored = evidence(memo_of("metres"), "K")
    assert len(table) == len(scored) == len(result.criteria)
    told = zip(result.criteria, table, scored, strict=True)
    for chosen, (question, how, source), (_, what, score, *_) in told:
        assert chosen.criterion.question in question
        assert chosen.criterion.question in what
        assert chosen.criterion.method in how
        assert [k.name for k in chosen.curve.knots] == re.findall(r"ideal|acceptable|poor", score)
        assert score.startswith("weight 17%; ")
        assert str(chosen.criterion.sources[0]) in source
    assert "1.15 times" in scored[0][2]  # as set: a rounded limit would be another one


def test_equal_results_give_equal_bytes(tmp_path):
    for name in ("first", "second"):
        (tmp_path / name).mkdir()
        write_memo(made_up_result(findings=FINDINGS), tmp_path / name)
    names = {file.name for file in (tmp_path / "first").iterdir()}
    assert names == {"memo.docx", "memo.pdf", "memo.html"}
    for name in names:
        assert (tmp_path / "first" / name).read_bytes() == (tmp_path / "second" / name).read_bytes()


def test_the_memo_names_the_record_of_its_run(tmp_path, memo_of):
    result = RESULTS["ordered"]
    write_tables(result, tmp_path)
    digest = hashlib.sha256((tmp_path / "run.json").read_bytes()).hexdigest()
    assert any(digest in text for text in texts(memo_of("ordered")))
    assert hashlib.sha256(run_text(result).encode()).hexdigest() == digest


def test_paper_is_letter_for_feet_and_a4_for_metres(memo_of):
    for case, page, size in (
        ("ordered", LETTER, (8.5, 11)),
        ("metres", A4, (210 / 25.4, 297 / 25.4)),
    ):
        section = memo_of(case).sections[0]
        given_size = (Emu(section.page_width).inches, Emu(section.page_height).inches)
        assert given_size == pytest.approx(size, abs=0.001)
        assert section.left_margin == pytest.approx(Mm(page.side_mm), abs=700)


def test_names_from_files_break_nothing(tmp_path):
    result = RESULTS["hostile"]
    streets = result.base_map["streets"].assign(name=HOSTILE[2] + "\x08")
    evidence = result.evidence.assign(label="\x00 $x_{$ \u202e road")
    findings = (Finding("A \x0b layer <w:p/>", where="\ufffe", weight="loud"),)
    base_map = {**result.base_map, "streets": streets}
    memo = written(
        replace(result, base_map=base_map, evidence=evidence, findings=findings), tmp_path
    )
    said = " ".join(texts(memo))
    assert "AB<b>&amp;</b>]]> gnp.exe" in said
    assert "$\\frac{x}{y}$ {brace} %s" in said
    assert "Before you rely on this: A layer <w:p/>." in said
    assert "A layer <w:p/> (" not in said
    with zipfile.ZipFile(tmp_path / "memo.docx") as parts:
        assert parts.testzip() is None
        for name in parts.namelist():
            if name.endswith((".xml", ".rels")):
                etree.fromstring(parts.read(name))


@given(st.text())
def test_one_line_is_text_that_xml_can_hold(text):
    """As lxml judges it, which refuses what XML 1.0 leaves out."""
    line = one_line(text)
    etree.Element("t").text = line
    assert len(line.splitlines()) <= 1
    assert not set(line) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
    assert one_line(line) == line


def test_what_the_map_lacks_is_missing_and_not_a_fault(tmp_path):
    result = RESULTS["ordered"]
    crs = result.study.crs
    lane = shapely.LineString([(0, 0), (1, 1)])
    odd = gpd.GeoDataFrame({"name": [None]}, geometry=[shapely.Point()], crs=crs)
    lines = gpd.GeoDataFrame({"name": ["far away"]}, geometry=[lane], crs=crs)
    unmeasured = result.measurements.assign(low=np.nan, high=np.nan, note=None, layer_date=None)
    bare = replace(
        result,
        base_map={"water": odd, "fences": lines, "paths": lines, "trees": odd},
        measurements=unmeasured.iloc[:0],
        parcels=result.parcels.iloc[:0],
        conditions=result.conditions.iloc[:0],
        unknowns=result.unknowns.iloc[:0],
        layers=result.layers.iloc[:0],
    )
    memo = written(bare, tmp_path)
    facts = rows(table_with(memo, "What", "Value"))[1:]
    shown = [row[at : at + 3] for row in facts for at in (0, 3) if row[at]]
    assert len(shown) == len(result.criteria)
    assert all(row[1:] == ["unknown", "? unknown"] for row in shown)
    assert not evidence(memo, "V")
    assert "Walk it with a level." in " ".join(texts(memo))


def test_a_visit_overrides_the_map_and_both_are_told(tmp_path):
    result = RESULTS["ordered"]
    best = result.ranked.iloc[0]["parcel_id"]
    measured = result.measurements.copy()
    own = (measured["parcel_id"] == best) & (measured["criterion"] == "grade")
    columns = ["origin", "layer", "layer_date", "method", "value", "map_value"]
    measured.loc[own, columns] = ["field", "parks staff", "2026-02-09", "level", 2.0, 3.0]
    memo = written(replace(result, measurements=measured), tmp_path)
    number = result.ranked.iloc[0]["site_no"]
    own = {row[1]: row for row in evidence(memo, f"V{number}")}
    assert own["Grade"][2] == "2%"
    visit = "site visit of 9 February 2026 by parks staff (level)"
    assert own["Grade"][3] == f"{visit}; the map says 3%"


def test_inks_are_those_of_the_look_in_print(repo):
    css = (repo / "playsite/report/web_map/tokens.css").read_text("utf-8")
    screen, printed = css.split("@media print")[0], css.split("@media print")[1]
    named = dict(re.findall(r"--([a-z0-9-]+): (#[0-9A-F]{6})", screen))
    named |= dict(re.findall(r"--([a-z0-9-]+): (#[0-9A-F]{6})", printed.split("}")[0]))
    assert {name: named[name] for name in INK} == INK


def test_an_empty_study_still_gives_a_memo(tmp_path):
    result = RESULTS["none"]
    empty = {
        name: getattr(result, name).iloc[:0]
        for name in (
            "sites",
            "measurements",
            "ledger",
            "misses",
            "parcels",
            "pads",
            "layers",
            "unknowns",
        )
    }
    memo = written(replace(result, **empty, criteria=()), tmp_path)
    assert memo.paragraphs[0].text == "No parcel passes every rule."
    assert isinstance(result.sites, pd.DataFrame)
    assert headings(memo)[-1].startswith("Appendix")
