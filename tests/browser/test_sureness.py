"""How firm the order is under the reader's own weights: on the map the same numbers as Python's."""

import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from report.made_up_firm import WEIGHTS, firm_result

from playsite.ranking.near_ties import (
    SEPARABLE,
    drawn_totals,
    probability_ahead,
    score_intervals,
)
from playsite.ranking.robustness import pairs_table
from playsite.ranking.scores import is_enough, ranks, totals
from playsite.ranking.shares import rank_shares, weightings_around
from playsite.report.firm_facts import share_text
from playsite.report.web_map import write_map

pytestmark = pytest.mark.browser

OURS = Path(__file__).resolve().parents[2] / "playsite/report/web_map"
SCRIPT = "".join((OURS / name).read_text("utf-8") for name in ("scoring.js", "draws.js"))
ROWS = [(0.9, 0.4, 0.6), (0.55, 0.8, 0.6), (0.45, 0.7, 0.5), (0.2, 0.3, 0.1), (0.5, 0.79, 0.62)]
OWN = WEIGHTS | {"fit": 0.3, "grade": 0.4}


@pytest.fixture(scope="module")
def result():
    """Five sites, of which one is known of least; the study asks for three fifths of the weight."""
    given = firm_result(ROWS, error=0.04)
    bare = ("P-00004", "grade")
    scores = given.firm.scores.copy()
    scores.loc[bare] = np.nan
    told = given.measurements
    here = (told["parcel_id"] == bare[0]) & (told["criterion"] == bare[1])
    return replace(
        given,
        firm=replace(given.firm, scores=scores),
        measurements=told.assign(score=told["score"].mask(here)),
    )


@pytest.fixture
def driver(page):
    page.execute_script(
        "document.getElementById('tab-priorities').click(); document.getElementById('adopted').click();"
    )
    return page


def move(driver, weights):
    """Give the criteria other weights, by the address; wait until the page has said how firm."""
    address = driver.current_url.split("#")[0]
    asked = ",".join(f"{name}:{100 * weight}" for name, weight in weights.items())
    driver.get("about:blank")
    driver.get(f"{address}#weights={asked}")
    until = time.monotonic() + 5
    while time.monotonic() < until and not driver.execute_script(
        "return document.getElementById('sure')?.textContent"
    ):
        time.sleep(0.02)
    driver.execute_script("document.getElementById('tab-priorities').click()")


def _town(seed, sites=7, criteria=5):
    rng = np.random.default_rng(seed)
    names, index = (
        [f"criterion {k}" for k in range(criteria)],
        [f"{n}-é {seed}" for n in range(sites)],
    )
    scores, error, shared = rng.uniform(size=(3, sites, criteria))
    table = pd.DataFrame(scores, columns=names, index=index)
    low, high = table - 0.3 * error, table + 0.2 * error[::-1]
    low, high = (each.mask(rng.uniform(size=scores.shape) < 0.1, table) for each in (low, high))
    hole = rng.uniform(size=scores.shape) < 0.15
    common = pd.DataFrame(np.sqrt(shared) * np.sign(error - 0.5), columns=names, index=index)
    weights = rng.uniform(0, 1, criteria) * (rng.uniform(size=criteria) > 0.2) + 1e-3 * (
        rng.uniform(size=criteria) > 0.9
    )
    weights[0] += 0.1
    return (
        table.mask(hole),
        low.clip(0, 1).mask(hole),
        high.clip(0, 1).mask(hole),
        common,
        dict(zip(names, weights, strict=True)),
    )


def _lists(table):
    return [[None if np.isnan(v) else v for v in row] for row in table.to_numpy().tolist()]


