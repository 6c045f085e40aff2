"""Two runs side by side: every cause is told, and every site that changed says why."""

import json
import math

import pandas as pd
import pytest
from click.testing import CliRunner

from playsite.cli import commands
from playsite.errors import InputError
from playsite.report.changes import Picture, sentences_of, site_changes
from playsite.report.comparing import comparison_lines, read_run
from playsite.report.cost_changes import cost_change_lines

WEIGHTS = {"restroom": 0.5, "shade": 0.5}
SCORES = {"A": (1.0, 0.8), "B": (0.8, 0.8), "C": (0.6, 0.6), "D": (0.2, 0.2)}
VALUES = {1.0: 50.0, 0.8: 84.0, 0.6: 108.0, 0.2: 168.0, 0.0: math.inf, None: math.nan}


def _picture(scores=SCORES, weights=WEIGHTS, visits=(), out=(), east=0.0):
    total = {
        name: sum(
            share * (0.5 if s is None else s)
            for share, s in zip(weights.values(), own, strict=True)
        )
        for name, own in scores.items()
    }
    sites, rows = [], []
    ranked = sorted((name for name in total if name not in out), key=lambda name: -total[name])
    for number, name in enumerate(scores, start=1):
        status = "screened out" if name in out else "ranked"
        rank = math.nan if name in out else ranked.index(name) + 1
        score = math.nan if name in out else round(total[name], 9)
        reason = "steeper than 15 %: 16 pct, limit 15" if name in out else ""
        site = (name, number, f"Lot {name}", status, rank, score, 1000.0 + east, 2000.0, reason)
        sites.append(site)
        for criterion, own in zip(weights, scores[name], strict=True):
            rows.append((name, criterion, VALUES[own], "m", math.nan if own is None else own))
    columns = [
        "parcel_id",
        "site_no",
        "name",
        "status",
        "rank",
        "score",
        "pad_easting",
        "pad_northing",
        "reason",
    ]
    return Picture(
        pd.DataFrame(sites, columns=columns),
        pd.DataFrame(rows, columns=["parcel_id", "criterion", "value", "unit", "score"]),
        weights,
        visits,
        "metres",
    )


VISIT = {"parcel_id": "A", "criterion": "restroom", "value": math.inf, "map_value": 50.0, "unit": "m",
         "date": "2026-03-04", "note": "locked after 3 pm", "role": "parks staff"}  # fmt: skip


def test_equal_pictures_have_no_change():
    assert site_changes(_picture(), _picture()) == []
    unknown = SCORES | {"B": (None, 0.8)}
    assert site_changes(_picture(unknown), _picture(unknown)) == []


def test_a_visit_is_told_with_its_note_and_others_as_moved_past():
    after = _picture(SCORES | {"A": (0.0, 0.8)}, visits=[VISIT])
    assert sentences_of(site_changes(_picture(), after)) == [
        (
            "Site 1, Lot A, from 1st to 3rd: restroom from 50 m to none found "
            "(visit of 4 March 2026: locked after 3 pm)."
        ),
        "As others moved: Site 2, Lot B, from 2nd to 1st; Site 3, Lot C, from 3rd to 2nd.",
    ]


def test_a_visit_that_is_taken_back_is_told_too():
    before = _picture(SCORES | {"A": (0.0, 0.8)}, visits=[VISIT])
    first = sentences_of(site_changes(before, _picture()))[0]
    assert first.startswith("Site 1, Lot A, from 3rd to 1st: restroom from none found to 50 m")
    assert "(visit of 4 March 2026 withdrawn)" in first


def test_what_counts_most_is_named_first():
    after = _picture(SCORES | {"A": (0.8, 0.2)})
    why = {change.row["parcel_id"]: change.row["why"] for change in site_changes(_picture(), after)}
    assert why["A"] == "shade from 84 m to 168 m; restroom from 50 m to 84 m"


def test_a_rule_that_puts_a_site_out_is_named():
    five = SCORES | {"E": (0.2, 0.0)}
    first = sentences_of(site_changes(_picture(five), _picture(five, out=("A",))))[0]
    assert first == "Site 1, Lot A, from 1st to screened out: steeper than 15%."


