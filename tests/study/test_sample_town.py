"""The sample town ranked, and held to what its maker knows of it (``truth.json``)."""

import base64
import gzip
import json
import re
import shutil

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from click.testing import CliRunner
from docx import Document
from report.evidence_of_memo import cells_without_source, numbers_without_source
from report.memo_file import pages_of_heads

from playsite import study
from playsite.cli import commands
from playsite.report.explanation import explanation_lines
from playsite.report.memo import memo_of
from playsite.report.wording import answer_sentence, ordinal, value_text
from playsite.report.writing import write_all
from playsite.study import run


@pytest.fixture(scope="module")
def truth(repo):
    told = json.loads((repo / "sample_gis" / "truth.json").read_text(encoding="utf-8"))
    return {each["name"]: each for each in told["candidates"]}


@pytest.fixture(scope="module")
def town(repo, tmp_path_factory, sample_memory):
    """The sample study in a folder of its own, where a test may move its weights."""
    folder = tmp_path_factory.mktemp("town") / "sample_gis"
    shutil.copytree(repo / "sample_gis", folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PLAYSITE_CACHE", str(sample_memory))
        yield folder


@pytest.fixture(scope="module")
def result(town):
    return run(town)


@pytest.fixture(scope="module")
def sites(result):
    return result.sites.set_index("name")


@pytest.fixture(scope="module")
def values(result, sites):
    names = dict(zip(sites["parcel_id"], sites.index, strict=True))
    table = result.measurements.assign(name=result.measurements["parcel_id"].map(names))
    return table.set_index(["name", "criterion"])["value"]


def _pad(result, sites, name):
    return result.pads.set_index("parcel_id").geometry.loc[sites.loc[name, "parcel_id"]]


def test_every_parcel_has_the_status_that_its_maker_expects(truth, sites):
    assert sites["status"].to_dict() == {name: each["expected"] for name, each in truth.items()}


def test_largest_scales_are_those_of_the_closed_forms(truth, values):
    known = {n: each["largest_scale"] for n, each in truth.items() if each["largest_scale"]}
    assert len(known) >= 4
    for name, scale in known.items():
        assert values[name, "fit"] == pytest.approx(scale, rel=1e-3), name


def test_every_pad_lies_on_its_parcel_and_off_houses_water_streets_and_easements(result, repo):
    pads = result.pads.set_index("parcel_id").geometry
    parcels = result.parcels.set_index("parcel_id").geometry
    inner = pads.buffer(-1e-4)
    assert all(parcels[i].buffer(-3.048).contains(pad) for i, pad in inner.items())
    for name in ("buildings", "water", "easements"):
        shapes = gpd.read_file(repo / "sample_gis" / f"{name}.gpkg").geometry
        around = 6.096 if name == "buildings" else 0
        least = shapely.STRtree(shapes.to_numpy()).query(inner, "dwithin", around - 1e-3)
        assert not least.size, name


def test_the_ledge_is_found_on_its_steep_parcel(truth, result, sites, values):
    terrace = shapely.Polygon(truth["Ledge Field"]["facts"]["terrace"])
    pad = _pad(result, sites, "Ledge Field")
    assert pad.intersection(terrace).area / pad.area > 0.9
    assert values["Ledge Field", "grade"] < 1


def test_the_hollow_of_the_lawn_is_a_low_spot_of_its_depth(truth, result):
    facts = truth["Saucer Lawn"]["facts"]
    spots = result.low_spots
    own = spots[spots.contains(shapely.Point(facts["hollow_centre"]))]
    assert len(own) == 1
    assert own["depth_m"].iloc[0] == pytest.approx(facts["closed_depth_m"], abs=0.12)


def test_grades_are_those_that_the_maker_laid(truth, values):
    shaped = {"Ledge Field", "Millpond Park", "Saucer Lawn", "Culvert Meadow"}
    for name, each in truth.items():
        if each["grade_pct"] and each["pad_fits"] and name not in shaped:
            assert values[name, "grade"] == pytest.approx(each["grade_pct"], abs=0.25), name


def test_a_creek_is_walked_round_and_a_locked_restroom_is_none(truth, result, sites, values):
    facts = truth["Far Bank Meadow"]["facts"]
    notes = result.measurements.set_index(["parcel_id", "criterion"])["note"]
    far = notes[sites.loc["Far Bank Meadow", "parcel_id"], "restroom"]
    walk = values["Far Bank Meadow", "restroom"]
    least = facts["walk_at_least_m"] if facts["restroom"] in far else 2 * facts["straight_m"]
    assert walk > least
    school = notes[sites.loc["Larch Street School", "parcel_id"], "restroom"]
    assert "School restroom" not in school


def test_twins_nearly_tie_and_the_dominated_site_is_never_before_its_better(sites):
    # alike in all that was laid out; only the land above them, and what runs off it, differs
    one, other = sites.loc["Sorrel Green"], sites.loc["Sedge Green"]
    assert one["score"] == pytest.approx(other["score"], abs=0.01)
    assert abs(one["rank"] - other["rank"]) <= 1
    assert sites.loc["Cinder Lot", "rank"] > sites.loc["Founders Green", "rank"]


def test_pads_near_water_and_arterials_are_ranked_only_with_a_barrier(sites):
    for name in ("Millpond Park", "Heron Landing", "Gatehouse Meadow"):
        assert "open water" in sites.loc[name, "conditions"]
    assert "street" in sites.loc["Turnpike Green", "conditions"]


def test_alternatives_overlap_by_less_than_a_quarter(result):
    pads = result.pads.set_index("parcel_id").geometry
    for parcel_id, group in result.alternatives.groupby("parcel_id"):
        shapes = [pads[parcel_id], *group.geometry]
        assert len(shapes) <= 4
        for i, one in enumerate(shapes):
            for other in shapes[i + 1 :]:
                assert one.intersection(other).area < 0.25 * one.area


@pytest.fixture
def moved(town, result, monkeypatch):
    """The same town where one weight is so many times as much: nothing may be measured again."""

    def nothing(*_, **__):
        raise AssertionError("moved weights must measure nothing")

    monkeypatch.setattr(study, "read_layers", nothing)
    file, usual = town / "study.toml", {each.name: each.usual_weight for each in result.criteria}
    before = file.read_text("utf-8")

    def with_weight(name, factor, *, alone=None):
        weights = {name: factor * usual[name]}
        weights |= {each: 0.0 for each in usual if alone and each not in alone}
        more = [f"\n[criteria.{each}]\nweight = {float(by)!r}\n" for each, by in weights.items()]
        file.write_text(before + "".join(more), "utf-8")
        return run(town)

    yield with_weight
    file.write_text(before, "utf-8")


def test_the_weight_at_which_the_lead_changes_gives_the_tie_when_put_back_in(result, moved):
    change = result.firm.lead_lost.sort_values("factor").iloc[0]
    level = moved(change["criterion"], change["factor"]).sites.set_index("parcel_id")["score"]
    leader = result.ranked["parcel_id"].iloc[0]
    assert level[leader] == pytest.approx(level[change["rival"]], abs=2e-9)
    assert level[[leader, change["rival"]]].min() == pytest.approx(level.max(), abs=2e-9)


def test_a_change_of_lead_and_its_near_tie_go_from_the_command_to_map_and_memo(
    result, moved, tmp_path
):
    pairs = result.firm.pairs
    from_first = pairs[pairs["ahead"] == result.ranked["parcel_id"].iloc[0]]
    near = (from_first["probability"] < 0.75).any()
    assert ("too close to call" in answer_sentence(result)) == near
    lost = result.firm.lead_lost
    change = lost.loc[np.log(lost["factor"]).abs().idxmin()]
    # so near to the tie that the measuring errors outweigh the lead
    beyond = 1.001 if change["factor"] > 1 else 0.999
    after = moved(change["criterion"], beyond * change["factor"])
    assert after.ranked["parcel_id"].iloc[0] == change["rival"]
    answer = answer_sentence(after)
    was = result.ranked.iloc[0]
    assert re.search(rf"comes first, but .*Site {was['site_no']}.* too close to call\.$", answer)
    write_all(after, tmp_path / "out")
    page = (tmp_path / "out" / "map.html").read_text("utf-8")
    assert answer in " ".join(re.sub(r"<[^>]+>", "", page.split("</h1>")[0]).split())
    memo = Document(str(tmp_path / "out" / "memo.docx"))
    assert memo.paragraphs[0].text == answer
    robustness = pd.read_csv(tmp_path / "out" / "robustness.csv", dtype={"parcel_id": str})
    assert robustness["parcel_id"].tolist() == after.ranked["parcel_id"].tolist()
    pairs = pd.read_csv(tmp_path / "out" / "pairs.csv", dtype=str)
    first = pairs[(pairs["ahead"] == change["rival"]) & (pairs["behind"] == was["parcel_id"])]
    assert first["separable"].tolist() == ["False"]
    # under one half where intervals are lopsided: ahead by its likeliest values, and likely behind
    assert float(first["probability"].iloc[0]) < 0.75
    # no weights free a dominated site: it is told in the table, on its card and in the memo
    names = {
        str(row["parcel_id"]): f"Site {row['site_no']}" for row in after.ranked.to_dict("records")
    }
    beaten = robustness.dropna(subset=["dominated_by"])
    assert "Cinder Lot" in set(after.sites.set_index("parcel_id").loc[beaten["parcel_id"], "name"])
    assert (beaten["rank_1_share"] == 0).all()
    packed = re.search(r'id="study-packed">([^<]+)<', page)
    cards = gzip.decompress(base64.b64decode(packed[1])).decode()
    rows = [[cell.text for cell in row.cells] for table in memo.tables for row in table.rows]
    for site, by in zip(beaten["parcel_id"], beaten["dominated_by"], strict=True):
        told = f"{names[by]} is at least as good on everything that counts and better on something"
        assert told in cards
        said = next(p.text for p in memo.paragraphs if "Whatever the weights: " in p.text)
        assert re.search(rf"\b{names[site]}\b[^;]* never before {names[by]}\b", said)
        if after.sites.set_index("parcel_id").loc[site, "rank"] <= 12:
            assert any(row[1:2] == [names[site]] and names[by] in row for row in rows)


def test_the_dominated_lot_is_told_so_and_is_first_under_no_weights(result, truth, sites, moved):
    # on every criterion that counts and is known somewhere; unknown stands for the worst that can be
    lot = sites.loc["Cinder Lot", "parcel_id"]
    better = sites.loc[truth["Cinder Lot"]["facts"]["dominated_by"], "parcel_id"]
    weight = {chosen.name: chosen.weight for chosen in result.criteria}
    scores = result.firm.scores.dropna(axis="columns", how="all")
    counted = [name for name in scores if weight[name] > 0]
    assert {"car_parks", "traffic", "restroom", "parking", "shade", "run_on"} <= set(counted)
    assert (scores.loc[better, counted].fillna(0) >= scores.loc[lot, counted].fillna(1)).all()
    row = result.firm.robustness.set_index("parcel_id").loc[lot]
    assert (row["dominated_by"], row["rank_1_share"]) == (better, 0)
    told = explanation_lines(result, lot)
    assert any("no weights put this site before it" in line for line in told)
    for name in ("run_on", "outlet"):
        score = moved(name, 40).sites.set_index("parcel_id")["score"]
        assert score[lot] < score[better]


def test_rank_shares_leave_the_unknown_at_its_middle(result):
    # what nobody knows anywhere moves no two sites against each other
    unknown = result.firm.scores.isna().all()
    assert unknown.any()
    assert result.firm.robustness["rank_1_share"].sum() == pytest.approx(1, abs=1e-9)
    assert result.firm.shares.sum(axis=1).max() <= 1 + 1e-9


def test_every_ranked_site_is_priced_where_its_ground_and_conditions_ask_for_it(result, sites):
    costs = result.costs.sites.set_index("parcel_id")
    ranked = result.ranked
    assert list(costs.index) == list(ranked["parcel_id"])
    # what prices leave open is never told away
    assert ((costs["p90"] - costs["p10"]) > 0.2 * costs["p50"]).all()
    lines = result.costs.lines.set_index(["parcel_id", "line"])
    fenced = sites.loc["Millpond Park", "parcel_id"]  # its condition asks for a barrier
    assert lines.loc[(fenced, "fence"), "p50"] > 1_000
    assert (sites.loc["Tansy Field", "parcel_id"], "fence") not in lines.index


def test_programs_stand_side_by_side_by_what_is_the_same_anywhere(result):
    programs = result.costs.programs.set_index("program")
    assert programs.loc["small", "p80"] < programs.loc["the study's own", "p50"]


def test_a_restroom_found_locked_goes_from_the_sheet_to_command_map_and_memo(
    town, result, tmp_path
):
    def playsite(*arguments):
        told = CliRunner().invoke(commands, [str(each) for each in arguments])
        assert told.exit_code == 0, told.output
        return told.output

    study, out = shutil.copytree(town, tmp_path / "town"), tmp_path / "out"
    rows = result.measurements.set_index(["criterion", "parcel_id"]).loc["restroom"]
    weight = next(each.weight for each in result.criteria if each.name == "restroom")
    ranked = result.ranked.set_index("parcel_id")
    without = ranked["score"] - weight * rows["score"].reindex(ranked.index)
    site = without.index[without < ranked["score"].shift(-1)][0]  # the first that falls back by it
    was, walk = ranked.loc[site], value_text(rows.loc[site, "value"], "m", "feet")
    playsite("field", study, "kit", site, "--out", tmp_path / "kit")
    sheet = (tmp_path / "kit" / "field.csv").read_text(encoding="utf-8-sig").splitlines()
    place = next(row for row in sheet if row.startswith(f"{site},restroom,"))
    place = ",".join(place.split(",")[-3:])
    filled = tmp_path / "filled.csv"
    said = "none,,,tried the door,parks staff,2026-03-04,IMG_12,locked after 3 pm"
    filled.write_text(f"{sheet[0]}\n{site},restroom,{said},{place}\n", "utf-8")
    told = playsite("field", study, "read", filled)
    note = re.search(
        rf"Site {was['site_no']}, {was['name']}, from {ordinal(was['rank'])} to (\d+)\w\w: restroom from "
        rf"{walk} to none found \(visit of 4 March 2026: locked after 3 pm\)\.",
        told,
    )
    assert note, told
    assert "Found on site visits, from visits.csv: 1." in playsite("rank", study, "--out", out)
    ranks = pd.read_csv(out / "sites.csv").set_index("parcel_id")["rank"]
    assert ranks[site] == int(note[1]) > was["rank"]
    changes = pd.read_csv(out / "changes.csv").set_index("parcel_id")
    assert changes.loc[site, ["rank_was", "rank_is"]].tolist() == [was["rank"], int(note[1])]
    measured = pd.read_csv(out / "measurements.csv").set_index(["parcel_id", "criterion"])
    row = measured.loc[(site, "restroom")]
    assert row["origin"] == "field"
    assert row["map_value"] == pytest.approx(rows.loc[site, "value"], abs=1e-3)
    packed = re.search(r'id="study-packed">([^<]+)<', (out / "map.html").read_text("utf-8"))
    page = gzip.decompress(base64.b64decode(packed[1])).decode()
    assert f"measured on a site visit; locked after 3 pm; photo IMG_12; map: {walk}" in page
    assert "site visit of 4 March 2026 by parks staff (tried the door)" in page
    memo = Document(str(out / "memo.docx"))
    assert any(note[0] in each.text for each in memo.paragraphs)
    cells = {cell.text for table in memo.tables for cell in table._cells}
    assert "parks staff, 2026-03-04, tried the door" in cells
    explained = playsite("explain", study, site)
    assert "none found, weak; locked after 3 pm" in explained


@pytest.fixture(scope="module")
def memo(result):
    return memo_of(result)


def test_no_number_of_the_memos_text_or_tables_is_without_a_source(result, memo):
    assert list(numbers_without_source(memo, result.sites["name"])) == []
    assert list(cells_without_source(memo, result.sites["name"])) == []


def test_the_sheet_of_each_site_fills_two_pages_and_no_more(memo):
    pages = pages_of_heads(memo)
    sheets = [page for head, page in pages if re.match(r"Site \d+, ", head)]
    (after,) = (page for head, page in pages if head == "Appendix")
    assert np.diff([*sheets, after]).tolist() == [2] * 5
