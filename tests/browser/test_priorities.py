"""Priorities moved on the map: the same numbers as the study's own, by mouse, keys and link."""

import math
import time
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from report.made_up_result import made_up_result, with_scores_of_measurements

from playsite.ranking.lead_changes import lead_lost, nearest_two
from playsite.ranking.scores import is_enough, ranks, totals
from playsite.report.firm_facts import factor_text
from playsite.report.wording import points

pytestmark = pytest.mark.browser

ROOT = Path(__file__).resolve().parents[2]
SCORING = (ROOT / "playsite/report/web_map/scoring.js").read_text("utf-8")
RESTS_S = 0.4  # the address follows when the slider rests
MOVE = """
const field = document.querySelectorAll('#sliders [type=number]')[arguments[0]];
field.value = arguments[1];
field.dispatchEvent(new Event('input'));
"""
TABLE = """
return [...document.querySelectorAll('#ranking tbody tr')].filter((row) => row.querySelector('.chip'))
  .map((row) => ['.chip', 'th b', '.range b'].map((part) => row.querySelector(part).textContent))
"""


@pytest.fixture(scope="module")
def result():
    return with_scores_of_measurements(made_up_result(24))


@pytest.fixture
def driver(page):
    page.execute_script(
        "document.getElementById('tab-priorities').click(); document.getElementById('adopted').click();"
    )
    return page


def scores_of(result) -> pd.DataFrame:
    table = result.measurements.pivot_table(
        index="parcel_id", columns="criterion", values="score", dropna=False
    )
    return table.loc[result.ranked["parcel_id"], [each.name for each in result.criteria]]


def as_columns(scores: pd.DataFrame) -> list:
    return [
        [None if math.isnan(v) else v for v in column] for column in scores.to_numpy().T.tolist()
    ]


def test_totals_and_ranks_are_the_study_s_own_under_weights_drawn_by_chance(page):
    rng = np.random.default_rng(11)
    names = [f"c{k}" for k in range(9)]
    scores = pd.DataFrame(rng.uniform(size=(120, 9)), columns=names)
    scores = scores.mask(rng.uniform(size=scores.shape) < 0.1).round(rng.integers(1, 4))
    scores.iloc[60:70] = scores.iloc[:10].to_numpy()  # ties
    drawn = [rng.uniform(0, 1, 9) * (rng.uniform(size=9) > 0.2) for _ in range(60)]
    given = [weights.tolist() for weights in drawn if weights.sum()]
    got = page.execute_script(
        f"""{SCORING}
        const columns = asColumns(arguments[0]);
        return arguments[1].map((weights) => {{
          const all = totalsUnder(weights, columns);
          const rank = ranksOf(all.score, orderOf(all.score, all.score.map((_, i) => i + 1)));
          return [...['score', 'low', 'high', 'known'].map((name) => [...all[name]]), [...rank]];
        }});""",
        as_columns(scores),
        given,
    )
    for weights, (score, low, high, known, rank) in zip(given, got, strict=True):
        ours = totals(scores, dict(zip(names, weights, strict=True)))
        for name, values in {
            "score": score,
            "score_low": low,
            "score_high": high,
            "known_share": known,
        }.items():
            np.testing.assert_allclose(values, ours[name], rtol=0, atol=1.01e-9)
        assert rank == ranks(ours["score"]).tolist()


def test_changes_of_the_lead_are_the_study_s_own(page):
    rng = np.random.default_rng(12)
    names = [f"c{k}" for k in range(6)]
    told = 0
    for _ in range(25):
        scores = pd.DataFrame(rng.uniform(size=(9, 6)), columns=names)
        scores = scores.mask(rng.uniform(size=scores.shape) < 0.1)
        weights = rng.uniform(0.02, 1, 6)
        got = page.execute_script(
            f"{SCORING} const weights = arguments[0], columns = asColumns(arguments[1]);"
            "const { score } = totalsUnder(weights, columns);"
            "return leadLost(weights, columns, ranksOf(score, orderOf(score, score.map((_, i) => i + 1))))",
            weights.tolist(),
            as_columns(scores),
        )
        ours = nearest_two(lead_lost(scores, dict(zip(names, weights, strict=True))))
        assert [(names[row["criterion"]], row["rival"]) for row in got] == list(
            zip(ours["criterion"], ours["rival"], strict=True)
        )
        assert [row["factor"] for row in got] == pytest.approx(list(ours["factor"]), rel=1e-9)
        told += len(got)
    assert told > 20


def test_at_the_adopted_weights_the_page_says_what_the_study_says(driver, result):
    ranked = result.ranked
    assert driver.execute_script(TABLE) == [
        [str(row.rank), f"Site {row.site_no}", str(points(row.score))]
        for row in ranked.itertuples()
    ]
    assert not driver.find_element("id", "own").is_displayed()
    assert not driver.find_element("id", "adopted").is_enabled()