def test_moved_weights_are_the_reason_where_no_value_moved():
    after = _picture(weights={"restroom": 0.9, "shade": 0.1})
    changes = site_changes(_picture(), after)
    assert "restroom weighs 90% instead of 50%" in changes[0].row["why"]
    assert "still 1st with 98 points instead of 90" in changes[0].sentence


def test_with_fewer_than_four_sites_no_order_is_told():
    few = {name: SCORES[name] for name in "ABC"}
    after = _picture(few | {"A": (0.0, 0.8)})
    said = sentences_of(site_changes(_picture(few), after))
    assert "still ranked with 40 points instead of 90" in said[0]
    assert "1st" not in " ".join(said)


def test_a_pad_that_moved_is_told():
    said = sentences_of(site_changes(_picture(), _picture(east=12.0)))
    assert "the play area lies 12 m away from where it lay" in said[0]


def test_two_obstacles_of_one_parcel_are_both_told():
    spots = [VISIT | {"criterion": "obstacle", "value": 2.0, "map_value": math.nan, "note": note}
             for note in ("at 1, 2: slab", "at 3, 4: well")]  # fmt: skip
    said = sentences_of(site_changes(_picture(visits=spots[:1]), _picture(visits=spots)))
    assert "well" in said[0]
    assert "slab" not in said[0]


def _folder(path, picture, *, settings=None, sha256=None, versions=None):
    path.mkdir()
    picture.sites.to_csv(path / "sites.csv", index=False)
    picture.measurements.to_csv(path / "measurements.csv", index=False)
    visits = [{k: str(v) if v == math.inf else v for k, v in row.items()} for row in picture.visits]
    record = {
        "settings": {"study": {"units": "metres"}, **(settings or {})},
        "sha256": sha256 or {"parcels.gpkg": "1"},
        "versions": versions or {"numpy": "2.0"},
        "criteria": [{"name": n, "weight": w} for n, w in picture.weights.items()],
        "visits": visits,
        "made_on": "2026-03-03",
    }
    (path / "run.json").write_text(json.dumps(record), encoding="utf-8")
    return read_run(path)


def test_the_same_folder_twice_is_told_to_be_the_same(tmp_path):
    run = _folder(tmp_path / "a", _picture())
    said = " ".join(comparison_lines(run, run))
    assert "are the same" in said
    assert "No site changes" in said


def test_every_cause_is_told(tmp_path):
    before = _folder(
        tmp_path / "a", _picture(), settings={"setbacks": {"building_m": 6.0, "sides": [{"front_m": 1}]}},
        sha256={"parcels.gpkg": "1", "trees.gpkg": "2", "old.gpkg": "3"},
    )  # fmt: skip
    scores = {name: SCORES[name] for name in "BCD"} | {"A": (0.0, 0.8), "E": (0.6, 0.8)}
    after = _folder(
        tmp_path / "b", _picture(scores, {"restroom": 0.4, "shade": 0.6}, visits=[VISIT]),
        settings={"setbacks": {"building_m": 9.0, "sides": [{"front_m": 2}]}},
        sha256={"parcels.gpkg": "1", "trees.gpkg": "9", "soils.gpkg": "4"}, versions={"numpy": "2.1"},
    )  # fmt: skip
    said = list(comparison_lines(before, after))
    for line in (
        "  changed: trees.gpkg",
        "  new: soils.gpkg",
        "  no longer used: old.gpkg",
        "  setbacks.building_m: 6 before, 9 now",
        "  setbacks.sides.front_m: 1 before, 2 now",
        "  restroom weighs 40% of all instead of 50%",
        "  new: parcel A, restroom none found (4 March 2026, parks staff): locked after 3 pm",
        "  numpy: 2.0 before, 2.1 now",
        "  new: E",
    ):
        assert line in said, (line, said)
    assert any("Site 4, Lot A, from 1st to" in line for line in said)
    assert any(line.split("  ")[0] == "Site" and "Before" in line for line in said)


def test_a_folder_that_is_no_result_is_refused_with_all_that_is_missing(tmp_path):
    with pytest.raises(InputError, match="no run.json") as error:
        read_run(tmp_path)
    assert len(error.value.problems) == 3


def test_a_spoilt_table_is_refused(tmp_path):
    _folder(tmp_path / "a", _picture())
    (tmp_path / "a" / "run.json").write_text("{}", encoding="utf-8")
    with pytest.raises(InputError, match="Rank the study again"):
        read_run(tmp_path / "a")


