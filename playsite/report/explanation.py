"""Why a parcel stands where it does, or why it is out, in lines for a terminal."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING, Any

from playsite.errors import InputError
from playsite.problems import Problem
from playsite.report.ballot_words import comment_lines, site_ballot_sentence
from playsite.report.binding import (
    change_sentences,
    program_sentence,
    room_texts,
    shape_text,
)
from playsite.report.cost_words import COST_CAUTION, card_sentences
from playsite.report.earth import EARTH_CAUTION, earth_sentences
from playsite.report.firm_facts import FirmFacts
from playsite.report.firm_whole import firm_sentences
from playsite.report.firm_words import pair_sentences, site_sentences
from playsite.report.people_units import (
    area_text,
    in_readers_units,
    interval_text,
    margin_text,
    value_text,
)
from playsite.report.water import WATER_CAUTION, water_sentences
from playsite.report.wording import (
    condition_sentence,
    note_text,
    rank_text,
    reason_sentence,
    score_text,
    site_title,
    straight_text,
    visit_text,
    word_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from playsite.result import Result

__all__ = ["explanation_lines"]


def explanation_lines(
    result: Result, parcel_id: str, *, against: str | None = None
) -> Iterator[str]:
    """Say why a parcel stands where it does.

    Parameters
    ----------
    against
        Another parcel: then why here and not there.

    Raises
    ------
    InputError
        If there is no such parcel; names the nearest ids.
    """
    row = _row_of(result, parcel_id)
    return _lines(result, row, None if against is None else _row_of(result, against))


def _row_of(result: Result, parcel_id: str) -> dict[Any, Any]:
    rows = result.sites[result.sites["parcel_id"] == parcel_id].to_dict("records")
    if not rows:
        raise InputError([_no_such_parcel(result, parcel_id)])
    return dict(rows[0])


def _lines(
    result: Result, row: Mapping[Any, Any], other: Mapping[Any, Any] | None
) -> Iterator[str]:
    units, parcel_id = result.study.units, row["parcel_id"]
    yield f"{site_title(row)} (parcel {parcel_id})"
    yield f"{rank_text(row, result)}."
    if row["status"] != "ranked":
        yield reason_sentence(row, result)
    yield from _misses(result, parcel_id, units)
    yield from _scale(result, row)
    yield from _binding(result, parcel_id, units)
    for condition in _own(result.conditions, parcel_id):
        yield f"{condition_sentence(condition, units)} Source: {condition['source']}."
    if row["status"] in {"ranked", "not assessed"}:
        low, high = score_text(row["score_low"]), score_text(row["score_high"])
        known = f"{100 * row['known_share']:.0f} % of the weight is known"
        yield f"Score {score_text(row['score'])} of 100, from {low} to {high}; {known}."
    yield from _firm(result, row, other)
    yield ""
    yield "Measured at the pad:"
    for measure in _own(result.measurements, parcel_id):
        yield from _measure(result, measure)
    yield ""
    yield "What the rules took of this parcel:"
    for entry in _own(result.ledger, parcel_id):
        yield f"  {in_readers_units(entry['rule'], units)}: {area_text(entry['removed_m2'], units)} ({entry['source']})"
    yield ""
    yield "Screening only, not a survey. Call 811 before any digging."


def _firm(result: Result, row: Mapping[Any, Any], other: Mapping[Any, Any] | None) -> Iterator[str]:
    """How firm the place is, and against another site: why here and not there."""
    facts = FirmFacts(result)
    if other is not None:
        yield ""
        yield f"Against {site_title(other)}:"
        if {row["status"], other["status"]} == {"ranked"} and row["parcel_id"] != other[
            "parcel_id"
        ]:
            both = pair_sentences(facts, row["parcel_id"], other["parcel_id"])
            yield from (f"  {sentence}" for sentence in both)
        else:
            yield f"  {rank_text(other, result)}. {reason_sentence(other, result)}".rstrip()
    yield from filter(None, [site_ballot_sentence(result, row["parcel_id"])])
    yield from (f"  {line}" for line in comment_lines(result, str(row["parcel_id"])))
    said = site_sentences(facts, row["parcel_id"])
    if said:
        yield ""
        yield "How firm is this?"
        yield from (f"  {sentence}" for sentence in said)
        if row["rank"] == 1:
            yield from (f"  {each}" for each in firm_sentences(facts) if each not in said)


def _misses(result: Result, parcel_id: str, units: str) -> Iterator[str]:
    for miss in _own(result.misses, parcel_id):
        value = value_text(miss["value"], miss["unit"], units)
        limit = value_text(miss["limit"], miss["unit"], units)
        margin = margin_text(miss["margin"], miss["unit"], units)
        rule = in_readers_units(miss["rule"], units)
        yield f"  rule: {rule}; measured {value}; limit {limit}; short by {margin}"
        yield f"  source: {miss['source']}"


def _scale(result: Result, row: Mapping[Any, Any]) -> Iterator[str]:
    own = result.measurements
    own = own[(own["parcel_id"] == row["parcel_id"]) & (own["criterion"] == "fit")]
    if len(own):
        scale = float(own["value"].iloc[0])
        yield f"Largest scale of the pad that would fit: {scale:.3f} of its length and width."


def _binding(result: Result, parcel_id: str, units: str) -> Iterator[str]:
    """Shape and room of a pad that fits; of one that doesn't, what would let it."""
    pads = result.pads[result.pads["parcel_id"] == parcel_id]
    if len(pads) and pads["shape"].iloc[0]:
        yield shape_text(pads["shape"].iloc[0])
    rooms = room_texts(_own(result.rooms, parcel_id), units)
    if rooms:
        yield f"Room at its sides: {'; '.join(rooms)}."
    earth = earth_sentences(result, parcel_id, units)
    if earth:
        yield f"Earthwork: {' '.join(earth)} {EARTH_CAUTION}"
    water = water_sentences(result, parcel_id, units)
    if water:
        yield f"Storms: {' '.join(water)} {WATER_CAUTION}"
    cost = card_sentences(result, parcel_id)
    if cost:
        yield f"Cost, beside the score: {' '.join(cost)} {COST_CAUTION}"
    if not len(pads):
        yield from change_sentences(_own(result.relaxations, parcel_id), units)
        yield from filter(None, [program_sentence(result, parcel_id, units)])


