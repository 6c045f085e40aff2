"""From maps to money: trees, streets, ground and conditions of a small town, and the file."""

import csv
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
import shapely
from made_up_study import box, ground, line, point, write_study

from playsite.criteria._contract import Measured
from playsite.criteria.accessible_route import _ramp_m
from playsite.errors import InputError
from playsite.report.tables import write_tables
from playsite.routes.accessible_way import NO_WAY, AccessibleWay
from playsite.study import check, run
from playsite.study.costing import _ramps_m

COST = """
[cost]
equipment = "neighborhood"
built = "2027-06"
"""


def _town(folder, *, more=COST, trees=(), parcels=("P-1", "P-2", "P-3", "P-4")):
    lots = {name: box(20 + 90 * at, 100, 60, 60) for at, name in enumerate(parcels)}
    layers = {"streets": ([line((0, 80), (400, 80))], {"class": ["local"]})}
    if trees:
        shapes, diameters = zip(*trees, strict=True)
        layers["trees"] = (shapes, {"diameter_m": diameters})
    height = ground(lambda x, y: 10 + 0.02 * y)
    study = 'least_known = "5 %"'
    return write_study(folder, lots, elevation=height, layers=layers, study=study, more=more)


@pytest.fixture(scope="module", autouse=True)
def _memory(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PLAYSITE_CACHE", str(tmp_path_factory.mktemp("memory")))
        yield


def test_trees_on_the_pad_go_and_those_whose_roots_are_reached_are_protected(tmp_path):
    # a lot of 60 m holds the pad of 31.7 by 22.7 m: stems in its very middle stand in any pad;
    # one far off, thin, is reached by nothing, and one far off of 2 m diameter by 24 m of roots
    trees = [(point(50, 130), 0.3), (point(51, 130), 0.3), (point(50, 165), 2.0), (point(50, 200), 0.2)]  # fmt: skip
    result = run(_town(tmp_path, trees=trees))
    lines = result.costs.lines.set_index(["parcel_id", "line"])["quantity"]
    assert lines.get(("P-1", "tree removed"), 0) + lines.get(("P-1", "tree protected"), 0) >= 1
    assert ("P-4", "tree removed") not in lines.index
    assert ("P-4", "arborist's report") not in lines.index


def test_without_a_layer_of_trees_they_are_not_known_and_said_so(tmp_path):
    result = run(_town(tmp_path))
    costs = result.costs
    assert costs.sites["unknown"].str.contains("tree removed, tree protected").all()
    lines = costs.lines.set_index(["parcel_id", "line"])
    assert lines.loc[("P-1", "tree removed"), ["quantity", "p50"]].isna().all()
    street = lines.loc[("P-1", "access for machines"), "quantity"] / 1.25
    assert 15 < street < 60


def test_costs_csv_has_a_total_a_parcel_and_unknown_is_empty_never_zero(tmp_path):
    result = run(_town(tmp_path / "study"))
    write_tables(result, tmp_path)
    with (tmp_path / "costs.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert ",".join(rows[0]) == (
        "parcel_id,line,quantity,unit,price_low,price_mid,price_high,p10,p50,p80,p90,"
        "differs_between_sites,source"
    )
    totals = [row for row in rows if row["line"] == "total"]
    assert [row["parcel_id"] for row in totals] == list(result.ranked["parcel_id"])
    assert all(float(row["p10"]) < float(row["p50"]) < float(row["p80"]) for row in totals)
    outlet = next(row for row in rows if row["line"] == "outlet pipe")
    assert (outlet["quantity"], outlet["p50"]) == ("", "")
    assert "outlet pipe" in totals[0]["source"]


def test_money_measures_nothing_again_and_moves_no_rank(tmp_path, monkeypatch):
    file = _town(tmp_path)
    first = run(file)
    monkeypatch.setattr("playsite.study._found", lambda *_: pytest.fail("measured again"))
    file.write_text(file.read_text("utf-8").replace("2027-06", "2029-06"), "utf-8")
    later = run(file)
    assert later.sites.equals(first.sites)
    assert (later.costs.sites["p50"] > first.costs.sites["p50"]).all()


def test_without_cost_nothing_is_priced_but_when_asked(tmp_path):
    file = _town(tmp_path, more="")
    assert run(file).costs is None
    asked = run(file, price=True).costs
    assert asked.sites["unknown"].str.contains("equipment").all()
    assert "escalation is not counted" in asked.money_of


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ('[cost]\nsurfacing = "sandy"', 'no surfacing is called "sandy". Did you mean "sand"'),
        ('[cost]\nextras = { fense = "3 ft" }', 'no line is called "fense". Did you mean "fence"'),
        ("[cost]\nextras = { fence = 3 }", "a bare number, 3"),
        ('[cost.sites."P-9"]\nbench = 2', 'no parcel is called "P-9"'),
        ('[charter]\noff_limits = ["P-9"]', 'no parcel is called "P-9"'),
        ('[charter]\nbudget_cap = "lots"', "is not an amount of money"),
        ('[charter]\ndeadline = "2027-13"', "is not a day"),
        ('[cost]\nescalation = "4 %"', '"escalation" needs the key "built"'),
        ('[cost]\nbids = "absent.csv"', "there is no such file"),
        ('[cost]\ninstalation = "professional"', 'Did you mean "installation"'),
    ],
)
def test_what_a_study_gets_wrong_is_told_with_its_place(tmp_path, more, says):
    file = _town(tmp_path, more=more + "\n")
    with pytest.raises(InputError) as told:
        check(file)
    assert says in str(told.value)
    assert len(told.value.problems) == 1


def test_ramps_of_the_step_free_way_are_read_with_their_landings():
    way = AccessibleWay(40.0, shapely.LineString([(0, 0), (40, 0)]), np.zeros(2), np.zeros(2), 1.0)
    # 1 m of rise: 12 m at 1:12 in two runs, and three landings of 60 in
    assert _ramp_m(way) == pytest.approx(12 + 3 * 60 * 0.0254)
    assert np.isnan(_ramp_m(NO_WAY))
    pads = pd.DataFrame({"role": ["best", "other", "best"], "parcel_id": ["A", "A", "B"]})
    got = Measured(pd.Series([40.0, 9.0, 5.0]), also={"ramp_m": pd.Series([16.6, 0.0, 0.0])})
    found = SimpleNamespace(pads=pads, measured={"accessible_route": got})
    assert _ramps_m(found) == {"A": 16.6, "B": 0.0}
    assert _ramps_m(SimpleNamespace(pads=pads, measured={})) == {}
