"""The map on a council's wall: large enough to be read from the back, and the mouse where it points."""

import pytest
from report.made_up_result import made_up_result
from selenium.webdriver.common.action_chains import ActionChains

from playsite.report.web_map import write_map

pytestmark = pytest.mark.browser

SCREENS = [(1280, 800, 1.0), (1920, 1080, 1.3), (2560, 1440, 1.75), (3840, 2160, 2.6)]


@pytest.fixture(scope="module")
def paths(tmp_path_factory):
    """A map of shapes of their own, and one of a canvas, where Leaflet tells which lot was tapped."""
    folder = tmp_path_factory.mktemp("wall")
    for parcels in (24, 450):
        write_map(made_up_result(parcels), folder / f"{parcels}.html")
    return folder


@pytest.mark.parametrize(("width", "height", "times"), SCREENS)
def test_all_grows_alike_and_nothing_leaves_the_screen(shown, paths, width, height, times):
    driver = shown((paths / "24.html").as_uri(), width, height)
    tall = {
        part: driver.execute_script(
            "return document.querySelector(arguments[0]).getBoundingClientRect().height", part
        )
        for part in ("#ranking tbody tr", "#zoom-in", "#map .pad .tag", ".chip", ".north")
    }
    desk = {"#ranking tbody tr": 30, "#zoom-in": 32, ".chip": 18, ".north": 44}
    for part, px in desk.items():
        assert tall[part] == pytest.approx(px * times, abs=1.1 * times), part
    assert driver.execute_script(
        "const m = document.getElementById('map').getBoundingClientRect(), v = document.querySelector('.view').getBoundingClientRect();"
        "return Math.max(Math.abs(m.width - v.width), Math.abs(m.height - v.height))"
    ) == pytest.approx(0, abs=2 * times)
    assert driver.execute_script(
        "return [document.documentElement.scrollWidth - innerWidth, document.documentElement.scrollHeight - innerHeight].map((px) => px <= 1)"
    ) == [True, True]
    # the scale bar is as long on the screen as it says: the map is grown as much as its foot
    bar, grown = driver.execute_script(
        "const bar = document.querySelector('#scalebar rect'), map = document.getElementById('map');"
        "return [bar.getBBox(), map.clientWidth].map((own, i) => (i ? map.getBoundingClientRect().width / own : (bar.getBoundingClientRect().width / (own.width + 1))))"
    )
    assert grown == pytest.approx(times, rel=0.01)
    assert bar == pytest.approx(times, rel=0.02)


MIDDLE = """
const r = document.querySelector(arguments[0]).getBoundingClientRect();
return [r.left + r.width / 2, r.top + r.height / 2]
"""


@pytest.mark.parametrize(("width", "height", "times"), SCREENS[1::2])
def test_a_tap_marks_the_place_that_is_tapped_and_the_map_follows_the_hand(
    shown, paths, width, height, times
):
    driver = shown((paths / "24.html").as_uri(), width, height)
    driver.find_element("id", "tab-distances").click()
    view = driver.find_element("id", "map")
    for dx, dy in ((40, 60), (-180, 110)):
        ActionChains(driver).move_to_element_with_offset(view, dx, dy).click().perform()
        driver.execute_script("document.getElementById('tab-distances').click()")
        x, y = driver.execute_script(MIDDLE, "#map")
        mark = driver.execute_script(MIDDLE, "#map .marks circle")
        assert mark == pytest.approx([x + dx, y + dy], abs=1.5 * times)
    # held and drawn aside: what lies under the hand stays under it
    hand = ActionChains(driver).move_to_element_with_offset(view, 200, 150).click_and_hold()
    hand.move_by_offset(-60, 20).move_by_offset(-60, 20).pause(0.3).release().perform()
    moved = driver.execute_script(MIDDLE, "#map .marks circle")
    assert moved == pytest.approx([mark[0] - 120, mark[1] + 40], abs=2.5 * times)


def test_of_very_many_lots_the_one_under_the_mouse_is_chosen(shown, paths):
    driver = shown((paths / "450.html").as_uri(), 1920, 1080)
    driver.execute_script("document.querySelectorAll('#ranking tbody th button')[3].click()")
    name = driver.execute_script("return document.querySelector('#card h2').textContent")
    x, y = driver.execute_script(
        "const r = document.querySelector('#map .pad.on .body').getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2]"
    )
    driver.execute_script("document.querySelectorAll('#ranking tbody th button')[0].click()")
    # the pad's own button is taken away, so that the tap reaches the map below
    driver.execute_script(
        "document.querySelectorAll('#map .pad').forEach((p) => { p.style.visibility = 'hidden' })"
    )
    hit = driver.execute_script(
        """const at = { bubbles: true, clientX: arguments[0], clientY: arguments[1], view: window };
        const map = document.getElementById('map');
        for (const kind of ['mousedown', 'mouseup', 'click']) map.dispatchEvent(new MouseEvent(kind, at));
        return document.querySelector('#card h2').textContent""",
        x,
        y,
    )
    assert hit == name
