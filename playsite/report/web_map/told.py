"""What a card says of a parcel in sentences: cost, conditions, what was taken off, who would gain."""

from __future__ import annotations

from collections import defaultdict
from functools import partial
from typing import TYPE_CHECKING, Any

from playsite.report import wording
from playsite.report.ballot_words import site_ballot_sentence
from playsite.report.binding import (
    MOST_CHANGES,
    by_parcel,
    change_sentences,
    program_sentence,
    shape_text,
)
from playsite.report.cost_words import COST_CAUTION, card_sentences, site_costs
from playsite.report.firm_facts import criterion_name
from playsite.report.money import money_text
from playsite.report.need import FAIRNESS, need_sentences, other_options
from playsite.report.plain_text import one_line
from playsite.report.web_map.texts import said
from playsite.report.wording import in_readers_units, is_missing, records

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd

    from playsite.report.web_map.texts import Texts
    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = [
    "by_parcel_rows",
    "comments",
    "conditions",
    "costs",
    "ledger",
    "need",
    "other_shapes",
    "paragraph",
    "prices",
    "residents",
    "would_fit",
]

LEAST_REMOVED_M2 = 0.5
MOST_COMMENTS, LONGEST_COMMENT = 20, 300


def costs(result: Result) -> dict[Any, list[str]]:
    """What each priced site would cost; on the map beside the score, never in it."""
    parcels = [] if result.costs is None else list(result.costs.sites["parcel_id"])
    return {parcel: [*card_sentences(result, str(parcel)), COST_CAUTION] for parcel in parcels}


def prices(result: Result) -> dict[Any, list[str]]:
    """Give even odds and budget of each priced site, for a table."""
    costs = result.costs
    rows = {} if costs is None else site_costs(costs)
    return {
        parcel: [money_text(row[share], costs.currency) for share in ("p50", "p80")]
        for parcel, row in rows.items()
        if costs is not None
    }


def residents(result: Result) -> dict[Any, str]:
    """Give what the ballots say of each site that any of them, or a comment, names."""
    ballots = result.ballots
    if ballots is None:
        return {}
    named = dict.fromkeys([*ballots.counts["all"].table.index, *ballots.comments["parcel_id"]])
    return {parcel: site_ballot_sentence(result, parcel) for parcel in named}


def comments(result: Result) -> dict[Any, list[list[str]]]:
    """Give residents' own words on each site, the first ones, and what each is about."""
    found: dict[Any, list[list[str]]] = defaultdict(list)
    for row in records(result.ballots.comments) if result.ballots else ():
        if len(found[row["parcel_id"]]) < MOST_COMMENTS:
            about = criterion_name(row["criterion"]) if row["criterion"] else ""
            found[row["parcel_id"]].append([about, one_line(row["comment"], LONGEST_COMMENT)])
    return found


def would_fit(result: Result) -> dict[Any, list[Any]]:
    """Give each parcel that is too tight what would let the pad fit, or which program would."""
    changes = by_parcel(result.relaxations)
    tight = result.sites.loc[result.sites["status"] == "does not fit", "parcel_id"]
    return {
        parcel: [
            text
            for text in (
                *(said(partial(_change, row)) for row in changes.get(parcel, [])[:MOST_CHANGES]),
                said(partial(program_sentence, result, parcel)),
            )
            if text
        ]
        for parcel in tight
    }


def _change(row: Row, units: str) -> str:
    return change_sentences([row], units)[0]


def paragraph(
    result: Result,
    table: pd.DataFrame,
    sentences: Callable[[Result, str, str], list[str]],
    caution: str,
) -> dict[Any, list[Any]]:
    """Give what a table says of each of its parcels in one paragraph, and its caution."""

    def text(parcel: str, units: str) -> str:
        return " ".join(sentences(result, parcel, units))

    parcels = dict.fromkeys(table["parcel_id"])
    return {parcel: [said(partial(text, parcel)), caution] for parcel in parcels}


def need(result: Result) -> dict[Any, list[str]]:
    """Give who would gain at each of the foremost sites, and what it is held against."""
    parcels = dict.fromkeys(result.need["parcel_id"])
    found = {parcel: need_sentences(result, parcel) for parcel in parcels if parcel}
    rest = [*other_options(result), FAIRNESS]
    return {parcel: [*own, *rest] for parcel, own in found.items()}


def other_shapes(result: Result) -> dict[Any, str]:
    """Give the shape in which the play area fits, where it is not the one looked for first."""
    pads = result.pads
    return {
        parcel: shape_text(shape)
        for parcel, shape in zip(pads["parcel_id"], pads["shape"], strict=True)
        if shape
    }


def conditions(result: Result) -> dict[Any, list[Any]]:
    """Give what must be done at a site for it to stay ranked."""
    return {
        parcel: [said(partial(wording.condition_sentence, row)) for row in rows]
        for parcel, rows in by_parcel_rows(result.conditions).items()
    }


def ledger(result: Result, texts: Texts) -> dict[Any, list[list[int]]]:
    """Give what each rule took off a parcel: places of the rule's words and of the area's."""
    found: dict[Any, list[list[int]]] = defaultdict(list)
    for row in records(result.ledger):
        if is_missing(row["removed_m2"]) or row["removed_m2"] < LEAST_REMOVED_M2:
            continue
        rule = said(partial(in_readers_units, wording.plain_cell(row["rule"])))
        area = said(partial(wording.area_text, row["removed_m2"]))
        found[row["parcel_id"]].append([texts.place(rule), texts.place(area)])
    return found


def by_parcel_rows(frame: pd.DataFrame) -> dict[Any, list[Row]]:
    """Give the rows of a table by their parcel, in its order."""
    found: dict[Any, list[Row]] = defaultdict(list)
    for row in records(frame):
        found[row["parcel_id"]].append(row)
    return found
