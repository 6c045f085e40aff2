"""My district's sites: the table and the map of one district, with the ranks of the whole town."""

from dataclasses import replace

import geopandas as gpd
import pandas as pd
import pytest
import shapely
from report.made_up_result import made_up_result
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select

from playsite.report.web_map.districts import districts
from playsite.result import NEED_COLUMNS

pytestmark = pytest.mark.browser

ROWS = """
return [...document.querySelectorAll('#ranking tbody tr')].filter((row) => row.querySelector('.chip'))
  .map((row) => [row.querySelector('.chip').textContent, row.querySelector('th b').textContent])
"""


@pytest.fixture(scope="module")
def result():
    """Two districts that share the line through the middle of the town."""
    town = made_up_result(24)
    west, south, east, north = town.parcels.total_bounds
    middle = (west + east) / 2
    shapes = [shapely.box(west, south, middle, north), shapely.box(middle, south, east, north)]
    frame = gpd.GeoDataFrame(
        {"name": ["West <i>ward</i>", "East ward"]}, geometry=shapes, crs=town.study.crs
    )
    first, second = town.ranked["parcel_id"].iloc[:2]
    rows = [
        ("new playground", first, "", "", 90, 60, 5, 3, 1, 1, 1),
        ("new playground", first, "", "East ward", 40, 31.4, 5, 3, 1, 1, 1),
        ("new playground", second, "", "East ward", 40, 38.6, 5, 3, 1, 1, 1),
        ("new playground", second, "", "West <i>ward</i>", 1, 0.2, 5, 3, 1, 1, 1),
    ]
    need = pd.DataFrame(rows, columns=list(NEED_COLUMNS))
    return replace(town, base_map={**town.base_map, "districts": frame}, need=need)


@pytest.fixture
def driver(page):
    page.execute_script("document.getElementById('tab-ranking').click()")
    Select(page.find_element("id", "district")).select_by_index(0)
    return page


def _east(result):
    line = (result.parcels.total_bounds[0] + result.parcels.total_bounds[2]) / 2
    return result.sites["pad_easting"] > line


def test_the_text_for_paper_names_the_district_where_its_list_is_not_printed(driver):
    Select(driver.find_element("id", "district")).select_by_visible_text("East ward")
    told = driver.execute_script("return document.getElementById('district-told').textContent")
    assert told.startswith("East ward: ")


def test_each_parcel_is_of_the_district_in_which_its_pad_lies(result):
    told = districts(result)
    assert told["names"] == ["East ward", "West <i>ward</i>"]
    assert [place == 0 for place in told["of"]] == _east(result).tolist()
    numbers = result.sites.set_index("parcel_id")["site_no"]
    first, second = result.ranked["parcel_id"].iloc[:2]
    # the most first; where nobody gains nothing is said
    assert told["gains"] == [[[numbers[second], 39], [numbers[first], 31]], []]


def test_a_parcel_without_a_pad_lies_where_its_own_middle_does_and_one_outside_in_none(result):
    bare = result.sites.assign(pad_easting=float("nan"), pad_northing=float("nan"))
    told = districts(replace(result, sites=bare))
    assert (pd.Series(told["of"]) == 0).tolist() == _east(result).tolist()
    frame = result.base_map["districts"].iloc[:1]
    alone = districts(replace(result, base_map={"districts": frame}))
    assert [place == -1 for place in alone["of"]] == _east(result).tolist()


def test_the_table_is_of_one_district_with_the_ranks_of_the_whole_town(driver, result):
    whole = driver.execute_script(ROWS)
    driver.find_element("id", "district").send_keys("East")  # by keys alone
    sites = result.sites[_east(result)]
    ranked = sites[sites["status"] == "ranked"]
    ours = [[str(row.rank), f"Site {row.site_no}"] for row in ranked.itertuples()]
    assert driver.execute_script(ROWS) == ours
    assert 0 < len(ours) < len(whole)
    said = driver.find_element("id", "district-told").text
    assert f"{len(ranked)} of {len(sites)} parcels are ranked here" in said
    numbers = result.sites.set_index("parcel_id")["site_no"]
    first, second = (numbers[p] for p in result.ranked["parcel_id"].iloc[:2])
    assert f"newly served at Site {second} (39) and Site {first} (31)." in said
    away = driver.execute_script(
        "return [...document.querySelectorAll('#map .pad.away .name')].map((n) => n.textContent)"
    )
    assert sorted(away) == sorted(
        name for _, name in whole if name not in dict(map(reversed, ours))
    )
    assert (
        driver.execute_script("return document.querySelectorAll('#map .district path').length") == 1
    )
    # the row's button still opens its own card
    driver.find_elements("css selector", "#ranking tbody th button")[1].send_keys(Keys.ENTER)
    title = driver.execute_script("return document.querySelector('#card h2').textContent")
    assert title.startswith(ours[1][1])
    Select(driver.find_element("id", "district")).select_by_index(0)
    assert driver.execute_script(ROWS) == whole
    assert driver.find_element("id", "district-told").text == ""


def test_moved_weights_move_the_sites_of_the_district_too(driver, result):
    Select(driver.find_element("id", "district")).select_by_visible_text("East ward")
    before = driver.execute_script(ROWS)
    driver.execute_script(
        "const f = document.querySelector('#sliders [type=number]'); f.value = 90; f.dispatchEvent(new Event('input'))"
    )
    after = driver.execute_script(ROWS)
    driver.execute_script("document.getElementById('adopted').click()")
    assert after != before
    assert {name for _, name in after} <= {name for _, name in before}
    places = [int(rank) for rank, _ in after]
    assert places == sorted(places)


@pytest.mark.parametrize(("width", "height"), [(1440, 900), (390, 844)])
def test_nothing_amiss_for_who_cannot_see_it(driver, violations, width, height):
    driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600},
    )
    Select(driver.find_element("id", "district")).select_by_visible_text("West <i>ward</i>")
    assert violations(driver) == []
    if width < 600:
        tall = driver.execute_script(
            "return document.getElementById('district').getBoundingClientRect().height"
        )
        assert tall >= 44
    assert driver.execute_script("return document.documentElement.scrollWidth <= innerWidth")


def test_without_districts_nothing_is_asked(shown, tmp_path):
    from playsite.report.web_map import write_map

    write_map(made_up_result(12), tmp_path / "map.html")
    driver = shown((tmp_path / "map.html").as_uri(), 1280, 800)
    assert not driver.find_element("id", "district-ask").is_displayed()
