"""My home and the ruler: the walks of the page are Python's, and both say what they measured."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from report.made_up_result import made_up_result
from shapely import LineString, Point

from playsite.proximity.network import walk_network
from playsite.proximity.thinned import thinned
from playsite.proximity.walking import walk_m
from playsite.report.web_map import write_map

pytestmark = pytest.mark.browser

ROOT = Path(__file__).resolve().parents[2]
WALKING = (ROOT / "playsite/report/web_map/walking.js").read_text("utf-8")
ROWS = "return [...document.querySelectorAll('.walks tr')].map((row) => row.innerText.replace(/\\s+/g, ' '))"


@pytest.fixture(scope="module")
def result():
    made = made_up_result(24)
    streets = made.base_map["street_lines"].geometry
    walks = thinned(walk_network(streets)).set_crs(streets.crs)
    return replace(made, base_map={**made.base_map, "walks": walks})


@pytest.fixture
def driver(page):
    page.execute_script(
        "for (const id of ['tab-distances', 'ask-ruler', 'mark-clear', 'ask-home', 'mark-clear']) document.getElementById(id).click()"
    )
    return page


def click_map(driver, dx, dy):
    from selenium.webdriver.common.action_chains import ActionChains

    frame = driver.find_element("id", "map")
    ActionChains(driver).move_to_element_with_offset(frame, dx, dy).click().perform()


def test_walks_are_those_of_python_between_places_on_the_ways(page):
    rng = np.random.default_rng(3)
    lines = [LineString([(x, 0), (x + rng.uniform(-30, 30), 400)]) for x in range(0, 500, 90)]
    lines += [LineString([(-20, y), (520, y + rng.uniform(-40, 40))]) for y in range(30, 400, 95)]
    network = walk_network(lines)
    ways = thinned(network)
    picked = rng.choice(len(lines), 24)
    places = [lines[k].interpolate(rng.uniform(), normalized=True) for k in picked]
    rows = [
        {
            "a": w.start,
            "b": w.end,
            "side": 0,
            "length": w.length_m,
            "points": list(map(list, w.geometry.coords)),
        }
        for w in ways.itertuples()
    ]
    got = page.execute_script(
        f"""{WALKING}
        const network = walkNetwork(arguments[0]), places = arguments[1], out = [];
        for (let i = 1; i < places.length; i++) {{
          const from = joinsOf(network, [places[i - 1]]), to = joinsOf(network, [places[i]]);
          const walk = walkBetween(reachFrom(network, from), from, to);
          out.push([walk.length, walk.line]);
        }}
        return out;""",
        rows,
        [[p.x, p.y] for p in places],
    )
    for (length, line), start, end in zip(got, places[:-1], places[1:], strict=True):
        ours = walk_m([start], [end], network, link_m=0.5).loc[0]
        assert length == pytest.approx(ours["walk_m"], abs=0.5)
        # What is drawn is that walk: it begins and ends there, and is as long.
        assert LineString(line).length == pytest.approx(length, abs=1.0)
        assert Point(line[0]).distance(start) < 1e-6
        assert Point(line[-1]).distance(end) < 1e-6


def test_of_a_busy_street_only_the_near_side_is_stepped_on(page):
    got = page.execute_script(
        f"""{WALKING}
        const points = [[0, 0], [100, 0]], network = walkNetwork([1, -1].map((side, i) => ({{ a: 2 * i, b: 2 * i + 1, side, length: 100, points }})));
        return [[50, 20], [50, -20]].map((place) => joinsOf(network, [place]).map((join) => join.way.side));"""
    )
    assert got == [[1], [-1]]


def test_home_gives_the_walk_to_each_site_nearest_first_and_never_shorter_than_straight(
    driver, result
):
    assert "nothing is saved or sent" in driver.find_element("id", "distances").text
    click_map(driver, -120, 60)
    rows = driver.execute_script(ROWS)
    assert len(rows) == len(result.ranked)
    feet = [int(row.split(" min ")[1].removesuffix(" ft").replace(",", "")) for row in rows]
    assert feet == sorted(feet)
    assert driver.execute_script("return location.hash").count("home") == 0
    line = driver.execute_script(
        "return document.querySelector('#map .marks .walk')?.getAttribute('d')"
    )
    assert line
    driver.execute_script("document.querySelector('.walks button').click()")
    nearest = driver.execute_script("return document.querySelector('.walks b').textContent")
    assert driver.execute_script(
        "return document.querySelector('#card h2').textContent"
    ).startswith(nearest)


def test_spoken_is_who_is_nearest_and_not_the_whole_table(driver):
    click_map(driver, -120, 60)
    spoken, first = driver.execute_script(
        "return [document.getElementById('live').textContent, document.querySelector('.walks b').textContent]"
    )
    assert spoken.startswith(f"Nearest on foot: {first}, ")
    assert spoken.endswith(" min.")
    driver.execute_script("document.getElementById('mark-clear').click()")
    assert "Tap your home" in driver.execute_script(
        "return document.getElementById('live').textContent"
    )


def test_home_stays_off_the_paper(driver):
    click_map(driver, -120, 60)
    seen = "return getComputedStyle(document.querySelector('#map .marks')).display"
    try:
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        assert driver.execute_script(seen) == "none"
    finally:
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert driver.execute_script(seen) != "none"


def test_the_ruler_says_what_it_measured_and_is_true(driver, result):
    driver.execute_script("document.getElementById('ask-ruler').click()")
    click_map(driver, -150, -90)
    assert "Tap two places" in driver.find_element("id", "distances").text
    click_map(driver, 150, -90)
    said = driver.find_element("id", "distances").text
    assert "Straight, level, from" in said
    assert "Neither a walk nor a slope" in said
    bar = driver.execute_script(
        """const bar = document.getElementById('scalebar');
        return [parseFloat(bar.getAttribute('aria-label').split(' is ')[1].replace(',', '')), Number(bar.querySelector('rect').getAttribute('width'))]"""
    )
    if "edge of the play area" not in said:
        feet = int(said.split(": ")[1].split(" ft")[0].replace(",", ""))
        assert feet == pytest.approx(300 * bar[0] / bar[1], rel=0.02)


def test_inside_a_play_area_the_ruler_goes_from_its_edge(driver, result):
    driver.execute_script("document.getElementById('ask-ruler').click()")
    at = driver.execute_script(
        """const box = document.querySelector('#map .pad.on .body').getBoundingClientRect(), map = document.getElementById('map').getBoundingClientRect();
        return [box.left + box.width / 2 - map.left - map.width / 2, box.top + box.height / 2 - map.top - map.height / 2]"""
    )
    click_map(driver, round(at[0]), round(at[1]))
    click_map(driver, round(at[0]) + 60, round(at[1]))
    assert "the edge of the play area on Site" in driver.find_element("id", "distances").text


def test_keys_alone_put_and_move_a_mark(driver):
    from selenium.webdriver.common.keys import Keys

    driver.find_element("id", "mark-middle").send_keys(Keys.ENTER)
    before = driver.execute_script(
        "return Number(document.querySelector('#map .marks circle').getAttribute('cx'))"
    )
    driver.find_element("css selector", "[data-move='1 0']").send_keys(Keys.ENTER)
    after = driver.execute_script(
        "return Number(document.querySelector('#map .marks circle').getAttribute('cx'))"
    )
    assert after - before == pytest.approx(20, abs=0.2)


def test_with_another_view_open_a_tap_on_the_map_chooses_a_parcel_again(driver):
    driver.execute_script("document.getElementById('tab-ranking').click()")
    assert driver.execute_script("return document.querySelectorAll('#map .marks *').length") == 0
    before = driver.execute_script("return document.querySelector('#card h2').textContent")
    driver.execute_script(
        "document.querySelector('#map path.parcel.s2').dispatchEvent(new MouseEvent('click', {bubbles: true}))"
    )
    assert driver.execute_script("return document.querySelector('#card h2').textContent") != before


def test_reach_lies_within_its_minutes_of_the_chosen_site(driver, result):
    driver.execute_script("document.querySelector('[data-layer=reach]').click()")
    five, ten = driver.execute_script(
        """return ['five', 'ten'].map((name) => { const path = document.querySelector('#map .reach .' + name);
        return path.getTotalLength(); })"""
    )
    assert 0 < five < ten
    total = result.base_map["walks"].geometry.length.sum()
    pixel_m = driver.execute_script(
        "const bar = document.getElementById('scalebar'); return parseFloat(bar.getAttribute('aria-label').split(' is ')[1].replace(',', '')) * 0.3048 / Number(bar.querySelector('rect').getAttribute('width'))"
    )
    assert ten * pixel_m <= total * 1.01
    driver.execute_script("document.querySelector('[data-layer=reach]').click()")


def test_without_a_network_straight_distances_are_called_straight(shown, tmp_path):
    write_map(made_up_result(6), tmp_path / "map.html")
    driver = shown((tmp_path / "map.html").as_uri(), 1440, 900)
    driver.execute_script(
        "document.getElementById('tab-distances').click(); document.getElementById('mark-middle').click()"
    )
    assert all(" straight " in row for row in driver.execute_script(ROWS))
    assert "holds no network" in driver.find_element("id", "distances").text
