"""Who would gain: from layers of a census, homes and playgrounds to the score and the table."""

import csv

import numpy as np
import pytest
from made_up_study import box, line, write_study

from playsite import write_results
from playsite.report.memo import LETTER
from playsite.report.memo.blocks import Figure, Table
from playsite.report.memo.need import need as need_part
from playsite.report.memo.readings import Readings
from playsite.report.need import need_sentences, other_options
from playsite.result import NEED_COLUMNS
from playsite.study import run

PARCELS = {"west": box(20, 210, 40, 30), "east": box(330, 210, 40, 30)}
HOMES = [box(x, 215, 8, 8) for x in range(100, 300, 20)]
STREETS = {"streets": ([line((0, 205), (400, 205))], {"class": ["local"]})}
AREAS = {
    "population": (
        [box(90, 200, 100, 40), box(190, 200, 110, 40)],
        {
            "under_5": ["10", "0"],
            "from_5_to_9": ["20", "0"],
            "from_10_to_14": ["10", "0"],
            "low_income_pct": ["40", "10"],
        },
    )
}
DISTRICTS = {"districts": ([box(0, 0, 190, 400), box(190, 0, 210, 400)], {"name": ["1st", "2nd"]})}
BUILDINGS = {
    "buildings": (HOMES, {"kind": ["dwelling"] * len(HOMES), "height_m": [6.0] * len(HOMES)})
}
FAR = {"playgrounds": ([box(20, 380, 5, 5)], {"access": ["private"], "name": ["School yard"]})}
NEAR = {"playgrounds": ([box(340, 180, 10, 10)], {"access": ["yes"], "name": ["Tot lot"]})}
CRITERIA = 'criteria = ["need", "duplication", "fit"]'


def ranked(folder, *layers):
    given = {kind: layer for each in (STREETS, *layers) for kind, layer in each.items()}
    return run(write_study(folder, PARCELS, layers=given, study=CRITERIA))


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    folder = tmp_path_factory.mktemp("needs")
    return ranked(folder / "town", AREAS, BUILDINGS, FAR, DISTRICTS)


def need(result):
    rows = result.measurements
    return rows[rows["criterion"] == "need"].set_index("parcel_id")


def test_all_children_live_in_the_first_area_and_none_has_a_playground(result):
    # 10 of 0 to 4, and 20 and three fifths of 10 of 5 to 12; a private yard serves nobody.
    assert need(result)["value"].tolist() == pytest.approx([36, 36])
    assert (
        "36 children within the walk, 0 of them have a playground" in need(result)["note"].iloc[0]
    )
    assert "margin is not known" in need(result)["note"].iloc[0]


def test_a_public_playground_takes_its_own_children_away(tmp_path):
    found = ranked(tmp_path / "town", AREAS, BUILDINGS, NEAR)
    assert need(found)["value"].tolist() == pytest.approx([0, 0])
    assert need(found)["score"].tolist() == [0, 0]
    assert len(other_options(found)) == 2
    assert "A better Tot lot would serve the 36 children" in other_options(found)[0]
    nearest = found.measurements.set_index(["criterion", "parcel_id"]).loc["duplication", "value"]
    assert nearest["east"] < 60
    assert nearest["west"] > 200


def test_without_a_layer_of_playgrounds_the_need_is_unknown(tmp_path):
    found = ranked(tmp_path / "town", AREAS, BUILDINGS)
    assert np.isnan(need(found)["value"]).all()
    assert len(found.need) == 0


def test_where_most_homes_lie_in_no_area_the_need_is_unknown(tmp_path):
    part = {"population": ([box(90, 200, 30, 40)], {"children": ["30"]})}
    found = ranked(tmp_path / "town", part, BUILDINGS, FAR)
    assert np.isnan(need(found)["value"]).all()
    assert "only 10 % lie where children are counted" in need(found)["note"].iloc[0]


