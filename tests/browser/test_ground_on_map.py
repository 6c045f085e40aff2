"""Ways by their grade, low spots by how sure they are, words that give way: in a real browser."""

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pytest
import shapely
from report.made_up_result import made_up_result

pytestmark = pytest.mark.browser

GRADES_PCT = (4.0, 7.0, 12.0)
ZOOM = "for (let i = 0; i < arguments[0]; i++) document.getElementById('zoom-in').click()"


@pytest.fixture(scope="module")
def result():
    """Give a town whose ways to a restroom are step-free ways of three grades, and sure and unsure hollows."""
    made = made_up_result(24)
    told = {"restroom": "accessible_route"}
    criteria = tuple(
        replace(each, criterion=replace(each.criterion, name=told.get(each.name, each.name)))
        for each in made.criteria
    )
    shapes = [
        _with_heights(shape) if name == "restroom" else shape
        for name, shape in zip(made.evidence["criterion"], made.evidence.geometry, strict=True)
    ]
    evidence = gpd.GeoDataFrame(
        made.evidence.drop(columns="geometry").replace({"criterion": told}),
        geometry=gpd.GeoSeries(shapes, crs=made.evidence.crs),
    )
    sure = np.resize([0.95, 0.8, 0.65, np.nan, 0.4], len(made.low_spots))
    spots = made.low_spots.assign(
        probability=sure, standing=np.where(sure >= 0.6, "credible", "field check")
    )
    table = made.measurements.replace({"criterion": told})
    return replace(
        made, criteria=criteria, evidence=evidence, low_spots=spots, measurements=table
    )  # fmt: skip


def fresh(page, width=1440):
    """Open the page again, as wide as asked for."""
    from selenium.webdriver.support.ui import WebDriverWait

    metrics = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False}
    page.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    page.refresh()
    drawn = "return document.documentElement.dataset.drawn === 'yes'"
    WebDriverWait(page, 60).until(lambda driver: driver.execute_script(drawn))


def _with_heights(way):
    """Give a way of three parts, each as steep as it is meant to be."""
    at = shapely.get_coordinates(way)
    far_m = np.hypot(*np.diff(at, axis=0).T)
    return shapely.LineString(np.c_[at, np.r_[0, np.cumsum(far_m * np.array(GRADES_PCT) / 100)]])


def test_a_way_is_drawn_apart_by_grade_and_its_steepest_part_is_lettered(page):
    fresh(page)
    count = "return document.querySelectorAll('#map .way.' + arguments[0]).length"
    assert [page.execute_script(count, name) for name in ("ring", "ramp", "steep")] == [1, 1, 1]
    style = (
        "const s = getComputedStyle(document.querySelector('#map .way.' + arguments[0]));"
        "return [s.strokeDasharray, s.strokeWidth]"
    )
    # not by colour alone
    drawn = [page.execute_script(style, name) for name in ("wheel", "ring", "ramp", "steep")]
    assert len({tuple(each) for each in drawn}) == 4
    page.execute_script(ZOOM, 4)
    said = page.execute_script(
        "return [...document.querySelectorAll('.label.wheel')].map((n) => n.textContent)"
    )
    assert "12%, too steep" in said


def test_rings_tell_how_sure_a_low_spot_is_and_ticks_are_for_the_likely_ones(page):
    fresh(page)
    page.execute_script(ZOOM, 1)
    drawn = page.execute_script(
        """return ["p90", "p75", "p60", "untold"].map((name) => {
          const [ring, ticks] = document.querySelectorAll("#map .low ." + name + " path");
          return [ring.getAttribute("d").length > 0, ticks.getAttribute("d").length > 0, getComputedStyle(ring).strokeDasharray];
        })"""
    )
    assert [ticks for _, ticks, _ in drawn] == [True, True, False, False]
    assert len({dashes for *_, dashes in drawn}) == 4


def test_a_low_spot_that_is_less_sure_is_on_the_card_alone(page, result):
    unsure = result.low_spots.index[result.low_spots["probability"] == 0.4][0]
    spot = result.low_spots.geometry[unsure]
    near = result.pads[result.pads.distance(spot) < 30]["site_no"].iloc[0]
    fresh(page)
    page.execute_script(
        "[...document.querySelectorAll('#ranking tbody button')].find((b) => b.textContent.startsWith(`Site ${arguments[0]} `)).click()",
        int(near),
    )
    card = page.execute_script("return document.getElementById('card').textContent")
    assert "Possible low spot, 40% likely" in card
    hovered = "return [...document.querySelectorAll('#map .low title')].map((n) => n.textContent)"
    page.execute_script(ZOOM, 6)
    assert not [words for words in page.execute_script(hovered) if "40%" in words]


def test_grade_over_the_lots_is_off_at_first_and_each_class_has_its_own_hatch(page, violations):
    fresh(page)
    drawn = "return document.querySelectorAll('#map .grades path').length"
    assert page.execute_script(drawn) == 0
    page.execute_script("document.getElementById('layers-open').click()")
    page.execute_script("document.querySelector('[data-layer=grades]').click()")
    assert page.execute_script(drawn) > 0
    fills = page.execute_script(
        """return [...new Set([...document.querySelectorAll('#map .grades path')].map((n) => getComputedStyle(n).fill))]"""
    )
    assert len(fills) == 5
    in_key = page.execute_script(
        """return [...document.querySelectorAll('#layer-list .grades path')].map((n) => getComputedStyle(n).fill)"""
    )
    assert sorted(in_key) == sorted(fills)
    hatches = page.execute_script(
        """return arguments[0].map((fill) => {
          const hatch = document.getElementById(fill.match(/#([\\w-]+)/)[1]);
          return hatch.getAttribute('patternTransform') + hatch.getAttribute('height') + hatch.innerHTML; })""",
        fills,
    )
    assert len(set(hatches)) == 5
    assert violations(page) == []


BOXES = """
const shown = (node) => node.textContent && getComputedStyle(node).display !== "none";
return [...document.querySelectorAll("#map .label, #map .pad .rank, #map .pad .name, #map .low text, #map text.room, #map .plan text, #map text.height")]
  .filter(shown).map((node) => { const b = node.getBoundingClientRect();
    return [node.textContent, b.left + 1, b.top + 2, b.right - 1, b.bottom - 2]; });
"""


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("place", [0, 1, 5])
def test_no_words_lie_over_a_rank_a_name_or_one_another(page, width, place):
    fresh(page, width)
    page.execute_script(
        "document.querySelectorAll('#ranking tbody button')[arguments[0]].click()", place
    )
    for _ in range(5):
        boxes = page.execute_script(BOXES)
        assert boxes
        for i, (one, *a) in enumerate(boxes):
            for other, *b in boxes[:i]:
                apart = a[0] >= b[2] or b[0] >= a[2] or a[1] >= b[3] or b[1] >= a[3]
                assert apart, f"{one!r} lies over {other!r}"
        page.execute_script(ZOOM, 1)
