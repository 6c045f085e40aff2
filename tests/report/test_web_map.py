"""The map as text: one file, nothing fetched, names that stay names, shapes that come back."""

import base64
import gzip
import html
import importlib.util
import itertools
import json
import re
from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely.geometry import Point, Polygon

from playsite.problems import Finding
from playsite.ranking.ballots import Ballot, Ballots, counted
from playsite.report.web_map import map_html, notebook_html, write_map
from playsite.report.web_map.shapes import polygons, steps
from playsite.result import CAUTIONS

HOSTILE = (
    "<img src=x onerror=alert(1)>",
    "</script><script>alert(2)</script>",
    "<!-- <script>",
    "{{ 7*7 }}{% raw %}",
    "${alert(3)}`\\u003c",
    '"onmouseover="alert(4)',
)


def _made_up():
    path = Path(__file__).parent / "made_up_result.py"
    spec = importlib.util.spec_from_file_location("made_up_result", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


MADE_UP = _made_up()


def study_of(page: str) -> dict:
    plain = re.search(r'<script type="application/json" id="study">(.*?)</script>', page, re.DOTALL)
    if plain:
        return json.loads(plain[1])
    packed = re.search(r'id="study-packed">([^<]*)<', page)
    return json.loads(gzip.decompress(base64.b64decode(packed[1])))


def read_back(flat: list[int]) -> np.ndarray:
    return np.cumsum(np.array(flat).reshape(-1, 2), axis=0) / 1e6


@pytest.fixture(scope="module")
def result():
    return MADE_UP.made_up_result(12)


@pytest.fixture(scope="module")
def page(result):
    return map_html(result)


def test_the_page_names_no_address_that_a_browser_would_fetch(page):
    # What fetches: src and href with a host, url(), import, @import. Namespaces and comments don't.
    fetching = re.findall(
        r"""(?:src|href)\s*=\s*["']?(?:https?:)?//[^\s"'>]+|url\(\s*["']?(?!#)[^)]*\)|@import""",
        page,
    )
    leaflets_own_link_is_switched_off = "attributionControl: false" in page
    assert [found for found in fetching if "leafletjs.com" not in found] == []
    assert leaflets_own_link_is_switched_off


def test_the_policy_forbids_every_request_and_stands_before_any_style_or_script(page):
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)
    assert "default-src 'none'" in policy[1]
    assert "connect-src" not in policy[1]
    assert policy.start() < min(page.index("<style"), page.index("<script"))


def test_leaflet_is_inside_and_the_name_of_a_source_map_is_not(page):
    assert "Leaflet 1.9.4" in page
    assert "sourceMappingURL" not in page


def test_two_maps_of_one_result_are_the_same_to_the_byte_but_for_folium_s_names(result):
    assert map_html(result) == map_html(result)


def test_hostile_names_stay_text_in_the_page_and_in_its_data():
    names = dict(enumerate(HOSTILE, start=1))
    page = map_html(MADE_UP.made_up_result(12, names=names))
    assert "<img src=x" not in page
    assert page.count("<script") == page.count("</script>") == 3
    assert "{{ 7*7 }}{% raw %}" in page  # branca would have run it as a template
    assert {site.get("name") for site in study_of(page)["sites"]} >= set(HOSTILE)


def test_a_hostile_title_and_finding_stay_text():
    made = MADE_UP.made_up_result(4, findings=(Finding(what=HOSTILE[0], weight="loud"),))
    page = map_html(replace(made, study=replace(made.study, title=HOSTILE[1])))
    assert html.escape(HOSTILE[1]) in page
    assert "<img src=x" not in page.split('id="study"')[0]


def test_a_loud_finding_stands_on_the_page_and_a_note_does_not():
    loud = Finding(
        what="There is no building layer.", done="Pads may lie on houses.", weight="loud"
    )
    note = Finding(what="Two trees have no height.", weight="note")
    page = map_html(MADE_UP.made_up_result(4, findings=(loud, note)))
    assert "Pads may lie on houses." in page
    assert "Two trees have no height." not in page


