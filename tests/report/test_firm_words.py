"""How firm a ranking is, in words: on the page, in the memo and on the terminal alike."""

import re

import pandas as pd
import pytest
from report.made_up_firm import NAMES, firm_result
from report.memo_file import opened_memo

from playsite.errors import InputError
from playsite.report.explanation import explanation_lines
from playsite.report.firm_facts import FirmFacts
from playsite.report.firm_whole import firm_sentences, group_sentences
from playsite.report.firm_words import pair_sentences, site_sentences
from playsite.report.tables import write_tables
from playsite.report.web_map.page import page_html
from playsite.report.web_map.payload import payload
from playsite.report.wording import answer_sentence

FIRST, SECOND, THIRD = "P-00001", "P-00002", "P-00003"
NEAR = [(0.9, 0.4, 0.6), (0.9, 0.4, 0.59), (0.4, 0.3, 0.2), (0.2, 0.1, 0.1)]


@pytest.fixture(scope="module")
def clear():
    return firm_result()


@pytest.fixture(scope="module")
def near():
    return firm_result(NEAR, error=0.2)


def _said(result, parcel):
    return " ".join(site_sentences(FirmFacts(result), parcel))


def test_a_clear_lead_is_said_plainly_and_a_near_tie_never(clear, near):
    assert answer_sentence(clear).endswith("comes first.")
    assert answer_sentence(near).endswith("comes first, but Site 2 is too close to call.")
    assert "not separable on present data" in _said(near, FIRST)
    assert "not separable on present data" in _said(near, SECOND)
    assert "not separable" not in _said(clear, FIRST)


def test_the_same_near_tie_stands_on_the_page_in_the_memo_and_on_the_terminal(near, tmp_path):
    memo = " ".join(each.text for each in opened_memo(near, tmp_path).paragraphs)
    assert "too close to call" in memo
    assert "How firm is this?" in memo
    assert "too close to call" in re.sub(r"<[^>]+>", "", page_html(near).split("</h1>")[0])
    lines = "\n".join(explanation_lines(near, SECOND, against=FIRST))
    assert "Against Site 1" in lines
    assert "not separable on present data" in lines
    data = payload(near)
    assert data["firm"]["close"] == [SECOND]
    assert [site["id"] for site in data["sites"] if "Too close to call" in site["firm"][0][0]] == [
        FIRST,
        SECOND,
    ]


def test_the_lever_says_the_weight_that_was_worked_by_hand(clear):
    lever = firm_sentences(FirmFacts(clear))[0]
    assert "Still Site 1 until grade counts 2.5 times as much as now (then Site 2 leads)" in lever


def test_what_is_dominated_and_what_would_change_the_first_place_is_said_of_the_whole(clear):
    said = firm_sentences(FirmFacts(clear))
    beaten = next(sentence for sentence in said if sentence.startswith("Whatever the weights"))
    assert "Site 3 never before Site 2; Site 4 never before Site 1. The one before" in beaten
    # without fit, worked by hand: (.2 x .4 + .3 x .6) / .5 is less than (.2 x .8 + .3 x .6) / .5
    assert "Site 2 comes first instead if fit is left out." in said
    assert "Site 2 comes first instead if the layer of parcels is left out." in said
    assert "Site 1 stays first if any line from value to score is moved by a fifth." in said


def test_why_one_is_ahead_and_where_the_other_scores_higher(clear):
    said = pair_sentences(FirmFacts(clear), SECOND, FIRST)
    assert said[0] == "Site 1 is ahead of Site 2 by 12 points: fit (20.0)."
    assert said[1] == "Site 2 scores higher on grade (8.0)."
    assert any("grade counts 2.5 times" in sentence for sentence in said)


def test_a_dominated_site_is_said_to_be_and_is_never_first(clear):
    row = FirmFacts(clear).robustness[THIRD]
    assert row["dominated_by"] == SECOND
    assert row["rank_1_share"] == 0
    assert "no weights put this site before it" in _said(clear, THIRD)
    assert "no weights put this site" not in _said(clear, SECOND)


def test_the_visit_that_settles_a_near_tie_is_told_with_its_chance(near):
    said = _said(near, FIRST)
    best = near.firm.next_measurements.iloc[0]
    assert best["criterion"] == "fit"  # half of the weight, and as much in doubt as the others
    assert "One visit would do most to settle it: fit at Site" in said
    assert re.search(
        r"After it the two can be told apart with a chance of \d\d%; it turns their order with one of "
        r"(2|3|4)\d%\.",
        said,
    )


def test_with_too_few_sites_no_order_and_no_firmness_is_told():
    few = firm_result([(0.9, 0.4, 0.6), (0.5, 0.8, 0.6), (0.2, 0.2, 0.2)])
    assert firm_sentences(FirmFacts(few)) == []
    assert site_sentences(FirmFacts(few), FIRST) == []
    assert len(few.firm.robustness) == 3


def test_a_shared_lead_has_no_lever(tmp_path):
    tied = firm_result([(0.9, 0.4, 0.6), (0.9, 0.4, 0.6), (0.4, 0.3, 0.2), (0.2, 0.1, 0.1)])
    assert answer_sentence(tied) == "Site 1 and Site 2 are tied."
    assert not any(sentence.startswith("Still") for sentence in firm_sentences(FirmFacts(tied)))
    memo = " ".join(each.text for each in opened_memo(tied, tmp_path).paragraphs)
    assert "The first place is shared" in memo


def test_against_a_parcel_that_is_not_there_names_the_nearest(clear):
    with pytest.raises(InputError, match="P-00001"):
        list(explanation_lines(clear, FIRST, against="P-0001"))


MEMBERS = pd.DataFrame(
    [[0.5, 0.2, 0.3, 0, 0, 0], [0.1, 0.8, 0.1, 0, 0, 0], [0.7, 0.1, 0.2, 0, 0, 0]],
    columns=NAMES,
    index=["A", "B", "C"],
)


def test_members_who_would_choose_another_site_are_told(tmp_path):
    group = firm_result(members=MEMBERS)
    facts = FirmFacts(group)
    # under B the sites have .47, .75, .655 (worked by hand)
    assert facts.member_ranks.loc[FIRST].tolist() == [1, 3, 1]
    said = " ".join(group_sentences(facts))
    assert "first are: Site 1 for 2 and Site 2 for 1" in said
    assert "first for 2 of 3, at worst 3rd" in _said(group, FIRST)
    # greatest regret of the first: .8 x .4 - .1 x .4 = .28, under B
    regret = facts.robustness[FIRST]["regret_max"]
    assert regret == pytest.approx(0.28, abs=1e-9)
    tables = opened_memo(group, tmp_path).tables
    heads = [[cell.text for cell in table.rows[0].cells] for table in tables]
    own = tables[heads.index(["Member", "First", "Second", "Third"])]
    assert [row.cells[1].text for row in own.rows[1:]] == ["Site 1", "Site 2", "Site 1"]
    write_tables(group, tmp_path)
    rows = pd.read_csv(tmp_path / "weights.csv")
    assert rows.groupby("member")["weight"].sum().tolist() == pytest.approx([1, 1, 1])
