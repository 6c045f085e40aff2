"""Shade by hour on the map, in a real browser: drawn for the sun that is chosen, else not."""

import pytest
from made_up_study import box, point, write_study

from playsite.report.web_map import write_map
from playsite.study import run

pytestmark = pytest.mark.browser

CHOOSE = """
const sun = document.getElementById("sun");
sun.value = arguments[0];
sun.dispatchEvent(new Event("change", { bubbles: true }));
return document.querySelector("#map .shade path").getAttribute("d");
"""


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sun")
    trees = ([point(33, y) for y in (48, 58)], {"crown_m": [4.0] * 2, "height_m": [12.0] * 2})
    study = 'criteria = ["shade", "fit"]\nleast_known = "0 %"'
    file = write_study(folder, {"A": box(40, 40, 34, 25)}, layers={"trees": trees}, study=study)
    write_map(run(file), folder / "map.html")
    return folder / "map.html"


def test_one_sun_at_a_time_is_drawn_and_none_at_first(browser, page):
    from selenium.webdriver.support.ui import WebDriverWait

    browser.resize(1280, 800)
    browser.open(page)
    drawn = "return document.documentElement.dataset.drawn === 'yes'"
    WebDriverWait(browser.driver, 60).until(lambda driver: driver.execute_script(drawn))
    first = "return document.querySelector('#map .shade path').getAttribute('d')"
    assert browser.driver.execute_script(first) == ""
    shapes = [browser.driver.execute_script(CHOOSE, str(i)) for i in range(6)]
    assert all(shapes)
    assert len(set(shapes)) == 6
    assert browser.driver.execute_script(CHOOSE, "") == ""
    assert browser.console() == []