def test_every_caution_is_on_the_page_twice_for_screen_and_for_paper(page):
    for caution in CAUTIONS:
        assert page.count(html.escape(caution, quote=False)) == 2
    assert "Call 811 before any digging." in page


def test_language_zoom_landmarks_and_headings_are_as_a_screen_reader_needs_them(page):
    assert '<html lang="en">' in page
    assert "user-scalable" not in page
    assert page.count("<main") == 1
    assert page.count("<h1") == 1
    assert '<a class="skip"' in page


def test_every_parcel_is_in_the_data_with_its_state_in_order(result, page):
    sites = study_of(page)["sites"]
    assert [site["no"] for site in sites] == result.sites["site_no"].tolist()
    words = ("ranked", "does not fit", "screened out", "not assessed")
    assert [words[site["status"]] for site in sites] == result.sites["status"].tolist()


def test_shapes_come_back_in_degrees_to_the_sixth_decimal(result, page):
    sites = {site["id"]: site for site in study_of(page)["sites"]}
    there = result.parcels.to_crs("EPSG:4326")
    for parcel, shape in zip(there["parcel_id"], there.geometry, strict=True):
        ring = read_back(sites[parcel]["parcel"][0][0])  # without its last vertex, the first again
        assert np.abs(ring - np.array(shape.exterior.coords)[:-1]).max() <= 0.5001e-6


def test_steps_leave_out_vertices_that_would_lie_on_each_other():
    assert steps(np.array([[0, 0], [1e-7, 0], [1e-6, 0]])) == [0, 0, 1, 0]


def test_polygons_keep_holes_and_parts_and_drop_points():
    hole = Polygon([(0, 0), (4, 0), (4, 4), (0, 4)], [[(1, 1), (2, 1), (2, 2), (1, 2)]])
    both = hole.union(Polygon([(8, 8), (9, 8), (9, 9)])).union(Point(20, 20))
    assert [len(rings) for rings in polygons(both)] == [2, 1]
    assert polygons(None) == polygons(Point(1, 1)) == []


def test_a_parcel_that_is_out_has_its_reason_in_feet_and_in_metres(page):
    out = [site for site in study_of(page)["sites"] if site.get("short") == "near water"]
    feet, metres = out[0]["why"]
    assert re.search(r"\d ft measured, the limit is 20 ft, missed by \d+ ft", feet)
    assert re.search(r"\d m measured, the limit is 6 m, missed by [\d.]+ m", metres)


def test_what_is_unknown_is_said_so_and_is_never_a_number(page):
    study = study_of(page)
    shade = [row for site in study["sites"] for row in site.get("measured", []) if row[0] == 4]
    unknown = [row for row in shade if row[2] is None]
    assert unknown
    assert {study["texts"][row[1]] for row in unknown} == {"unknown"}
    assert {row[3] for row in unknown} == {3}


def test_a_large_study_is_packed_and_reads_back_the_same(monkeypatch, result, page):
    monkeypatch.setattr("playsite.report.web_map.page.PACKED_FROM_BYTES", 1)
    packed = map_html(result)
    assert 'id="study-packed"' in packed
    assert study_of(packed) == study_of(page)


def test_without_base_map_contours_or_evidence_there_is_still_a_page():
    bare = MADE_UP.with_no_evidence(MADE_UP.made_up_result(3, base_map=False))
    study = study_of(map_html(bare))
    assert len(study["sites"]) == 3
    assert study["low_spots"] == []


def test_no_parcel_at_all_passes_and_the_nearest_miss_is_named():
    page = map_html(MADE_UP.made_up_result(6, statuses=("screened out", "does not fit")))
    assert "No parcel passes every rule." in page
    assert "The nearest miss is Site" in page


def test_with_three_ranked_no_rank_is_printed():
    page = map_html(MADE_UP.made_up_result(3, statuses=("ranked",)))
    assert study_of(page)["shows_order"] is False
    assert re.findall(r'class="chip">(\d*)<', page) == ["", "", ""]


def test_streets_are_one_outline_so_that_no_casing_crosses_a_crossing(result, page):
    assert len(result.base_map["streets"]) > 4
    assert len(study_of(page)["ground"]["streets"]) == 1


