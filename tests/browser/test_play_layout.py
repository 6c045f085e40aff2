"""The concept layout on the map, in a real browser: drawn to scale where the pad lies."""

import pytest
from made_up_study import TWO_AGES, box, write_study

from playsite.report.web_map import write_map
from playsite.study import run

pytestmark = pytest.mark.browser

SMALL = """
[programs.small]
children_at_once = 5
ring = "1 ft"
"""
NEAR = "for (let i = 0; i < 9; i++) document.getElementById('zoom-in').click()"
SIZES = """
return [...document.querySelectorAll("#map .plan path." + arguments[0])].map((path) => {
  const lines = path.getAttribute("d").match(/[ML][^ML]+/g).map((part) => part.slice(1).split(" ").map(Number));
  const far = (a, b) => Math.hypot(lines[a][0] - lines[b][0], lines[a][1] - lines[b][1]);
  return [far(0, 1), far(1, 2)].sort((a, b) => a - b);
});
"""


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    parcels = {
        "wide": box(40, 40, 120, 90, 12),
        "lot": box(250, 40, 60, 30),
        "strip": box(40, 250, 30, 9),
        "corner": box(240, 200, 110, 90),
        "green": box(100, 200, 110, 90),
        "yard": box(240, 300, 110, 90),
    }
    more = '[setbacks]\nparcel_line = "6 m"\n'
    folder = tmp_path_factory.mktemp("layout")
    study = 'least_known = "0 %"'
    file = write_study(folder, parcels, study=study, program=TWO_AGES + SMALL, more=more)
    return run(file)


@pytest.fixture(scope="module")
def page(result, tmp_path_factory):
    path = tmp_path_factory.mktemp("map") / "map.html"
    write_map(result, path)
    return path


def opened(browser, path):
    from selenium.webdriver.support.ui import WebDriverWait

    browser.resize(1280, 800)
    browser.open(path)
    drawn = "return document.documentElement.dataset.drawn === 'yes'"
    WebDriverWait(browser.driver, 60).until(lambda driver: driver.execute_script(drawn))
    return browser.driver


def test_from_afar_a_pad_is_a_plain_shape_from_near_it_holds_its_equipment(browser, page):
    driver = opened(browser, page)
    assert driver.execute_script(SIZES, "equipment") == []
    driver.execute_script(NEAR)
    assert len(driver.execute_script(SIZES, "equipment")) == 7
    names = "return [...document.querySelectorAll('#map .plan title')].map((t) => t.textContent)"
    assert "two rockers in line" in driver.execute_script(names)
    assert browser.console() == []


def test_equipment_is_drawn_to_the_scale_of_the_surfacing(browser, page):
    driver = opened(browser, page)
    driver.execute_script(NEAR)
    ((short_px, long_px),) = driver.execute_script(SIZES, "surfacing")
    foot_px = long_px / 102  # the layout's surfacing is 102 by 54 ft
    assert short_px / foot_px == pytest.approx(54, rel=0.01)
    sizes = driver.execute_script(SIZES, "equipment")
    assert any(size == pytest.approx([20 * foot_px, 26 * foot_px], rel=0.02) for size in sizes), (
        "the large composite is 26 by 20 ft"
    )


def test_the_layout_can_be_switched_off(browser, page):
    driver = opened(browser, page)
    driver.execute_script(NEAR)
    driver.execute_script("document.querySelector('[data-layer=plans]').click()")
    assert driver.execute_script(SIZES, "equipment") == []


def test_a_lot_that_is_too_tight_says_what_would_let_it_fit(browser, page):
    driver = opened(browser, page)
    driver.execute_script("document.getElementById('tab-why').click()")
    for lot, words in {
        "lot": "instead of 6 m of this one rule: setback from the parcel line",
        "strip": "No rule is to blame",
    }.items():
        driver.execute_script(
            """const field = document.getElementById("find");
            field.value = arguments[0];
            field.dispatchEvent(new Event("input"));
            document.querySelector("#found button").click();""",
            lot,
        )
        told = driver.execute_script("return document.getElementById('verdict').textContent")
        assert words in told


def test_the_card_says_the_room_at_the_sides(browser, page):
    driver = opened(browser, page)
    told = driver.execute_script("return document.getElementById('card').textContent")
    assert "Room at the sides of the play area" in told
    assert "to the setback from the parcel line" in told


def test_every_site_of_the_sample_town_can_be_chosen_near_and_far(
    browser, repo, tmp_path, sample_memory, monkeypatch
):
    """Whatever a criterion gives as evidence, points too, is drawn without a fault."""
    path = tmp_path / "map.html"
    monkeypatch.setenv("PLAYSITE_CACHE", str(sample_memory))
    whole = run(repo / "sample_gis")
    write_map(whole, path)
    assert (whole.evidence.geom_type == "Point").any()
    driver = opened(browser, path)
    for site in whole.sites["site_no"]:
        driver.execute_script(
            """const field = document.getElementById("find");
            document.getElementById("tab-why").click();
            field.value = arguments[0];
            field.dispatchEvent(new Event("input"));
            document.querySelector("#found button").click();
            for (const id of ["zoom-in", "zoom-in", "zoom-out", "zoom-out"]) document.getElementById(id).click();""",
            str(site),
        )
    assert browser.console() == []
