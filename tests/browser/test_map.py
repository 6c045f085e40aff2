"""The map in a real browser without a network: silent, alone, walked by keys, usable on a phone."""

import base64
import importlib.util
import io
import re
from pathlib import Path

import pytest

from playsite.problems import Finding
from playsite.ranking.scores import is_enough, ranks, totals
from playsite.report.web_map import notebook_html, write_map
from playsite.report.web_map.light import lightened
from playsite.report.web_map.scores import score_table

pytestmark = pytest.mark.browser

ROOT = Path(__file__).resolve().parents[2]
HOSTILE = "<img src=x onerror=document.title='hacked'><b>bold</b>{{ 7*7 }}"


def _made_up():
    path = ROOT / "tests/report/made_up_result.py"
    spec = importlib.util.spec_from_file_location("made_up_result", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


MADE_UP = _made_up()


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    path = tmp_path_factory.mktemp("map") / "map.html"
    names = {4: HOSTILE, 9: HOSTILE}
    loud = Finding(
        what="There is no building layer.", done="Pads may lie on houses.", weight="loud"
    )
    write_map(MADE_UP.made_up_result(24, names=names, findings=(loud,)), path)
    return path


def opened(browser, path, width=1280, height=800):
    from selenium.webdriver.support.ui import WebDriverWait

    browser.resize(width, height)
    browser.open(path)
    drawn = "return document.documentElement.dataset.drawn === 'yes'"
    WebDriverWait(browser.driver, 60).until(lambda driver: driver.execute_script(drawn))
    return browser.driver


def press(driver, *keys):
    from selenium.webdriver.common.action_chains import ActionChains

    ActionChains(driver).send_keys(*keys).perform()


def run(driver, script, *arguments):
    return driver.execute_script(script, *arguments)


FOCUSED = "const e = document.activeElement; return e.getAttribute('data-stop') ?? e.id"
ON_MAP = "document.querySelector('#map [data-stop][tabindex=\"0\"]')"


def focus_map(driver):
    run(driver, f"document.getElementById('about-open').focus(); {ON_MAP}.focus()")


def test_nothing_is_asked_of_anyone_and_the_console_is_silent(browser, page):
    opened(browser, page)
    assert browser.console() == []
    assert browser.requests() == [page.as_uri()]


def test_the_policy_is_in_force(browser, page):
    driver = opened(browser, page)
    blocked = driver.execute_async_script(
        """const done = arguments[0];
        document.addEventListener("securitypolicyviolation", (event) => done(event.violatedDirective));
        new Image().src = "https://example.org/pixel.png";"""
    )
    assert blocked == "img-src"


def test_hostile_names_are_text_everywhere(browser, page):
    driver = opened(browser, page)
    for place in range(24):
        run(
            driver,
            "document.querySelectorAll('#ranking tbody button')[arguments[0]].click()",
            place,
        )
    run(driver, "document.getElementById('tab-why').click()")
    run(driver, "const f = document.getElementById('find'); f.value = 'img';"
                "f.dispatchEvent(new Event('input')); document.querySelector('#found button').click()")  # fmt: skip
    for view in ("priorities", "compare", "distances"):
        run(driver, "document.getElementById('tab-' + arguments[0]).click()", view)
    run(driver, "document.getElementById('mark-middle').click()")
    for place in ("one", "distances"):
        assert HOSTILE in run(
            driver, "return document.getElementById(arguments[0]).textContent", place
        )
    assert HOSTILE in run(driver, "return document.getElementById('verdict').textContent")
    assert HOSTILE in run(driver, "return document.querySelector('#card h2').textContent")
    assert (
        run(driver, "return document.querySelectorAll('img, #card b b, #verdict b b').length") == 0
    )
    assert driver.title != "hacked"
    assert browser.console() == []


def test_plan_and_section_of_the_leader_are_drawn_and_say_what_is_seen(browser, page):
    driver = opened(browser, page)
    boxes = run(
        driver,
        """return [...document.querySelectorAll('#card svg.drawing')].map((node) => {
          const box = node.getBoundingClientRect();
          return [node.getAttribute('role'), node.getAttribute('aria-label'), box.width, box.height,
                  getComputedStyle(node.querySelector('path.cut')).fill];
        })""",
    )
    assert [role for role, *_ in boxes] == ["img", "img"]
    for _, said, width, height, fill in boxes:
        assert "falls 2%" in said
        assert width > 300
        assert height > 150
        assert "cut-hatch" in fill
    assert browser.console() == []


def test_the_map_is_one_stop_and_arrows_walk_the_sites_in_rank_order(browser, page):
    from selenium.webdriver.common.keys import Keys

    driver = opened(browser, page)
    assert run(driver, "return document.querySelectorAll('#map [tabindex=\"0\"]').length") == 1
    focus_map(driver)
    walked = []
    for _ in range(3):
        press(driver, Keys.ARROW_DOWN)
        walked.append(run(driver, FOCUSED))
    assert walked == ["1", "2", "3"]
    press(driver, Keys.ARROW_UP)
    assert run(driver, FOCUSED) == "2"
    chosen = run(driver, "return document.querySelector('#ranking tr.on b').textContent")
    assert run(driver, "return document.activeElement.getAttribute('aria-label')").startswith(
        chosen
    )
    assert run(driver, "return document.getElementById('live').textContent").startswith(chosen)
    assert run(driver, "return document.querySelectorAll('#map [tabindex=\"0\"]').length") == 1


def test_arrows_reach_every_parcel_also_those_that_are_out(browser, page):
    from selenium.webdriver.common.keys import Keys

    driver = opened(browser, page)
    focus_map(driver)
    press(driver, Keys.END)
    label = run(driver, "return document.activeElement.getAttribute('aria-label')")
    assert label.endswith("could not be assessed, not assessed")
    press(driver, Keys.ARROW_RIGHT)
    assert run(driver, FOCUSED) == "0"


def test_enter_opens_the_card_and_escape_gives_focus_back_twice(browser, page):
    from selenium.webdriver.common.keys import Keys

    driver = opened(browser, page)
    focus_map(driver)
    press(driver, Keys.ARROW_DOWN, Keys.ENTER)
    assert run(driver, FOCUSED) == "card"
    press(driver, Keys.ESCAPE)
    assert run(driver, FOCUSED) == "1"
    press(driver, Keys.ESCAPE)
    assert run(driver, FOCUSED) == "about-open"


def test_tab_goes_in_the_order_of_the_look(browser, page):
    from selenium.webdriver.common.keys import Keys

    driver = opened(browser, page)
    stops = []
    for _ in range(12):
        press(driver, Keys.TAB)
        stops.append(run(driver, "const e = document.activeElement;"
                                 "return e.className === 'skip' ? 'skip' : e.closest('#map') ? 'map' : e.id || e.textContent.trim()"))  # fmt: skip
    assert stops[:11] == [
        "skip", "print", "about-open", "map", "zoom-in", "zoom-out", "layers-open",
        "feet", "meters", "tab-ranking", "tablebox",
    ]  # fmt: skip


def test_feet_and_metres_switch_every_length_on_the_page(browser, page):
    driver = opened(browser, page)
    text = "return document.getElementById('card').textContent + document.querySelector('#map').textContent"
    assert " ft" in run(driver, text)
    run(driver, "document.querySelector('[data-units=\"1\"]').click()")
    assert " ft" not in run(driver, text)
    assert " m" in run(driver, text)
    assert "meters" in run(
        driver, "return document.getElementById('scalebar').getAttribute('aria-label')"
    )


def test_the_scale_bar_is_as_long_as_it_says(browser, page):
    driver = opened(browser, page)
    run(driver, "document.querySelector('[data-units=\"1\"]').click()")
    said, drawn_px = run(
        driver,
        """const bar = document.getElementById("scalebar");
        return [bar.getAttribute("aria-label"), Number(bar.querySelector("rect").getAttribute("width"))]""",
    )
    # The made-up lots' pads are 31.7 m long: compare the bar with one as it is drawn.
    pad_px = run(
        driver,
        """const d = document.querySelector(".pad .body").getAttribute("d");
        const at = d.match(/-?[\\d.]+ -?[\\d.]+/g).map((pair) => pair.split(" ").map(Number));
        return Math.max(...[0, 1].map((i) => Math.hypot(at[i][0] - at[i+1][0], at[i][1] - at[i+1][1])))""",
    )
    bar_m = float(said.split("is ")[1].split(" ")[0].replace(",", ""))
    assert drawn_px / bar_m * 31.7 == pytest.approx(pad_px, rel=0.02)


def test_a_click_on_a_parcel_that_is_out_tells_its_rule_value_and_margin(browser, page):
    driver = opened(browser, page)
    run(driver, "document.getElementById('tab-why').click()")
    run(
        driver,
        "document.querySelector('#map path.parcel.s2').dispatchEvent(new MouseEvent('click', {bubbles: true}))",
    )
    verdict = run(driver, "return document.getElementById('verdict').textContent")
    assert "screened out" in verdict
    assert "measured, the limit is" in verdict
    assert "missed by" in verdict
    assert "setbacks from the lot lines" in verdict


def test_a_measurement_opens_and_says_score_source_date_and_method(browser, page):
    driver = opened(browser, page)
    run(driver, "document.querySelectorAll('.measured details').forEach((d) => { d.open = true })")
    told = run(driver, "return document.querySelector('.measured').innerText")
    for words in (
        "of 100; 17% of the weight",
        "streets, 2024",
        "Made-up way to measure",
        "A handbook",
    ):
        assert words in told
    assert "object" not in told
    assert run(driver, "return document.querySelectorAll('.measured .word').length") == 6


def test_where_none_is_ranked_the_page_opens_on_the_nearest_miss(browser, tmp_path):
    path = tmp_path / "none.html"
    write_map(MADE_UP.made_up_result(9, statuses=("screened out", "does not fit")), path)
    driver = opened(browser, path)
    nearest = run(driver, "return document.querySelectorAll('.answer .tally')[1].textContent")
    assert run(driver, "return document.querySelector('#card h2').textContent") in nearest
    assert browser.console() == []


def test_switches_take_layers_off_the_map(browser, page):
    driver = opened(browser, page)
    assert run(driver, "return document.querySelectorAll('#map .low path').length") > 0
    run(driver, "document.querySelector('[data-layer=low]').click()")
    assert run(driver, "return document.querySelectorAll('#map .low path').length") == 0


def test_each_kind_of_way_has_a_switch_of_its_own(browser, page):
    driver = opened(browser, page)
    count = "return ['walk', 'clear'].map((kind) => document.querySelectorAll('#map .evidence .' + kind).length)"
    walks, distances = run(driver, count)
    assert walks > 0
    assert distances > 0
    run(driver, "document.querySelector('[data-layer=walk]').click()")
    assert run(driver, count) == [0, distances]
    run(driver, "document.querySelector('[data-layer=clear]').click()")
    assert run(driver, count) == [0, 0]


def test_the_slope_under_each_play_area_is_written_on_demand(browser, page):
    driver = opened(browser, page)
    names = "return [...document.querySelectorAll('#map .pad .name')].map((n) => n.textContent)"
    assert not any("%" in name for name in run(driver, names))
    run(driver, "document.querySelector('[data-layer=slopes]').click()")
    assert all(re.fullmatch(r"Site \d+, [\d.]+%", name) for name in run(driver, names))


def test_on_a_phone_nothing_scrolls_sideways_and_the_map_comes_before_the_lists(browser, page):
    driver = opened(browser, page, 390, 844)
    wide, inner = run(driver, "return [document.documentElement.scrollWidth, innerWidth]")
    assert wide <= inner
    tops = run(
        driver,
        "return ['map', 'ranking', 'card'].map((id) => document.getElementById(id).getBoundingClientRect().top)",
    )
    assert tops == sorted(tops)
    run(driver, "document.querySelectorAll('.panel').forEach((panel) => { panel.hidden = false })")
    small = run(
        driver,
        """return [...document.querySelectorAll("button, input[type=search], input[type=number], select, summary")]
        .filter((e) => e.offsetParent && e.getBoundingClientRect().height < 43.5).map((e) => e.outerHTML.slice(0, 80))""",
    )
    assert small == []


def test_a_loud_finding_stands_above_the_map(browser, page):
    driver = opened(browser, page)
    assert "Pads may lie on houses." in run(
        driver, "return document.querySelector('.loud').textContent"
    )
    low, high = run(
        driver,
        "return ['.loud', '#map'].map((s) => document.querySelector(s).getBoundingClientRect().top)",
    )
    assert low < high


def test_the_notebook_frame_draws_the_map_without_reaching_the_notebook(browser, tmp_path):
    outer = tmp_path / "notebook.html"
    outer.write_text(
        f"<title>n</title>{notebook_html(MADE_UP.made_up_result(12))}", encoding="utf-8"
    )
    browser.open(outer)
    driver = browser.driver
    driver.switch_to.frame(0)
    from selenium.webdriver.support.ui import WebDriverWait

    drawn = "return document.documentElement.dataset.drawn === 'yes'"
    WebDriverWait(driver, 60).until(lambda d: d.execute_script(drawn))
    reach = "try { return parent.document.title } catch (error) { return error.name }"
    assert run(driver, reach) == "SecurityError"
    driver.switch_to.default_content()
    assert browser.requests() == [outer.as_uri()]


def test_a_packed_page_of_a_thousand_parcels_lists_and_finds_them_all(browser, tmp_path):
    path = tmp_path / "many.html"
    write_map(MADE_UP.made_up_result(1000), path)
    driver = opened(browser, path)
    assert run(driver, "return document.querySelectorAll('#ranking tbody tr').length") == 20
    run(driver, "document.getElementById('more').click()")
    assert run(driver, "return document.querySelectorAll('#ranking tbody tr').length") == 40
    run(driver, "document.getElementById('more').nextElementSibling.click()")
    assert (
        run(driver, "return document.querySelectorAll('#ranking tbody tr:not(.group)').length")
        == 1000
    )
    run(driver, "const f = document.getElementById('find'); f.value = 'site 997';"
                "f.dispatchEvent(new Event('input')); document.querySelector('#found button').click()")  # fmt: skip
    assert run(driver, "return document.querySelector('#card h2').textContent").startswith(
        "Site 997"
    )
    assert run(driver, f"return {ON_MAP}.getAttribute('aria-label')").startswith("Site 997")
    assert browser.console() == []


def test_of_a_very_large_town_every_parcel_has_its_card_and_the_first_change_places(
    browser, tmp_path, monkeypatch
):
    for name, value in {"MOST_SITES": 500, "MOST_DETAILED": 40}.items():
        monkeypatch.setattr(f"playsite.report.web_map.payload.{name}", value)
    monkeypatch.setattr(
        "playsite.report.web_map.page.lightened",
        lambda result: lightened(result, most=500, detailed=40),
    )
    path = tmp_path / "large.html"
    result = MADE_UP.with_scores_of_measurements(MADE_UP.made_up_result(600))
    write_map(result, path)
    driver = opened(browser, path)
    assert "for the first 40 of 600 parcels" in run(
        driver, "return document.querySelector('.loud').textContent"
    )
    told = []
    for number in (595, 596, 600):
        run(driver, "document.getElementById('tab-why').click();"
                    "const f = document.getElementById('find'); f.value = 'site ' + arguments[0];"
                    "f.dispatchEvent(new Event('input')); document.querySelector('#found button').click()", number)  # fmt: skip
        told.append(
            run(driver, "return document.querySelector('#card').textContent + document.querySelector('#verdict').textContent")
        )  # fmt: skip
    assert "stands in measurements.csv" in told[0]
    assert "missed by" in told[1] + told[2]
    run(driver, "document.getElementById('tab-ranking').click(); [...document.querySelectorAll('.more button')].pop().click();"
                "const f = document.querySelector('#sliders [type=number]'); f.value = 90; f.dispatchEvent(new Event('input'))")  # fmt: skip
    rows = run(driver, "return [...document.querySelectorAll('#ranking .chip')].map((c) => [Number(c.textContent), c.closest('tr').querySelector('th b').textContent])")  # fmt: skip
    weights = {each.name: 100 * each.weight for each in result.criteria} | {"fit": 90}
    scores = score_table(result)[list(weights)]
    total = totals(scores, weights)
    place = ranks(total["score"].where(is_enough(total["known_share"], 60))).dropna()
    numbers = result.sites.set_index("parcel_id")["site_no"]
    assert len(place) > 200
    assert rows == sorted([int(rank), f"Site {numbers[parcel]}"] for parcel, rank in place.items())
    assert browser.console() == []


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
@pytest.mark.parametrize(
    "view",
    ["ranking", "card", "priorities", "own", "compare", "why", "distances", "about", "layers"],
)
def test_axe_finds_no_violation(browser, page, violations, width, height, view):
    driver = opened(browser, page, width, height)
    opener = {
        "ranking": "tab-ranking",
        "card": "tab-ranking",
        "own": "tab-priorities",
        "priorities": "tab-priorities",
        "compare": "tab-compare",
        "why": "tab-why",
        "distances": "tab-distances",
        "about": "about-open",
        "layers": "layers-open",
    }
    run(driver, "document.getElementById(arguments[0]).click()", opener[view])
    if view in {"priorities", "compare"}:  # all that unfolds, unfolded
        run(
            driver,
            f"document.querySelectorAll('#view-{view} [aria-expanded=false]').forEach((b) => b.click())",
        )
    if view == "card":
        run(driver, "document.querySelectorAll('#card details').forEach((d) => { d.open = true })")
    if view == "own":
        run(
            driver,
            "const f = document.querySelector('#sliders [type=number]'); f.value = 50; f.dispatchEvent(new Event('input'))",
        )
    if view == "distances":
        run(driver, "document.getElementById('mark-middle').click()")
    found = violations(driver)
    assert found == []


def pages_on_paper(driver) -> int:
    told = driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    return len(re.findall(rb"/Type */Page\b(?!s)", base64.b64decode(told["data"])))


@pytest.mark.parametrize(("parcels", "pages"), [(7, 1), (24, 2), (600, 3)])
@pytest.mark.parametrize("view", ["ranking", "priorities"])
def test_on_paper_it_is_one_sheet_and_a_long_table_goes_on_to_a_second(
    browser, tmp_path, parcels, pages, view
):
    path = tmp_path / "map.html"
    write_map(MADE_UP.made_up_result(parcels), path)
    driver = opened(browser, path)
    run(driver, f"document.getElementById('tab-{view}').click()")
    assert pages_on_paper(driver) == pages


def test_the_address_keeps_the_site_and_the_units_and_brings_them_back(browser, page):
    driver = opened(browser, page)
    run(driver, "document.querySelectorAll('#ranking tbody button')[3].click()")
    run(driver, "document.querySelector('[data-units=\"1\"]').click()")
    kept = run(driver, "return [location.href, document.querySelector('#card h2').textContent]")
    browser.open("about:blank")
    opened(browser, kept[0])
    assert run(driver, "return document.querySelector('#card h2').textContent") == kept[1]
    assert run(driver, "return document.querySelector('[data-units=\"1\"]').ariaPressed") == "true"


def test_a_link_put_into_the_same_window_is_opened_and_the_way_past_the_map_keeps_the_address(
    browser, page
):
    from selenium.webdriver.support.ui import WebDriverWait

    driver = opened(browser, page)
    run(driver, "document.querySelectorAll('#ranking tbody button')[2].click()")
    kept = run(driver, "return location.hash")
    run(driver, "document.querySelector('.skip').click()")
    assert run(driver, "return [location.hash, document.activeElement.id]") == [kept, "views"]
    run(driver, "location.hash = '#site=9&units=metres&weights=fit:40'")
    WebDriverWait(driver, 20).until(
        lambda d: run(d, "return !document.getElementById('own').hidden")
    )
    assert run(driver, "return document.querySelector('#card h2').textContent").startswith("Site 9")
    assert run(driver, "return document.querySelector('[data-units=\"1\"]').ariaPressed") == "true"


def test_keys_that_are_the_browser_s_own_are_left_to_it(browser, page):
    driver = opened(browser, page)
    focus_map(driver)
    left = """
    const told = { key: arguments[0], ctrlKey: true, bubbles: true, cancelable: true };
    return document.activeElement.dispatchEvent(new KeyboardEvent('keydown', told))"""
    for key in ("+", "-", "ArrowRight", "Home"):
        assert run(driver, left, key), key


def test_the_second_sheet_says_whose_weights_it_was_made_with(browser, page):
    driver = opened(browser, page)
    said = """
    dispatchEvent(new Event('beforeprint'));
    const text = document.querySelector('#second p').textContent;
    dispatchEvent(new Event('afterprint'));
    return text"""
    adopted = run(driver, said)
    assert "Screening only" in adopted
    assert "your own weights" not in adopted
    run(
        driver,
        "const f = document.querySelector('#sliders [type=number]'); f.value = 50; f.dispatchEvent(new Event('input'))",
    )
    assert "with your own weights, not the adopted ones" in run(driver, said)


def test_a_warning_takes_its_room_from_the_sheet_and_not_a_sheet_of_its_own(browser, page):
    assert pages_on_paper(opened(browser, page)) == 2


def test_what_a_long_card_has_no_room_for_is_not_printed_over_the_second_sheet(browser, tmp_path):
    from pypdf import PdfReader

    write_map(MADE_UP.made_up_result(24), path := tmp_path / "map.html")
    driver = opened(browser, path)
    longer = "document.head.append(Object.assign(document.createElement('style'), { textContent: '.card h2 { margin-bottom: 150mm } header { min-height: 27mm }' }))"
    run(driver, longer)
    told = driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    sheets = PdfReader(io.BytesIO(base64.b64decode(told["data"]))).pages
    assert "Screening only" in sheets[1].extract_text()
    assert "Strengths" not in sheets[1].extract_text()


def test_figures_of_the_scale_never_run_into_one_another(browser, page):
    driver = opened(browser, page)
    apart = """
    const boxes = [...document.querySelectorAll('#scalebar text')].map((node) => node.getBoundingClientRect());
    const whole = document.getElementById('scalebar').getBoundingClientRect();
    return boxes.every((box, i) => box.right <= (boxes[i + 1] || { left: whole.right }).left)"""
    for which in (0, 1):
        run(driver, f"document.querySelector('[data-units=\"{which}\"]').click()")
        for way in ("out", "in"):
            for _ in range(24):
                run(driver, f"document.getElementById('zoom-{way}').click()")
                assert run(driver, apart), run(
                    driver, "return document.getElementById('scalebar').textContent"
                )


def test_names_with_a_distance_in_them_and_warnings_follow_the_units(browser, tmp_path):
    from dataclasses import replace

    loud = Finding(what="Lot lines may be off by 3 m.", weight="loud")
    result = MADE_UP.made_up_result(12, findings=(loud,))
    first = result.criteria[0]
    named = replace(first, criterion=replace(first.criterion, plain="hollows within 3 m"))
    write_map(
        replace(result, criteria=(named, *result.criteria[1:])), path := tmp_path / "map.html"
    )
    driver = opened(browser, path)
    run(driver, "document.getElementById('tab-priorities').click()")
    for which, told in ((1, "3 m"), (0, "10 ft")):
        run(driver, f"document.querySelector('[data-units=\"{which}\"]').click()")
        shown = run(
            driver,
            "return [document.querySelector('#sliders [type=range]').ariaLabel, document.querySelector('.loud').textContent, document.getElementById('sliders').textContent]",
        )
        assert f"off by {told}." in shown[1]
        assert f"hollows within {told}" in shown[2]


def test_the_keyboard_is_not_lost_where_a_button_goes_or_a_card_is_left(browser, tmp_path):
    from selenium.webdriver.common.keys import Keys

    write_map(MADE_UP.made_up_result(70), path := tmp_path / "map.html")
    driver = opened(browser, path)
    count = "return document.querySelectorAll('#ranking tbody button').length"
    before = run(driver, count)
    run(driver, "document.getElementById('more-all').focus()")
    press(driver, Keys.ENTER)
    place = "return [...document.querySelectorAll('#ranking tbody button')].indexOf(document.activeElement)"
    assert (run(driver, place), run(driver, count)) == (before, 70)
    run(
        driver,
        "document.getElementById('tab-why').click(); document.getElementById('find').focus()",
    )
    press(driver, "site 9", Keys.ENTER)
    assert run(driver, FOCUSED) == "verdict"
    press(driver, Keys.ESCAPE)
    assert run(driver, FOCUSED) == "find"
    run(driver, "document.querySelector('#verdict button').click()")
    assert run(driver, FOCUSED) == "card"
    press(driver, Keys.ESCAPE)
    shown = "return document.getElementById('view-why').hidden"
    assert (run(driver, FOCUSED), run(driver, shown)) == ("tab-why", False)


def test_a_chosen_pad_s_tag_is_as_wide_as_its_rank(browser, tmp_path):
    write_map(MADE_UP.made_up_result(1200), path := tmp_path / "map.html")
    driver = opened(browser, path)
    run(driver, "document.getElementById('more-all').click()")
    run(driver, "document.querySelectorAll('#ranking tbody button')[500].click()")
    wide = run(
        driver,
        "return ['.rank', '.tag'].map((part) => document.querySelector('#map .pad.on ' + part).getBoundingClientRect().width)",
    )
    assert wide[0] < wide[1]


@pytest.mark.parametrize("width", [800, 1024, 1250])
def test_on_a_small_desk_units_north_and_every_view_are_within_reach(browser, page, width):
    driver = opened(browser, page, width, 720)
    over = """
    const right = (part) => document.querySelector(part).getBoundingClientRect().right;
    return [["[data-units='1']", ".mapcol"], ["#scalebar", ".mapcol"], [".north", ".mapcol"], ["#tab-distances", ".tabs"]]
      .filter(([part, whole]) => right(part) > right(whole)).map(([part]) => part)"""
    assert run(driver, over) == []