def test_trees_have_their_crown_where_it_is_known(result):
    trees = gpd.GeoDataFrame(
        {"crown_m": [4.0, np.nan]},
        geometry=[Point(5e5, 44e5), Point(5e5 + 50, 44e5)],
        crs=MADE_UP.CRS,
    )
    study = study_of(map_html(replace(result, base_map={"trees": trees})))
    wide = [np.ptp(read_back(rings[0])[:, 1]) * 111_000 for rings in study["ground"]["trees"]]
    assert wide == pytest.approx([8.0, 5.0], rel=0.02)


def test_the_file_is_written_as_utf_8_with_plain_line_ends(tmp_path, result):
    write_map(result, tmp_path / "map.html")
    raw = (tmp_path / "map.html").read_bytes()
    assert b"\r" not in raw
    assert raw.decode() == map_html(result)


def test_in_a_notebook_the_page_sits_in_a_frame_that_can_t_reach_out(result):
    frame = notebook_html(result)
    assert 'sandbox="allow-scripts allow-modals"' in frame
    inner = re.search(r'srcdoc="([^"]*)"', frame)
    assert html.unescape(inner[1]) == map_html(result)


# --- The colours of the look, computed from tokens.css -------------------------------------

# Severity 1.0 of G. Machado, M. Oliveira, L. Fernandes, "A physiologically-based model for
# simulation of color vision deficiency", 2009 (matrices from memory; they act on linear RGB).
EYES = {
    "normal": np.eye(3),
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
}  # fmt: skip
# Linear sRGB to XYZ, IEC 61966-2-1.
TO_XYZ = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]


def tokens() -> dict[str, str]:
    text = (Path(__file__).parents[2] / "playsite/report/web_map/tokens.css").read_text("utf-8")
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9A-Fa-f]{6})", text.split("@media")[0]))


