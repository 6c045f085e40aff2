"""The residents' page in a real browser: silent, alone, by keys; its answer is what a study reads."""

import re

import pytest
from made_up_study import box, write_study
from report.made_up_result import made_up_result

from playsite.problems import Problems
from playsite.report.ballot_page import ballot_html, write_ballot
from playsite.settings import read_settings
from playsite.study.ballot_files import read_ballots

pytestmark = pytest.mark.browser

HOSTILE = "<img src=x onerror=document.title='hacked'>{{ 7*7 }}"
ANSWER = """
document.getElementById("show").click();
return [document.getElementById("text").value, document.getElementById("fault").textContent];
"""
COMMENT = 'Cars turn here; "fast", they say.\n=HYPERLINK("x") on the next line'


@pytest.fixture
def page(browser, tmp_path):
    write_ballot(made_up_result(24, names={4: HOSTILE}), tmp_path / "ballot.html")
    browser.open(tmp_path / "ballot.html")
    return browser


def fill(driver):
    return driver.execute_script(
        """
        const [one, two, three] = JSON.parse(document.getElementById("numbers").textContent);
        document.querySelector(`[data-approves="${one}"]`).click();
        document.querySelector(`[data-approves="${three}"]`).click();
        document.querySelector(`[data-choice="${three}"]`).value = "1";
        document.querySelector(`[data-choice="${two}"]`).value = "2";
        document.querySelector("[data-site]").value = two;
        document.querySelector("[data-topic]").value = "traffic";
        document.querySelector("[data-comment]").value = arguments[0];
        document.getElementById("place").value = "Mill Lane, north";
        document.getElementById("age").value = "child";
        return [one, two, three];""",
        COMMENT,
    )


def test_nothing_is_asked_of_anyone_names_are_text_and_the_console_is_silent(page):
    assert page.console() == []
    assert len(page.requests()) == 1
    assert HOSTILE in page.driver.find_element("tag name", "body").text
    assert page.driver.execute_script("return document.querySelectorAll('img').length") == 0


def test_the_answer_is_what_the_study_reads_from_a_folder_of_answers(page, tmp_path):
    one, two, three = fill(page.driver)
    text, fault = page.driver.execute_script(ANSWER)
    assert fault == ""
    study = tmp_path / "study"
    lots = {f"L{n:02d}": box(40 + n, 40, 60, 50) for n in range(1, 25)}
    file = write_study(study, lots, more='[ballots]\nfile = "answers"\n')
    (study / "answers").mkdir()
    (study / "answers" / "one.csv").write_text("\ufeff" + text, encoding="utf-8", newline="")
    (study / "answers" / "same_again.csv").write_text(text, encoding="utf-8", newline="")
    problems = Problems()
    read = read_ballots(read_settings(file, problems), sorted(lots), ["traffic"], problems)
    assert not problems.items
    count = read.counts["all"].table
    approved = count.index[count["approvals"] > 0].tolist()
    assert approved == sorted([f"L{one:02d}", f"L{three:02d}"])
    assert count["first_choices"].idxmax() == f"L{three:02d}"
    assert count.loc[f"L{three:02d}", "wins"] == 2  # the second, and the one left out
    assert (read.again, "children" in read.counts, dict(read.places)) == (
        1,
        True,
        {"Mill Lane, north": 1},
    )
    assert read.comments.to_numpy().tolist() == [
        [f"L{two:02d}", "traffic", re.sub(r"\s+", " ", COMMENT)]
    ]


def test_a_choice_given_twice_and_an_empty_answer_are_told_and_give_nothing(page):
    text, fault = page.driver.execute_script(ANSWER)
    assert text == ""
    assert "Nothing is ticked" in fault
    page.driver.execute_script(
        "document.querySelectorAll('[data-choice]').forEach((list) => { list.value = '1' })"
    )
    text, fault = page.driver.execute_script(ANSWER)
    assert text == ""
    assert fault == "Two sites are your choice 1. Give each number once."


def test_a_comment_that_a_spreadsheet_would_run_is_kept_from_it(page):
    page.driver.execute_script(
        "document.querySelector('[data-comment]').value = '=1+1'; document.querySelector('[data-approves]').click()"
    )
    text, _ = page.driver.execute_script(ANSWER)
    assert ",'=1+1\r\n" in text or ",'=1+1\n" in text


def test_by_keys_alone_an_answer_is_given(page):
    from selenium.webdriver.common.action_chains import ActionChains
    from selenium.webdriver.common.keys import Keys

    actions = ActionChains(page.driver)
    actions.send_keys(Keys.TAB, Keys.SPACE, Keys.TAB, "1").perform()
    page.driver.find_element("id", "show").send_keys(Keys.ENTER)
    text = page.driver.find_element("id", "text").get_property("value")
    assert text.count("Site ") == 2


def test_on_a_phone_nothing_scrolls_sideways_and_targets_are_large(page):
    page.resize(390, 844)
    long = "document.querySelector('[data-topic]').append(new Option('as long as a question may be '.repeat(3)))"
    page.driver.execute_script(long)
    wide, small = page.driver.execute_script(
        """return [document.documentElement.scrollWidth, [...document.querySelectorAll("button, select, label:has([type=checkbox])")]
        .filter((node) => node.getBoundingClientRect().height < 43.5).length]"""
    )
    assert wide <= 390
    assert small == 0


@pytest.mark.parametrize("width", [1280, 390])
def test_axe_finds_no_violation(page, violations, width):
    page.resize(width, 844)
    fill(page.driver)
    page.driver.execute_script(ANSWER)
    assert violations(page.driver) == []


def test_sites_stand_by_number_not_by_rank_and_the_cautions_are_there():
    result = made_up_result(24)
    page = ballot_html(result)
    shown = [int(number) for number in re.findall(r"<legend>Site (\d+)", page)]
    assert shown == sorted(result.ranked["site_no"].head(12))
    assert shown != result.ranked["site_no"].head(12).tolist()
    assert "Call 811" in page