def _measure(result: Result, measure: Mapping[Any, Any]) -> Iterator[str]:
    chosen = {each.name: each for each in result.criteria}[measure["criterion"]]
    units = result.study.units
    unit, spoken = measure["unit"], chosen.criterion.spoken
    value = value_text(measure["value"], unit, units, spoken)
    likely = interval_text(measure["low"], measure["high"], unit, units, spoken)
    more = "".join(f"; {said}" for said in (likely, note_text(measure)) if said)
    beside = straight_text(measure, units)
    beside = f" ({beside})" if beside else ""
    said = f"{chosen.criterion.plain}: {value}{beside}, {word_of(measure['score'])}{more}"
    yield f"  {in_readers_units(said, units)}"
    date = f", {measure['layer_date']}" if measure["layer_date"] else ""
    origin = visit_text(measure, result.study.units, spoken) or f"{measure['layer']}{date}"
    yield f"      from {origin}; {measure['source']}"


def _own(table: Any, parcel_id: str) -> list[dict[Any, Any]]:
    return list(table[table["parcel_id"] == parcel_id].to_dict("records"))


def _no_such_parcel(result: Result, parcel_id: str) -> Problem:
    ids = list(result.sites["parcel_id"])
    near = difflib.get_close_matches(parcel_id, ids, n=5, cutoff=0.3) or ids[:5]
    return Problem(
        f'there is no parcel "{parcel_id}" in this study.', f"The nearest ids: {', '.join(near)}."
    )
