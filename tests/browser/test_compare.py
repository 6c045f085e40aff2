"""Two sites side by side on the map: differences, curves, shares, and where it stays silent."""

import pytest
from report.made_up_firm import firm_result

from playsite.report.web_map import write_map

pytestmark = pytest.mark.browser

CHOOSE = """
for (const [id, no] of [["one", arguments[0]], ["other", arguments[1]]]) {
  const list = document.getElementById(id);
  list.value = no;
  list.dispatchEvent(new Event("change"));
}
return document.getElementById("finding").textContent;
"""


@pytest.fixture(scope="module")
def result():
    return firm_result()


@pytest.fixture
def driver(page):
    page.execute_script("document.getElementById('tab-compare').click()")
    return page


def site_nos(result) -> list[str]:
    return result.ranked["site_no"].astype(str).tolist()


def test_the_finding_says_who_is_ahead_and_where_each_scores_higher(driver, result):
    # Worked by hand: 0.5 x 0.9 + 0.2 x 0.4 + 0.3 x 0.6 = 0.71 against 0.25 + 0.16 + 0.18 = 0.59.
    first, second, *_ = site_nos(result)
    said = driver.execute_script(CHOOSE, first, second)
    assert said == (
        f"Site {first} is 12.0 points ahead of Site {second}. Site {first} gains most on fit. "
        f"Site {second} scores higher on grade."
    )
    assert driver.execute_script(CHOOSE, second, first) == said


def test_a_site_that_is_behind_in_nothing_is_said_to_be(driver, result):
    _, second, third, _ = site_nos(result)
    assert driver.execute_script(CHOOSE, second, third).endswith("It is behind in nothing.")


def test_a_wedge_stands_only_where_the_lead_exceeds_the_measuring_error(driver, result):
    first, second, *_ = site_nos(result)
    driver.execute_script(CHOOSE, first, second)
    rows = driver.execute_script(
        """return [...document.querySelectorAll('.beside tbody tr')].filter((row) => row.querySelector('th button'))
        .map((row) => [...row.querySelectorAll('td')].map((cell) => cell.className))"""
    )
    # fit 0.9 : 0.5, grade 0.4 : 0.8, traffic 0.6 : 0.6; each plus or minus 0.01
    assert rows == [["better", ""], ["", "better"], ["", ""]]


def test_a_curve_opens_with_a_dot_for_each_site_where_python_reads_it(driver, result):
    first, second, *_ = site_nos(result)
    driver.execute_script(CHOOSE, first, second)
    driver.execute_script("document.querySelector('.beside tbody th button').click()")
    dots, label = driver.execute_script(
        """const figure = document.querySelector('.beside figure.curve');
        return [[...figure.querySelectorAll('.dot')].map((dot) => [dot.getAttribute('cx'), dot.getAttribute('cy')].map(Number)),
                figure.querySelector('svg').getAttribute('aria-label')]"""
    )
    curve = result.criteria[0].curve
    least, most = curve.knots[0].at, curve.knots[-1].at
    room = (most - least) * 0.15
    reads = result.firm.reads["fit"].iloc[:2]
    expected = [34 + (value - least + room) / (most - least + 2 * room) * 354 for value in reads]
    assert [x for x, _ in dots] == pytest.approx(expected, abs=0.1)
    assert [y for _, y in dots] == pytest.approx([16 + (1 - s) * 100 for s in (0.9, 0.5)], abs=0.1)
    assert f"Site {first} has 90" in label
    assert "acceptable at 1.15 times gives 50" in label


def test_shares_of_ranks_are_those_of_the_study(driver, result):
    first, second, *_ = site_nos(result)
    driver.execute_script(CHOOSE, first, second)
    said = driver.execute_script(
        "return [...document.querySelectorAll('svg.shares')].map((bar) => bar.getAttribute('aria-label'))"
    )
    shares = result.firm.shares.iloc[:2].to_numpy()
    assert [
        f"1st: {round(100 * row[0])}" in text for row, text in zip(shares, said, strict=True)
    ] == [
        True,
        bool(round(100 * shares[1][0])),
    ]


def test_with_own_weights_it_does_not_quote_how_firm_the_adopted_order_is(driver, result):
    driver.execute_script(
        "const f = document.querySelector('#sliders [type=number]'); f.value = 9; f.dispatchEvent(new Event('input'))"
    )
    said = driver.find_element("id", "beside").text
    assert "With your own weights, worked out on this page." in said
    assert "above and below the adopted ones" not in said
    driver.execute_script("document.getElementById('adopted').click()")
    driver.execute_script("document.getElementById('tab-compare').click()")
    assert driver.execute_script("return document.querySelectorAll('svg.shares').length") == 2


def test_the_card_leads_here_with_this_site_and_the_leader(driver, result):
    first, _, third, _ = site_nos(result)
    driver.execute_script(
        "document.getElementById('tab-ranking').click();"
        "document.querySelectorAll('#ranking tbody th button')[2].click();"
        "document.querySelector('.tocompare button').click()"
    )
    assert driver.execute_script("return document.activeElement.id") == "one"
    pair = driver.execute_script(
        "return ['one', 'other'].map((id) => document.getElementById(id).value)"
    )
    assert pair == [first, third]


def test_too_close_to_call_is_said_with_the_visit_that_would_settle_it(shown, tmp_path):
    rows = [(0.9, 0.4, 0.6), (0.88, 0.43, 0.6), (0.45, 0.7, 0.5), (0.2, 0.3, 0.1)]
    close = firm_result(rows, error=0.3)
    pairs = close.firm.pairs
    assert not pairs.iloc[0]["separable"]
    write_map(close, tmp_path / "map.html")
    driver = shown((tmp_path / "map.html").as_uri(), 1440, 900)
    driver.execute_script("document.getElementById('tab-compare').click()")
    assert driver.find_element("id", "finding").text.startswith("Too close to call.")
    assert "One visit would do most to settle it" in driver.find_element("id", "beside").text


def test_by_keys_alone_through_priorities_and_compare(driver, result):
    from selenium.webdriver.common.action_chains import ActionChains
    from selenium.webdriver.common.keys import Keys

    def press(*keys):
        ActionChains(driver).send_keys(*keys).perform()

    focused = "return document.activeElement.id || document.activeElement.type"
    driver.execute_script(
        "const tab = document.getElementById('tab-ranking'); tab.click(); tab.focus()"
    )
    press(Keys.ARROW_RIGHT)
    assert driver.execute_script(focused) == "tab-priorities"
    press(Keys.TAB)
    assert driver.execute_script(focused) == "range"
    press(Keys.ARROW_LEFT)
    assert driver.find_element("id", "own").is_displayed()
    ActionChains(driver).key_down(Keys.SHIFT).send_keys(Keys.TAB).key_up(Keys.SHIFT).perform()
    press(Keys.ARROW_RIGHT, Keys.TAB)
    assert driver.execute_script(focused) == "one"
    press(Keys.TAB, Keys.ARROW_DOWN)
    chosen = driver.execute_script("return document.getElementById('other').value")
    assert f"Site {chosen}" in driver.find_element("id", "finding").text
    press(Keys.TAB, Keys.ENTER)
    assert (
        driver.execute_script("return document.querySelectorAll('.beside figure.curve').length")
        == 1
    )
    driver.execute_script("document.getElementById('adopted').click()")
