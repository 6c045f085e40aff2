"""The map in another language, in a real browser: the script's own words too, and as text."""

from dataclasses import replace

import pytest
from report.made_up_firm import firm_result

from playsite._words_file import Words
from playsite.report.web_map import write_map

pytestmark = pytest.mark.browser

WORDS = Words(
    "eo",
    {
        "Site {0}": "Loko {0}",
        "{0} is {1} points ahead of {2}.": "{2} estas {1} poentojn post {0}.",
        "Strengths": "<b>Fortoj</b>",
        "{0} of {1}": "{0} el {1}",
    },
)


@pytest.fixture(scope="module")
def driver(shown, tmp_path_factory):
    result = firm_result()
    path = tmp_path_factory.mktemp("words") / "map.html"
    write_map(replace(result, study=replace(result.study, words=WORDS)), path)
    return shown(path.as_uri(), 1440, 900)


def test_the_script_says_its_sentences_in_the_page_s_language(driver):
    driver.execute_script("document.getElementById('tab-compare').click()")
    said = driver.find_element("id", "finding").text
    assert said.startswith("Loko 2 estas 12.0 poentojn post Loko 1.")
    driver.execute_script("document.getElementById('tab-ranking').click()")
    assert driver.find_element("css selector", "#ranking th b").text == "Loko 1"
    assert "1. el 4" in driver.find_element("css selector", "#card .sub").text


def test_words_that_look_like_tags_are_text(driver):
    assert driver.execute_script(
        "return [...document.querySelectorAll('#card h3')].map((h) => h.textContent)"
    ).count("<b>Fortoj</b>")
    assert driver.execute_script("return document.querySelectorAll('#card h3 b').length") == 0
