"""Money in memo, card and report: the same words and numbers, and no more than is known."""

from dataclasses import replace

import pytest
from made_up_costs import book_of, cost_table, facts
from made_up_program import ONE_CLIMBER, pad_of
from report.made_up_result import made_up_result
from report.memo_file import opened_memo

from playsite._cost_settings import CharterTable, FundTable, ScheduleTable
from playsite.cost.charter import Limit
from playsite.cost.plan import plan_of
from playsite.cost.site_costs import costs_of
from playsite.report.cost_report import cost_lines
from playsite.report.cost_words import COST_CAUTION, card_sentences, site_costs
from playsite.report.explanation import explanation_lines
from playsite.report.money import money_text
from playsite.report.web_map.payload import payload

PAD = pad_of(ONE_CLIMBER)


def _priced(result, **given):
    cost = cost_table(**{"built": "2027-06", **given})
    book, ranked = book_of(cost), result.ranked
    sites = [
        facts(parcel, street_m=10.0 + 40 * at, measured={"restroom": 60.0 + 20 * at, "run_on": 0.0})
        for at, parcel in enumerate(ranked["parcel_id"])
    ]
    scores = dict(zip(ranked["parcel_id"], ranked["score"], strict=True))
    costs = costs_of(cost, book, PAD, sites, scores)
    money = {row["parcel_id"]: (row["p50"], row["p80"]) for row in costs.sites.to_dict("records")}
    plan = plan_of(
        sites,
        money,
        charter=CharterTable.model_validate(
            {
                "goals": ["Play for all"],
                "decides": "the council",
                "budget_cap": 600_000,
                "deadline": "2026-09",
                "off_limits": [ranked["parcel_id"].iloc[1]],
            }
        ),
        limits=[Limit("a restroom near", "restroom", "m", at_most=70.0)],
        funds=[FundTable(name="state grant", amount=200_000)],
        schedule=ScheduleTable.model_validate({"start": "2026-04-01"}),
        steps=book.steps,
    )
    return replace(result, costs=costs, plan=plan)


@pytest.fixture(scope="module")
def result():
    return _priced(made_up_result(8, statuses=("ranked",)))


@pytest.fixture(scope="module")
def memo(result, tmp_path_factory):
    document = opened_memo(result, tmp_path_factory.mktemp("memo"))
    cells = [cell.text for table in document.tables for row in table.rows for cell in row.cells]
    return [paragraph.text for paragraph in document.paragraphs], cells


def test_memo_card_and_command_tell_the_same_two_figures(result, memo):
    first = result.ranked["parcel_id"].iloc[0]
    row = site_costs(result.costs)[first]
    even, budget = money_text(row["p50"]), money_text(row["p80"])
    sentence = f"Even odds that it costs less than {even}; budget {budget}."
    texts, cells = memo
    assert any(sentence in text for text in texts)
    no = result.ranked["site_no"].iloc[0]
    assert any(
        text.startswith(f"Cost. Site {no}: even odds that it costs less than {even}")
        for text in texts
    )
    assert {even, budget} <= set(cells)
    assert sentence in card_sentences(result, first)
    site = next(site for site in payload(result)["sites"] if site["id"] == first)
    assert sentence in site["cost"]
    assert site["cost"][-1] == COST_CAUTION
    assert sentence in list(cost_lines(result))
    assert any(sentence in line for line in explanation_lines(result, first))


def test_what_is_not_known_is_named_wherever_a_figure_stands(result, memo):
    first = result.ranked["parcel_id"].iloc[0]
    said = "Not known, and in no figure: outlet pipe, step-free walk to the play area and wetland delineation."
    assert said in card_sentences(result, first)
    assert any(said in text for text in memo[0])
    assert said in list(cost_lines(result))


def test_the_memo_has_lines_lives_ways_charter_sources_and_steps(memo):
    texts, cells = memo
    for head in ("Background", "What it would cost", "Cost, line by line", "The surfacing over its life",
                 "Who puts the equipment together", "Who pays", "When it could open"):  # fmt: skip
        assert head in texts, head
    for cell in ("engineered wood fiber", "state grant", "bids and award", "supervised"):
        assert any(cell in text for text in cells), cell
    whole = " ".join(texts)
    assert "class 5, screening" in whole
    assert "one-call ticket (811)" in whole
    assert "is missed, even by even odds" in whole
    assert "Cost is in no score" in whole


def test_the_charter_is_held_against_each_site_in_words(memo):
    _, cells = memo
    assert "Not on land that is off limits" in cells
    assert any(text.startswith("Not met: 260 ft, asked 230 ft") for text in cells)
    assert any(text.startswith("Met: 200 ft, asked 230 ft") for text in cells)


def test_what_is_less_at_first_and_more_over_the_years_is_said(memo):
    whole = " ".join(memo[0])
    assert (
        "Of the others, sand and wood mulch would cost less at first, and more over the years."
        in whole
    )
    assert "impact test ($1,000 every 3 years)" in whole


def test_money_is_never_told_nearer_than_a_thousand(memo):
    told = [
        cell for cell in memo[1] if cell.startswith("$") and cell[1:].replace(",", "").isdigit()
    ]
    amounts = [int(cell[1:].replace(",", "")) for cell in told]
    assert len(amounts) > 20
    assert all(amount % 1000 == 0 for amount in amounts if amount >= 10_000)
    assert all(amount % 100 == 0 for amount in amounts)


def test_without_money_the_memo_says_so_in_one_sentence_and_the_card_nothing(tmp_path):
    result = made_up_result(8)
    texts = [paragraph.text for paragraph in opened_memo(result, tmp_path).paragraphs]
    assert "Cost was not worked out: the study has no [cost] table." in texts
    assert "What it would cost" not in texts
    assert all("cost" not in site for site in payload(result)["sites"])


def test_sites_that_are_not_known_alike_are_said_to_be(result):
    lines = list(cost_lines(result))
    assert not any("not known alike" in text for text in lines)
    sites = result.costs.sites.copy()
    sites.loc[0, "unknown"] = "underdrain"
    unlike = replace(result, costs=replace(result.costs, sites=sites))
    assert any("a site that is less known looks less dear" in text for text in cost_lines(unlike))


def test_in_metres_and_another_currency():
    given = {"currency": "CAD", "exchange": 1.37}
    lines = list(cost_lines(_priced(made_up_result(8, statuses=("ranked",), units="metres"), **given)))  # fmt: skip
    fiber = next(text for text in lines if text.startswith("engineered wood fiber  "))
    assert "m²" in fiber
    assert "C$" in fiber
    assert "in CAD of June 2027" in lines[0]
    assert not any(" sq ft" in text for text in lines if text.startswith("border curb"))