def test_a_moved_weight_gives_table_map_and_answer_of_python(driver, result):
    # Groups in order: Space and law (fit), Ground (grade), Hazards (two), Sun and trees, Getting there.
    row_of_shade = driver.execute_script(
        "return [...document.querySelectorAll('#sliders [type=number]')].findIndex((f) => f.ariaLabel.startsWith('Sun'))"
    )
    driver.execute_script(MOVE, row_of_shade, 83)
    weights = {each.name: 100 * each.weight for each in result.criteria} | {"shade": 83}
    total = totals(scores_of(result), weights)
    # where too little is known for these weights a site is not ranked
    total = total[is_enough(total["known_share"], result.study.least_known_pct)]["score"]
    assert len(total) < len(result.ranked)
    ours = pd.DataFrame({"score": total, "rank": ranks(total)})
    ours["no"] = result.ranked.set_index("parcel_id")["site_no"]
    ours = ours.sort_values(["rank", "no"])
    ours["no"] = ours["no"].astype(str)
    assert driver.execute_script(TABLE) == [
        [str(row.rank), f"Site {row.no}", str(points(row.score))] for row in ours.itertuples()
    ]
    leader = f"Site {ours['no'].iloc[0]}"
    assert leader != f"Site {result.ranked.iloc[0]['site_no']}"  # or nothing would be shown
    assert driver.find_element("css selector", "#answer b").text == leader
    assert driver.find_element("id", "own").is_displayed()
    on_map = driver.execute_script(
        "return [...document.querySelectorAll('#map .pad')].map((p) => [p.querySelector('.rank').textContent, p.querySelector('.name').textContent])"
    )
    assert sorted(on_map) == sorted([str(row.rank), f"Site {row.no}"] for row in ours.itertuples())
    time.sleep(RESTS_S)
    assert "83" in driver.execute_script("return location.hash")


def test_the_sentence_of_the_lead_holds_where_it_says(driver, result):
    found = nearest_two(lead_lost(scores_of(result), {e.name: e.weight for e in result.criteria}))
    said = driver.find_element("id", "lever").text
    for row in found.itertuples():
        assert (
            f"{row.criterion.replace('_', ' ')} counts {factor_text(row.factor)} times as much"
            in said
        )
    row = found.iloc[0]
    place = [each.name for each in result.criteria].index(row["criterion"])
    sliders = driver.execute_script(
        "return [...document.querySelectorAll('#sliders [type=number]')].map((f) => f.ariaLabel)"
    )
    plain = result.criteria[place].criterion.plain
    groups = [each.criterion.group for each in result.criteria]
    label = plain if groups.count(groups[place]) > 1 else groups[place]
    at = sliders.index(f"{label}: weight")
    names = result.ranked.set_index("parcel_id")["site_no"]
    leaders = []
    for times in (0.99, 1.01):
        driver.execute_script(MOVE, at, round(100 / 6 * row["factor"] * times, 2))
        leaders.append(driver.find_element("css selector", "#answer b").text)
    assert leaders == [f"Site {names.iloc[0]}", f"Site {names[row['rival']]}"]


def test_keys_move_a_slider_and_go_back(driver):
    from selenium.webdriver.common.keys import Keys

    slider = driver.find_element("css selector", "#sliders [type=range]")
    before = float(slider.get_property("value"))
    slider.send_keys(Keys.ARROW_RIGHT, Keys.ARROW_RIGHT)
    assert float(slider.get_property("value")) == pytest.approx(before + 1, abs=0.26)
    assert driver.execute_script("return document.activeElement.type") == "range"
    driver.find_element("id", "adopted").send_keys(Keys.ENTER)
    time.sleep(RESTS_S)
    assert "weights=" not in driver.execute_script("return location.hash")
    assert not driver.find_element("id", "own").is_displayed()


def test_where_nothing_counts_the_page_says_so_and_keeps_its_order(driver):
    before = driver.execute_script(TABLE)
    count = driver.execute_script(
        "return document.querySelectorAll('#sliders > div > .weigh [type=number]').length"
    )
    tops = "document.querySelectorAll('#sliders > div > .weigh [type=number]')"
    driver.execute_script(
        f"for (const field of {tops}) {{ field.value = 0; field.dispatchEvent(new Event('input')) }}"
    )
    assert count == 5
    assert "Something has to count" in driver.find_element("id", "lever").text
    assert len(driver.execute_script(TABLE)) == len(before)


def test_a_link_keeps_the_weights(driver, shown):
    driver.execute_script(MOVE, 0, 61)
    time.sleep(RESTS_S)
    address, said = driver.execute_script(
        "return [location.href, document.getElementById('order').innerText]"
    )
    shown(address, 1440, 900)
    driver.find_element("id", "tab-priorities").click()
    assert driver.find_element("id", "own").is_displayed()
    assert driver.execute_script("return document.getElementById('order').innerText") == said


def test_the_chosen_site_stays_chosen(driver):
    driver.execute_script("document.querySelectorAll('#ranking tbody th button')[4].click()")
    chosen = driver.execute_script(
        "return document.querySelector('#ranking tr.on th b').textContent"
    )
    driver.execute_script(MOVE, 0, 90)
    after = driver.execute_script(
        "return [document.querySelector('#ranking tr.on th b').textContent, document.querySelector('#card h2').textContent]"
    )
    assert after[0] == chosen
    assert after[1].startswith(chosen)