def linear(colour: str) -> np.ndarray:
    part = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    # Web Content Accessibility Guidelines 2.2, "contrast ratio".
    light, dark = sorted((linear(c) @ [0.2126, 0.7152, 0.0722] for c in (one, other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def lab(colour: str, eye: str) -> np.ndarray:
    seen = np.clip(np.array(EYES[eye]) @ linear(colour), 0, 1)
    white = np.array(TO_XYZ) @ np.ones(3)
    x, y, z = (
        np.cbrt(v) if v > 0.008856 else 7.787 * v + 16 / 116
        for v in np.array(TO_XYZ) @ seen / white
    )
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def distance(one: str, other: str, eye: str) -> float:
    return float(np.linalg.norm(lab(one, eye) - lab(other, eye)))


TEXTS = [
    *[(ink, ground) for ink in ("ink", "ink-2", "ink-3") for ground in ("sheet", "margin", "land")],
    ("street-text", "street"), ("water-text", "water"), ("park-text", "park"),
    ("caution", "caution-wash"), ("error", "error-wash"), ("ink", "score-1"), ("ink", "score-2"),
    ("cut", "sheet"), ("fill", "sheet"), ("contour-text", "land"), ("contour-text", "sheet"),
    ("overprint", "sheet"), ("route-walk", "sheet"), ("low-3", "sheet"), ("ink-2", "overprint-wash"),
]  # fmt: skip
MARKS = [
    ("overprint", "land"), ("overprint-deep", "land"), ("out-line", "land"), ("out-hatch", "land"),
    ("nofit-line", "land"), ("unknown-line", "land"), ("low-3", "land"), ("water-edge", "land"),
    ("route-walk", "land"), ("rule-strong", "sheet"), ("rule-strong", "margin"), ("focus", "land"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "ground"), TEXTS)
def test_text_stands_out_4_5_to_1(text, ground):
    assert contrast(tokens()[text], tokens()[ground]) >= 4.5


@pytest.mark.parametrize(("mark", "ground"), MARKS)
def test_marks_stand_out_3_to_1(mark, ground):
    assert contrast(tokens()[mark], tokens()[ground]) >= 3


@pytest.mark.parametrize("step", [3, 4, 5])
def test_white_numerals_stand_out_on_the_dark_steps(step):
    assert contrast("#FFFFFF", tokens()[f"score-{step}"]) >= 4.5


@pytest.mark.parametrize("eye", EYES)
def test_neighbouring_score_steps_can_be_told_apart_by_every_eye(eye):
    steps_ = [tokens()[f"score-{step}"] for step in range(1, 6)]
    assert min(distance(a, b, eye) for a, b in itertools.pairwise(steps_)) >= 13


@pytest.mark.parametrize("eye", EYES)
def test_a_ranked_line_can_be_told_from_a_screened_out_one_by_every_eye(eye):
    assert distance(tokens()["overprint"], tokens()["out-line"], eye) >= 15


@pytest.mark.parametrize("eye", EYES)
def test_cut_can_be_told_from_fill_by_every_eye(eye):
    assert distance(tokens()["cut"], tokens()["fill"], eye) >= 15


def test_the_leader_has_its_drawings_arrows_and_heights_and_they_stay_small(result, page):
    study = study_of(page)
    site = study["sites"][0]
    kinds = ("drawings", "arrows", "heights")
    assert len(site["drawings"]) == 2
    for _, shapes, letters, seen, finding, key in site["drawings"]:
        assert shapes.startswith("<path")
        for pair in (letters, seen, finding):
            assert " ft" in pair[0] or "yd" in pair[0]
            assert re.search(r" m\b|m²|m³", pair[1])
        assert key[0][0].isupper()
    assert len(site["arrows"]) == len(result.arrows)
    heights = {study["texts"][words][0] for words, *_ in site["heights"]}
    levels = result.contours[result.contours["parcel_id"] == site["id"]]["elevation_m"]
    assert heights == {f"{round(level / 0.3048, 1):g} ft" for level in levels}
    for each in study["sites"]:
        assert len(json.dumps([each.get(kind) for kind in kinds])) < 40_000


def test_low_spots_are_drawn_in_three_steps_and_what_is_less_sure_is_listed():
    made = MADE_UP.made_up_result(12)
    sure = [0.995, 0.9, 0.894, 0.75, 0.745, 0.744, 0.6, 0.59, np.nan, np.nan]
    spots = (
        made.low_spots.iloc[[0] * len(sure)]
        .reset_index(drop=True)
        .assign(
            standing=["credible"] * 7 + ["field check", "field check", "cannot be told"],
            probability=sure,
            depth_m=0.15,
            soaked_away_h=[742.5, *[np.nan] * 9],
        )
    )
    study = study_of(map_html(replace(made, low_spots=spots)))
    drawn = [(short if isinstance(short, str) else short[0], words if isinstance(words, str) else words[0], step)
             for short, words, _, step in study["low_spots"]]  # fmt: skip
    # rounded first, then put into its step; 59 % is not drawn; without a probability it is unknown
    assert [step for *_, step in drawn] == [0, 0, 1, 1, 1, 2, 2, 3, 3]
    assert drawn[0][:2] == (
        "6 in deep",
        "low spot, almost sure, 6 in deep, 9,690 sq ft drain to it, soaks away in 31 days",
    )
    assert drawn[3][1] == "low spot, 75% likely, 6 in deep, 9,690 sq ft drain to it"
    assert drawn[-2][:2] == (
        "perhaps 6 in deep",
        "possible low spot, 6 in deep, not looked at closer: look in the field",
    )
    assert drawn[-1][1] == "hollows cannot be told from the noise here"
    near = next(site["low_spots"] for site in study["sites"] if "low_spots" in site)
    assert len(near) == 9
    assert near[0][0].startswith("Low spot, almost sure, 6 in deep")
    assert near[7][0].startswith("Possible low spot, 59% likely, 6 in deep")
    pads = made.pads.set_index("parcel_id").geometry
    far_ft = min(pad.distance(made.low_spots.geometry.iloc[0]) for pad in pads) / 0.3048
    assert near[7][0].endswith(
        f"look in the field. It lies {far_ft:.0f} ft south-east of the play area."
    )
    assert "not looked at closer" in near[8][0]


def test_grade_over_the_lots_has_a_class_for_each_step_of_its_own_curve_and_one_unknown():
    made = MADE_UP.made_up_result(40)
    page = map_html(made)
    for words in (
        "up to 2%: ideal",
        "over 2 to 4.5%: acceptable",
        "over 4.5 to 8%: short of acceptable",
        "over 8%: poor",
        "unknown: no elevation",
        "104 by 74.5 ft",
        "Elevation 2023.",
    ):
        assert words in page
    study = study_of(page)
    assert [step for step, _ in study["sites"][0]["grades"]] == [0, 1, 2, 3, -1]
    # a list for those who can't see it: strips of 12 by 50 m, a fifth of the whole each
    assert study["sites"][0]["slopes"] == [
        "up to 2%: ideal, 20% of the lot",
        "over 2 to 4.5%: acceptable, 20% of the lot",
        "over 4.5 to 8%: short of acceptable, 20% of the lot",
        "over 8%: poor, 20% of the lot",
        "unknown: no elevation, 20% of the lot",
    ]
    # only on the lots that have drawings, so that a page stays small
    assert sum("grades" in site for site in study["sites"]) == min(24, len(made.ranked))
    bare = map_html(MADE_UP.with_no_evidence(made))
    assert 'data-layer="grades"' not in bare


def test_of_a_very_large_town_every_parcel_is_shown_and_the_first_in_full():
    from playsite.report.web_map.light import lightened

    result = MADE_UP.made_up_result(40)
    assert lightened(result) is result
    few = lightened(result, most=30, detailed=7)
    assert few.sites["parcel_id"].tolist() == result.sites["parcel_id"].tolist()
    assert set(few.measurements["parcel_id"]) == set(result.sites["parcel_id"].iloc[:7])
    assert len(few.misses) == len(result.misses)
    assert "for the first 7 of 40 parcels" in str(few.findings[0])
    assert few.findings[0].weight == "loud"


def test_what_follows_the_first_parcels_comes_in_columns_and_is_the_same(monkeypatch, result, page):
    monkeypatch.setattr("playsite.report.web_map.payload.MOST_DETAILED", 5)
    split = study_of(map_html(result))
    assert len(split["sites"]) == 5
    names = list(split["rest"])
    rows = [
        {n: v for n, v in zip(names, row, strict=True) if v is not None}
        for row in zip(*split["rest"].values(), strict=True)
    ]
    for place, row in enumerate(rows, start=6):  # ranks and shapes come as small numbers
        if "rank" in row:
            row["rank"] += place
        for ring in (
            r for name in ("pad", "ghost", "others") for rs in row.get(name, []) for r in rs
        ):
            ring[:2] = [a + b for a, b in zip(ring[:2], row["parcel"][0][0][:2], strict=True)]
    assert split["sites"] + rows == study_of(page)["sites"]


def test_scores_packed_in_two_bytes_are_good_to_a_thousandth_of_a_point():
    import base64

    from playsite.report.web_map.scores import packed, score_table

    table = score_table(MADE_UP.made_up_result(60))
    assert table.isna().to_numpy().any()
    for name, column in zip(table, packed(table), strict=True):
        steps = np.frombuffer(base64.b64decode(column), "<u2").astype(float)
        told = np.where(steps == 65_535, np.nan, steps / 65_534)
        np.testing.assert_allclose(told, table[name], rtol=0, atol=1e-5)


def test_residents_own_words_are_on_the_card_shortened_and_as_data():
    result = MADE_UP.made_up_result(12)
    one, other = result.sites["parcel_id"].iloc[:2]
    said = pd.DataFrame(
        [(one, "traffic", HOSTILE[0]), (one, "", "x" * 900), (other, "", "Wet in spring.")],
        columns=["parcel_id", "criterion", "comment"],
    )
    count = counted([Ballot(approves=(one,), order=())])
    ballots = Ballots({"all": count}, 0, pd.Series(dtype="int64"), said)
    page = map_html(replace(result, ballots=ballots))
    sites = {site["id"]: site for site in study_of(page)["sites"]}
    assert sites[one]["comments"][0] == ["traffic", HOSTILE[0]]
    assert len(sites[one]["comments"][1][1]) <= 300
    assert sites[other]["comments"] == [["", "Wet in spring."]]
    assert "1 comment" in sites[other]["residents"]
    assert "<img src=x" not in page