def test_joint_draws_are_the_study_s_own_to_the_bit_under_weights_drawn_by_chance(page):
    from playsite.ranking.draws import NORMAL

    for seed in range(6):
        scores, low, high, common, weights = _town(seed)
        spans = [
            [None if a is None else [a, b] for a, b in zip(*ends, strict=True)]
            for ends in zip(_lists(low), _lists(high), strict=True)
        ]
        got, chances, ends = page.execute_script(
            f"""{SCRIPT}
            const [weights, names, ids, scores, spans, common, normal] = arguments;
            const sites = ids.map((id, i) => ({{ id, scores: scores[i].map((s) => s ?? NaN), spans: spans[i], common: common[i] }}));
            const drawn = drawnTotals(weights, names, sites, normal);
            return [drawn.map((row) => Array.from(row.subarray(0, 400))), drawn.map((one) => drawn.map((other) => chanceAhead(one, other))), drawn.map(likelyEnds)];""",
            list(weights.values()),
            list(weights),
            list(scores.index),
            _lists(scores),
            spans,
            _lists(common),
            NORMAL[: len(NORMAL) // 2].tolist(),
        )
        ours = drawn_totals(scores, low, high, weights, common=common)
        assert got == ours.to_numpy()[:400].T.tolist()
        for one, row in zip(ours, chances, strict=True):
            assert row == [probability_ahead(ours, one, other) for other in ours]
        np.testing.assert_allclose(ends, score_intervals(ours), rtol=0, atol=1e-12)


@pytest.mark.parametrize("most", [2e7, 5e5])
def test_shares_of_weightings_are_the_study_s_own(page, most):
    tried = 0
    for seed, sites in ((1, 4), (2, 30), (3, 400)):
        scores, _, _, _, weights = _town(seed, sites, 6)
        scores = scores.round(2)
        scores.iloc[-3:] = scores.iloc[:3].to_numpy()  # equal sites share a rank
        rows, count = page.execute_script(
            f"""{SCRIPT}
            const [weights, names, lists, most] = arguments, columns = asColumns(lists);
            const {{ of, count }} = rankShares(weights, names, columns, totalsUnder(weights, columns).score, 5, most);
            return [[...of], count];""",
            list(weights.values()),
            list(weights),
            _lists(scores.T),
            most,
        )
        tried += count < 10_000
        around = weightings_around(weights).iloc[:count]
        ours = rank_shares(scores, around, depth=5).to_numpy()
        got = np.zeros_like(ours)
        for row, shares in rows:
            got[row] = shares
        np.testing.assert_allclose(got, ours, rtol=0, atol=1e-9)
        assert len(rows) < sites or sites < 10
    assert (tried > 0) == (most < 1e6)  # of many sites in the running fewer weightings are tried


def test_the_page_says_under_own_weights_who_is_too_close_and_how_often_each_is_first(
    driver, result
):
    move(driver, OWN)
    scores, low, high = result.firm.scores, result.firm.low, result.firm.high
    pairs = pairs_table(scores, low, high, OWN)
    leader = pairs["ahead"].iloc[0]
    close = pairs[(pairs["ahead"] == leader) & (pairs["probability"] < SEPARABLE)]["behind"]
    assert leader != result.ranked["parcel_id"].iloc[0]  # or the adopted weights would say the same
    assert len(close) == 1
    numbers = result.sites.set_index("parcel_id")["site_no"]
    first = f"Site {numbers[leader]}"
    rival = f"Site {numbers[close.iloc[0]]}"
    answer = driver.find_element("id", "answer").text
    assert answer.startswith(first)
    assert answer.endswith(f"comes first, but {rival} is too close to call.")
    said = driver.find_element("id", "sure").text
    assert f"Too close to call on present data: {rival}." in said
    shares = rank_shares(scores, weightings_around(OWN), depth=5)
    for parcel, share in shares[1].nlargest(2).items():
        assert f"Site {numbers[parcel]} in {share_text(share)}" in said
    driver.find_element("id", "tab-ranking").click()
    marks = driver.execute_script(
        "return [...document.querySelectorAll('#ranking tbody tr')].filter((r) => r.querySelector('.tie')).map((r) => r.querySelector('th b').textContent)"
    )
    assert marks == [first, rival]
    driver.execute_script("document.querySelector('#ranking tbody th button').click()")
    card = driver.find_element("id", "card").text
    assert "With your own weights, worked out on this page." in card
    assert f"Too close to call against {rival}: not separable on present data." in card
    three = share_text(min(shares.loc[leader, [1, 2, 3]].sum(), 1))
    assert f"First in {share_text(shares.loc[leader, 1])} of 10,000 weightings" in card
    assert f"among the first three in {three}." in card
    driver.find_element("id", "tab-compare").click()
    assert driver.find_element("id", "finding").text.startswith("Too close to call.")
    bars = driver.execute_script(
        "return [...document.querySelectorAll('#beside .shares')].map((bar) => bar.ariaLabel)"
    )
    assert bars[0].startswith(f"{first}. 1st: {round(100 * shares.loc[leader, 1])}")


def test_back_at_the_adopted_weights_the_study_s_own_words_stand(driver):
    move(driver, OWN)
    driver.find_element("id", "adopted").click()
    time.sleep(0.3)
    assert driver.find_element("id", "sure").text == ""
    driver.find_element("id", "tab-ranking").click()
    driver.execute_script("document.querySelector('#ranking tbody th button').click()")
    assert "worked out on this page" not in driver.find_element("id", "card").text


def test_a_site_of_which_too_little_is_known_is_not_ranked_as_python_would_not(driver, result):
    scores = result.firm.scores
    for grade, is_out in ((0.52, False), (0.9, True)):
        weights = WEIGHTS | {"grade": grade}
        move(driver, weights)
        total = totals(scores, weights)
        ranked = is_enough(total["known_share"], result.study.least_known_pct)
        assert (~ranked).any() == is_out
        numbers = result.sites.set_index("parcel_id")["site_no"]
        place = ranks(total["score"].where(ranked))
        ours = sorted((int(rank), f"Site {numbers[p]}") for p, rank in place.dropna().items())
        driver.find_element("id", "tab-ranking").click()
        rows = driver.execute_script(
            "return [...document.querySelectorAll('#ranking tbody tr')].filter((r) => r.querySelector('button')).map((r) => [r.querySelector('.chip')?.textContent || '', r.querySelector('th b').textContent, r.lastElementChild.textContent])"
        )
        assert [(int(rank), name) for rank, name, _ in rows if rank] == ours
        out = [f"Site {numbers[p]}" for p in scores.index[~ranked]]
        assert [name for rank, name, text in rows if not rank] == out
        tally = driver.find_element("id", "own-tally").text
        assert tally == ("With your own weights 4 are ranked." if is_out else "")
        if not is_out:
            continue
        driver.execute_script("[...document.querySelectorAll('#ranking th button')].pop().click()")
        card = driver.find_element("id", "card").text
        assert "Could not be assessed" in card
        known = round(100 * total["known_share"][~ranked].iloc[0])
        assert f"{known}% of the weight in use is known; 60% is the least." in card
        assert driver.execute_script("return document.querySelectorAll('#map .parcel.s3').length")
        driver.find_element("id", "tab-priorities").click()
        assert driver.find_element("id", "tooless").text.startswith(
            f"Not ranked with these weights, since too little is known: {out[0]}."
        )
    driver.find_element("id", "adopted").click()
    driver.find_element("id", "tab-ranking").click()
    assert driver.execute_script("return document.querySelectorAll('#ranking .chip').length") == 5


def test_one_that_is_out_and_one_that_is_back_change_places_in_table_and_tally(shown, tmp_path):
    given = firm_result(ROWS, error=0.04)
    holes = {("P-00004", "grade"), ("P-00003", "traffic")}
    told = given.measurements
    bare = [row in holes for row in zip(told["parcel_id"], told["criterion"], strict=True)]
    write_map(
        replace(given, measurements=told.assign(score=told["score"].mask(bare))),
        tmp_path / "map.html",
    )
    numbers = given.sites.set_index("parcel_id")["site_no"]
    driver = shown(f"{(tmp_path / 'map.html').as_uri()}#weights=traffic:60", 1280, 800)
    out = """return [...document.querySelectorAll('#ranking tbody tr')].filter((r) => r.querySelector('.reason'))
      .map((r) => [r.querySelector('th b').textContent, r.querySelector('.reason').textContent])"""
    # of 50, 20 and 60 the traffic is 46%; of 50, 100 and 60 it is 29%, and the grade 48%
    assert driver.execute_script(out) == [[f"Site {numbers['P-00003']}", "not assessed"]]
    driver.execute_script(
        "const f = [...document.querySelectorAll('#sliders [type=number]')].find((f) => f.ariaLabel.startsWith('Ground'));"
        "f.value = 100; f.dispatchEvent(new Event('input'))"
    )
    assert driver.execute_script(out) == [[f"Site {numbers['P-00004']}", "not assessed"]]
    chips = driver.execute_script(
        "return [...document.querySelectorAll('#ranking .chip')].map((c) => c.closest('tr').querySelector('th b').textContent)"
    )
    assert f"Site {numbers['P-00003']}" in chips
    assert len(chips) == 4
    tally = driver.execute_script("return document.querySelector('#tally td').textContent")
    assert tally == "could not be assessed"
    driver.execute_script("document.getElementById('adopted').click()")
    assert driver.execute_script(out) == []
    assert driver.execute_script("return document.getElementById('tally').textContent") == ""


def test_nothing_amiss_for_who_cannot_see_the_page(driver, violations):
    move(driver, WEIGHTS | {"grade": 0.9})
    for tab in ("ranking", "priorities", "compare", "why"):
        driver.find_element("id", f"tab-{tab}").click()
        assert violations(driver) == []
