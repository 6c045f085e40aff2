"""No number of the memo's text is without a row of the evidence table that holds it."""

from dataclasses import replace

import pandas as pd
import pytest
from made_up_costs import book_of, cost_table, facts
from made_up_program import ONE_CLIMBER, pad_of
from report.evidence_of_memo import NUMBER, cells_without_source, evidence, numbers_without_source
from report.made_up_result import made_up_result

from playsite._cost_settings import CharterTable, FundTable, ScheduleTable
from playsite.cost.plan import plan_of
from playsite.cost.site_costs import costs_of
from playsite.problems import Finding
from playsite.report.memo import memo_of
from playsite.report.memo.blocks import Paragraph, Table
from playsite.result import RELAXATION_COLUMNS


def priced(result):
    cost = cost_table(built="2027-06")
    book, ranked = book_of(cost), result.ranked
    sites = [
        facts(parcel, street_m=10.0 + 40 * at, measured={"restroom": 60.0 + 20 * at, "run_on": 0.0})
        for at, parcel in enumerate(ranked["parcel_id"])
    ]
    scores = dict(zip(ranked["parcel_id"], ranked["score"], strict=True))
    costs = costs_of(cost, book, pad_of(ONE_CLIMBER), sites, scores)
    money = {row["parcel_id"]: (row["p50"], row["p80"]) for row in costs.sites.to_dict("records")}
    charter = CharterTable.model_validate({"goals": ["Play for 45 children"], "budget_cap": 600_000, "deadline": "2026-09"})  # fmt: skip
    plan = plan_of(
        sites, money, charter=charter, limits=[], funds=[FundTable(name="grant", amount=200_000)],
        schedule=ScheduleTable.model_validate({"start": "2026-04-01"}), steps=book.steps,
    )  # fmt: skip
    return replace(result, costs=costs, plan=plan)


RESULTS = {
    "feet": made_up_result(findings=(Finding("12 trees lie in 3 streets", weight="loud"),)),
    "metres": made_up_result(units="metres"),
    "tied": made_up_result(tied=3),
    "three": made_up_result(6, statuses=("ranked", "screened out")),
    "none": made_up_result(9, statuses=("screened out", "does not fit", "not assessed")),
    "priced": priced(made_up_result(8, statuses=("ranked",))),
}


ADDRESSES = {
    str(name)
    for result in RESULTS.values()
    for name in result.sites["name"]
    if NUMBER.search(str(name))
}
"""Lots are named by their addresses."""


@pytest.fixture(scope="module", params=RESULTS)
def memo(request):
    return memo_of(RESULTS[request.param])


def test_every_number_of_the_text_stands_in_a_row_that_its_keys_name(memo):
    assert list(numbers_without_source(memo, ADDRESSES)) == []


def test_every_number_of_body_tables_stands_in_a_row_that_their_keys_name(memo):
    assert list(cells_without_source(memo, ADDRESSES)) == []


def test_every_row_says_how_it_was_found_and_from_what(memo):
    tables = [block for block in memo.blocks if isinstance(block, Table) and block.is_evidence]
    assert len(tables) == 1
    for row in tables[0].rows:
        assert all(str(cell).strip() for cell in row[1:4]), row


def test_every_key_leads_to_a_row(memo):
    held = evidence(memo)
    used = {key for block in memo.blocks for key in getattr(block, "evidence", ())}
    assert used <= set(held)


def test_a_number_without_a_source_would_be_found():
    memo = memo_of(RESULTS["none"])
    stray = Paragraph("It is 4,711 ft away.", evidence=("L",))
    found = [
        lost
        for lost, _, _ in numbers_without_source(
            replace(memo, blocks=(*memo.blocks, stray)), ADDRESSES
        )
    ]
    assert found == [["4,711"]]
    table = Table("Strays", ("What",), (("It is 4,711 ft away.",),), (10.0,), evidence=("L",))
    assert list(cells_without_source(replace(memo, blocks=(table, *memo.blocks)), ADDRESSES)) == [
        (["4,711"], "Strays")
    ]


def too_tight(parcels, *, statuses):
    """Give a result of lots, of which each that is too tight is told by how much."""
    result = made_up_result(parcels, statuses=statuses, base_map=False)
    tight = result.sites.loc[result.sites["status"] == "does not fit", "parcel_id"]
    rows = [(lot, "parcel", "", "", 0.0, 0.0, 3.0 + at) for at, lot in enumerate(tight)]
    return replace(result, relaxations=pd.DataFrame(rows, columns=[*RELAXATION_COLUMNS]))


@pytest.mark.parametrize("best", ["ranked", "screened out"])
def test_of_parcels_that_the_text_does_not_name_the_evidence_has_no_rows(best):
    # thirteen thousand lots of a city would fill two hundred pages
    few, many = (
        memo_of(too_tight(parcels, statuses=(best, *["does not fit"] * 7)))
        for parcels in (200, 400)
    )
    few, many = (
        [
            row[1]
            for block in memo.blocks
            if getattr(block, "is_evidence", False)
            for row in block.rows
        ]
        for memo in (few, many)
    )
    assert sum(what.startswith("what would let it fit") for what in few) == 8
    assert len(many) == len(few)