def test_ids_with_zeros_stay_text(tmp_path):
    run = _folder(tmp_path / "a", _picture({"007": (1.0, 1.0), "7": (0.2, 0.2)}))
    assert list(run.picture.sites["parcel_id"]) == ["007", "7"]


def test_the_command_prints_words_and_writes_the_table(tmp_path):
    _folder(tmp_path / "a", _picture())
    _folder(tmp_path / "b", _picture(SCORES | {"A": (0.0, 0.8)}, visits=[VISIT]))
    words = ["compare", str(tmp_path / "a"), str(tmp_path / "b"), "--table"]
    told = CliRunner().invoke(commands, [*words, str(tmp_path / "t.csv")])
    assert told.exit_code == 0
    assert "Site 1, Lot A, from 1st to 3rd: restroom from 50 m to none found" in told.output
    table = pd.read_csv(tmp_path / "t.csv")
    assert table["rank_is"].tolist() == [3, 1, 2]
    assert table["why"].tolist()[1:] == ["others moved", "others moved"]
    gone = CliRunner().invoke(commands, [*words, str(tmp_path / "nowhere" / "t.csv")])
    assert "the table can't be written" in str(gone.exception)


LINES = pd.DataFrame(
    [
        *(("A", "bench", 2000.0, 2500.0), ("A", "fence", 9000.0, 9900.0)),
        *(("A", "outlet pipe", math.nan, math.nan), ("A", "total", 11000.0, 12400.0)),
        *(("B", "bench", 2000.0, 2500.0), ("B", "total", 2000.0, 2500.0)),
        *(("C", "bench", 2000.0, 2500.0), ("C", "total", 2000.0, 2500.0)),
    ],
    columns=["parcel_id", "line", "p50", "p80"],
).assign(unit="USD")
TITLES = {name: f"Site {number}" for number, name in enumerate("ABCD", start=1)}


def _told(now):
    return list(cost_change_lines(LINES, now, TITLES))


def test_costs_that_are_the_same_are_not_told():
    assert _told(LINES) == []


def test_a_cost_that_changed_says_by_which_lines_the_largest_first():
    now = LINES.copy()
    now.loc[[0, 1, 2, 3], "p50"] = [2600.0, 4000.0, 12000.0, 18600.0]
    now.loc[3, "p80"] = 20100.0
    assert _told(now) == [
        (
            "Site 1: even odds from $11,000 to $19,000, budget from $12,000 to $20,000: outlet pipe "
            "known now ($12,000); fence $5,000 less; bench $600 more."
        )
    ]


def test_what_is_no_longer_known_is_no_saving():
    now = LINES.copy()
    now.loc[1, ["p50", "p80"]] = math.nan
    now.loc[3, ["p50", "p80"]] = [2000.0, 2500.0]
    assert "fence no longer known ($9,000)." in _told(now)[0]


def test_sites_that_changed_by_the_same_lines_are_told_once():
    now = LINES.copy()
    now.loc[[4, 6], "line"] = "oak bench"
    assert _told(now) == [
        (
            "Site 2: even odds from $2,000 to $2,000, budget from $2,500 to $2,500: oak bench new "
            "($2,000); bench gone ($2,000); the same lines at 1 other site."
        )
    ]


def test_sites_that_are_priced_no_longer_or_for_the_first_time_are_named():
    now = LINES.assign(parcel_id=LINES["parcel_id"].replace({"B": "D"}))
    assert _told(now) == ["priced now: Site 4", "no longer priced: Site 2"]


def test_two_folders_with_costs_tell_them_beside_the_score(tmp_path):
    runs = []
    for name, by in (("a", 0.0), ("b", 5000.0)):
        run = _folder(tmp_path / name, _picture())
        table = LINES.assign(p50=LINES["p50"].where(LINES["line"] != "fence", 9000.0 + by))
        table.to_csv(tmp_path / name / "costs.csv", index=False)
        assert run.costs is None
        runs.append(read_run(tmp_path / name))
    said = list(comparison_lines(*runs))
    at = said.index("Cost, beside the score:")
    assert "fence $5,000 more" in said[at + 1]
    alone = _folder(tmp_path / "c", _picture())
    assert "  the costs are no longer there" in list(comparison_lines(runs[0], alone))
    assert "Cost, beside the score:" not in list(comparison_lines(alone, alone))