def test_the_table_tells_districts_shares_and_what_doing_nothing_leaves(result, tmp_path):
    table = result.need
    assert tuple(table.columns) == NEED_COLUMNS
    whole = table[table["district"] == ""].set_index("option")
    assert whole.loc["do nothing", "still_without"] == pytest.approx(36)
    assert (whole.loc["new playground", "still_without"] == 0).all()
    # Nobody lives in the second area: its share has no say.
    assert whole.loc["new playground", "low_income_pct"].tolist() == pytest.approx([40, 40])
    first = table[(table["district"] == "1st") & (table["option"] == "new playground")]
    assert first["newly_served"].tolist() == pytest.approx([36, 36])
    assert not (table["district"] == "2nd").any()
    write_results(result, tmp_path / "out")
    with (tmp_path / "out" / "need.csv").open(encoding="utf-8") as file:
        assert tuple(next(csv.reader(file))) == NEED_COLUMNS
    page = (tmp_path / "out" / "map.html").read_text(encoding="utf-8")
    assert need_sentences(result, "west")[0] in page


def test_the_memo_sets_new_better_and_nothing_side_by_side(result, tmp_path):
    blocks = list(need_part(Readings(result), LETTER))
    whole, districts, shares = (block for block in blocks if isinstance(block, Table))
    assert [row[0] for row in whole.rows][-1] == "Do nothing"
    assert whole.rows[0][1:] == ("36", "36", "0")
    assert whole.rows[-1][1:] == ("0", "0", "36")
    # Of the second district nobody is without one: nobody lives there.
    assert [row[0] for row in districts.rows] == ["1st"]
    assert districts.rows[0][1:] == ("36", "36", "36")
    assert shares.rows[0][1:] == ("40%", "not known", "not known")
    better = ranked(tmp_path / "town", AREAS, BUILDINGS, NEAR)
    (told, *_) = (
        block for block in need_part(Readings(better), LETTER) if isinstance(block, Table)
    )
    assert ("Improve Tot lot", "36", "0", "0") in told.rows


def test_where_the_need_is_not_known_the_memo_has_no_such_part(tmp_path):
    found = ranked(tmp_path / "town", AREAS, BUILDINGS)
    assert list(need_part(Readings(found), LETTER)) == []


def test_the_shares_have_no_say_in_the_score(result, tmp_path):
    shapes, columns = AREAS["population"]
    poor = {"population": (shapes, columns | {"low_income_pct": ["90", "90"]})}
    other = ranked(tmp_path / "town", poor, BUILDINGS, FAR, DISTRICTS)
    assert need(other)["score"].tolist() == need(result)["score"].tolist()


def test_the_map_of_homes_gains_where_the_table_gains(result):
    homes = result.homes[result.homes["parcel_id"] == "east"]
    assert len(homes) == len(HOMES)
    assert (homes["today"] == 0).all()  # a private yard serves nobody
    # the farthest home is 230 m off, straight: all lie within the shorter walk
    assert (homes["then"] == 2).all()


def test_homes_that_have_a_playground_within_the_walk_of_the_young_gain_nothing(tmp_path):
    result = ranked(tmp_path / "town", AREAS, BUILDINGS, NEAR)
    gain = result.homes["then"] > result.homes["today"]
    assert not gain.any()
    assert set(result.homes["today"]) == {2}
    assert result.need["newly_served"].max() == 0


def test_the_memo_draws_today_and_then_with_the_numbers_of_the_table(result, tmp_path):
    def drawn(given):
        return [b for b in need_part(Readings(given), LETTER) if isinstance(b, Figure)]

    assert drawn(result) == []  # of two sites none is said to be the better
    layers = {**STREETS, **AREAS, **BUILDINGS, **FAR, **DISTRICTS}
    folder = write_study(
        tmp_path / "town", {"east": PARCELS["east"]}, layers=layers, study=CRITERIA
    )
    alone = run(folder)
    (figure,) = drawn(alone)
    gains, left = (
        alone.need[(alone.need["option"] == option) & (alone.need["district"] == "")].iloc[0]
        for option in ("new playground", "do nothing")
    )
    assert f"newly serve {gains['newly_served']:.0f} children;" in figure.finding  # no margins
    assert f"{left['still_without']:.0f} today, {gains['still_without']:.0f} then" in figure.finding
    assert "lines of districts" in figure.key
    assert figure.evidence == ("N",)
