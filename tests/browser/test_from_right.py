"""A language written from right to left: the sheet is laid out from the right, the map is not."""

from dataclasses import replace

import pytest
from report.made_up_firm import firm_result

from playsite._words_file import Words
from playsite.report.ballot_page import write_ballot
from playsite.report.web_map import write_map

pytestmark = pytest.mark.browser

# Made up for the test, a few sentences only: what has no words stays English.
WORDS = Words(
    "ar",
    {
        "Ranking": "الترتيب",
        "Priorities": "الأولويات",
        "Compare": "مقارنة",
        "Why not?": "لماذا لا؟",
        "My home": "بيتي",
        "Rank": "المرتبة",
        "Site": "الموقع",
        "Score, likely range": "الدرجة والمدى المحتمل",
        "Site {0}": "الموقع {0}",
        "{0}, {1}, comes first.": "{0}، {1}، في المرتبة الأولى.",
        "We looked at {0} parcels.": "فحصنا {0} قطع.",
        "{0} are ranked.": "{0} منها مرتّبة.",
        "Screening only, not a survey.": "فحص أولي فقط، وليس مسحاً.",
        "Print this sheet": "اطبع هذه الورقة",
        "Cautions and sources": "تنبيهات ومصادر",
        "Layers and signs": "الطبقات والرموز",
        "Strengths": "نقاط القوة",
        "Weaknesses": "نقاط الضعف",
        "likely {0} to {1}": "على الأرجح من {0} إلى {1}",
        "{0} of 100": "{0} من 100",
        "{0} of {1}": "{0} من {1}",
        "Score of the pad, out of 100": "درجة الموقع من 100",
        "What do you think?": "ما رأيك؟",
        "Which would do, and in which order?": "أيها يصلح، وبأي ترتيب؟",
        "would be fine": "مقبول",
        "my choice": "اختياري",
    },
    "rtl",
)
SIZES = [(1280, 800), (390, 844)]


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    folder = tmp_path_factory.mktemp("from_right")
    result = firm_result()
    result = replace(result, study=replace(result.study, words=WORDS))
    write_map(result, folder / "map.html")
    write_ballot(result, folder / "ballot.html")
    return folder


def box(driver, part):
    return driver.execute_script(
        "const r = document.querySelector(arguments[0]).getBoundingClientRect(); return [r.left, r.right, r.top, r.bottom]",
        part,
    )


def test_the_sheet_is_laid_out_from_the_right_and_the_map_as_ever(shown, pages):
    driver = shown((pages / "map.html").as_uri(), 1280, 800)
    assert driver.execute_script("return [document.documentElement.lang, document.dir]") == [
        "ar",
        "rtl",
    ]
    side, view = box(driver, "#views"), box(driver, ".mapcol")
    assert side[1] <= view[0] + 1
    assert box(driver, "#tab-ranking")[0] > box(driver, "#tab-priorities")[1] - 1
    chip, name, score = (
        box(driver, f"#ranking tbody tr {part}") for part in (".chip", "th b", ".range")
    )
    assert chip[0] > name[1]
    assert name[0] > score[1]
    # figures keep their sides: the scale bar grows to the right, west is left
    zero, end = driver.execute_script(
        "return [...document.querySelectorAll('#scalebar text')].map((t) => [t.textContent, t.getBoundingClientRect().left]).filter((_, i, all) => !i || i === all.length - 1)"
    )
    assert zero[0] == "0"
    assert zero[1] < end[1]
    letters = driver.execute_script(
        "return [...document.querySelectorAll('.gx span')].map((s) => [s.textContent, s.getBoundingClientRect().left])"
    )
    assert sorted(letters) == sorted(letters, key=lambda row: row[1])
    pads = driver.execute_script(
        "return [...document.querySelectorAll('#map .pad .body')].map((t) => [t.getBoundingClientRect(), t.closest('.view').getBoundingClientRect()]).filter(([r, v]) => r.left >= v.left && r.right <= v.right).length"
    )
    assert pads == 4


def test_names_and_numbers_stand_apart_in_the_line(shown, pages):
    driver = shown((pages / "map.html").as_uri(), 1280, 800)
    driver.find_element("id", "tab-ranking").click()
    name = driver.find_element("css selector", "#ranking tbody th bdi").text
    assert name.isascii()
    answer = driver.execute_script("return document.getElementById('answer').textContent")
    assert f"\u2068{name}\u2069" in answer
    title = driver.execute_script("return document.querySelector('#card h2').textContent")
    assert title == f"الموقع \u20681\u2069, \u2068{name}\u2069"
    driver.find_element("id", "tab-why").click()
    driver.find_element("id", "find").send_keys("الموقع 2")  # found without the marks
    assert len(driver.find_elements("css selector", "#found button")) == 1


def test_a_slider_and_its_tick_run_the_same_way_and_so_do_the_keys(shown, pages):
    from selenium.webdriver.common.keys import Keys

    driver = shown((pages / "map.html").as_uri(), 1280, 800)
    driver.find_element("id", "tab-ranking").click()
    driver.find_element("id", "tab-ranking").send_keys(Keys.ARROW_LEFT)
    assert driver.execute_script("return document.activeElement.id") == "tab-priorities"
    for number, place in driver.execute_script(
        """return [...document.querySelectorAll('#sliders > div > .weigh')].map((row) => {
          const track = row.querySelector('[type=range]'), r = track.getBoundingClientRect(), tick = row.querySelector('.adopted').getBoundingClientRect();
          const part = track.value / track.max; // the thumb is 13 wide and runs from the right
          return [tick.right, r.right - 6.5 - part * (r.width - 13)];
        })"""
    ):
        assert number == pytest.approx(place, abs=2.5)


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_nothing_amiss_and_nothing_leaves_the_screen(shown, pages, violations, width, height):
    driver = shown((pages / "map.html").as_uri(), width, height)
    for tab in ("ranking", "priorities", "compare", "why", "distances"):
        driver.find_element("id", f"tab-{tab}").click()
        assert violations(driver) == []
        assert driver.execute_script("return document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_the_ballot_too(browser, pages, violations, width, height):
    browser.open((pages / "ballot.html").as_uri())
    browser.resize(width, height)
    driver = browser.driver
    assert driver.execute_script("return [document.documentElement.lang, document.dir]") == [
        "ar",
        "rtl",
    ]
    tick, choice = box(driver, "[data-approves]"), box(driver, "[data-choice]")
    assert tick[0] > choice[1] or tick[2] < choice[2]
    assert driver.find_element("css selector", "legend bdi").text.isascii()
    assert violations(driver) == []
    assert driver.execute_script("return document.documentElement.scrollWidth <= innerWidth")
