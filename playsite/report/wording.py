"""Every sentence that people read, for map and memo alike: short, active, no software words."""

from __future__ import annotations

import datetime as dt
import math
import re
from typing import TYPE_CHECKING, Any, cast

import pandas as pd

from playsite.criteria._spoken import Spoken
from playsite.report.firm_facts import FirmFacts
from playsite.report.people_units import (
    area_text,
    depth_text,
    distance_text,
    in_readers_units,
    margin_text,
    percent_text,
    value_text,
)
from playsite.units import Unit

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from playsite.criteria._contract import Criterion
    from playsite.criteria._registry import Chosen
    from playsite.result import Result

    Row = Mapping[str, Any] | pd.Series[Any]

__all__ = [
    "NOT_A_SURVEY",
    "STATUS_TEXTS",
    "WORDS",
    "answer_parts",
    "answer_sentence",
    "area_text",
    "condition_sentence",
    "data_dates",
    "date_text",
    "distance_text",
    "first_rule",
    "in_readers_units",
    "is_missing",
    "joined",
    "knot_text",
    "miss_sentence",
    "nearest_miss",
    "nearest_miss_sentence",
    "note_text",
    "ordinal",
    "percent_text",
    "plain_cell",
    "points",
    "rank_text",
    "reason_sentence",
    "records",
    "score_range_text",
    "score_text",
    "shared_condition_sentence",
    "short_reason",
    "site_title",
    "standing_text",
    "tally_sentence",
    "value_in_words",
    "value_text",
    "verdict_title",
    "visit_text",
    "word_of",
]

WORDS = {"strong": "75 and up", "fair": "50 to 74", "weak": "under 50", "unknown": "no value"}
"""The words for scores, each with its range; 50 is what the group called acceptable."""

STATUS_TEXTS = {
    "ranked": "ranked",
    "does not fit": "too tight for the play area",
    "screened out": "screened out",
    "not assessed": "could not be assessed",
}
"""How a status is said to people."""

NOT_A_SURVEY = ("Screening only, not a survey.", "Call 811 before any digging.")
"""The two sentences on every page."""

_SMALL = ("No", "One", "Two", "Three")


def points(score: float | None) -> int | None:
    """Score of 0 to 1 as whole points of 100, half up; missing stays missing.

    Examples
    --------
    >>> points(0.745), points(0.7449), points(None), points(float("nan"))
    (75, 74, None, None)
    """
    if score is None or not math.isfinite(score):
        return None
    return math.floor(round(score * 100, 7) + 0.5)


def score_text(score: float | None) -> str:
    """Score as people read it: whole points, or "unknown"."""
    whole = points(score)
    return "unknown" if whole is None else str(whole)


def score_range_text(low: float | None, high: float | None) -> str:
    """Range beside a score; empty where there is none to tell.

    Examples
    --------
    >>> score_range_text(0.70, 0.79)
    'likely 70 to 79'
    """
    least, most = points(low), points(high)
    if least is None or most is None or least == most:
        return ""
    return f"likely {least} to {most}"


def word_of(score: float | None, low: float | None = None, high: float | None = None) -> str:
    """Word for a score: rounded first, then named.

    A range of more than 50 points is "unknown"; one that crosses a break says so.

    Examples
    --------
    >>> word_of(0.745), word_of(0.5), word_of(0.494), word_of(None)
    ('strong', 'fair', 'weak', 'unknown')
    >>> word_of(0.7, 0.6, 0.8), word_of(0.5, 0.1, 0.7)
    ('fair, perhaps strong', 'unknown')
    """
    whole, least, most = points(score), points(low), points(high)
    if whole is None:
        return "unknown"
    word = _word(whole)
    if least is None or most is None:
        return word
    if most - least > 50:
        return "unknown"
    others = [other for other in (_word(least), _word(most)) if other != word]
    return f"{word}, perhaps {' or '.join(dict.fromkeys(others))}" if others else word


def _word(whole: int) -> str:
    return "strong" if whole >= 75 else "fair" if whole >= 50 else "weak"


def ordinal(number: int) -> str:
    """Rank in a text.

    Examples
    --------
    >>> [ordinal(n) for n in (1, 2, 3, 4, 11, 21, 112, 7001)]
    ['1st', '2nd', '3rd', '4th', '11th', '21st', '112th', '7,001st']
    """
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number:,}{'th' if number % 100 in {11, 12, 13} else ending}"


def joined(items: Sequence[str]) -> str:
    """Items as a list in a sentence.

    Examples
    --------
    >>> joined(["Site 4", "Site 9", "Site 1"])
    'Site 4, Site 9 and Site 1'
    """
    return " and ".join(filter(None, [", ".join(items[:-1]), *items[-1:]]))


def site_title(row: Row) -> str:
    """Name a site by number and name: "Site 4, Mill Lane green"."""
    name = plain_cell(row["name"])
    return f"Site {row['site_no']}, {name}" if name else f"Site {row['site_no']}"


def answer_parts(result: Result) -> list[tuple[str, bool]]:
    """Give the answer in pieces; those marked true are numbers of sites, set bold."""
    ranked = result.ranked
    if ranked.empty:
        return [("No parcel passes every rule.", False)]
    if not result.shows_order:
        return _too_few(ranked)
    first = ranked[ranked["rank"] == ranked["rank"].min()]
    if len(first) > 4:
        return [(f"{len(first)} sites are tied for first.", False)]
    sites = [f"Site {number}" for number in first["site_no"]]
    if len(first) > 1:
        return [*_bold_list(sites), (" are tied.", False)]
    name = plain_cell(first.iloc[0]["name"])
    return [
        (sites[0], True),
        (f", {name}, comes first" if name else " comes first", False),
        *_but_close(result),
    ]


def _but_close(result: Result) -> list[tuple[str, bool]]:
    """Say that the lead is no lead where present data can't tell the next ones from the first."""
    facts = FirmFacts(result)
    near = [facts.names[parcel] for parcel in facts.too_close]
    if not near:
        return [(".", False)]
    if len(near) > 3:
        return [(f", but {len(near)} others are too close to call.", False)]
    verb = "is" if len(near) == 1 else "are"
    return [(", but ", False), *_bold_list(near), (f" {verb} too close to call.", False)]


def _too_few(ranked: pd.DataFrame) -> list[tuple[str, bool]]:
    if len(ranked) == 1:
        row = ranked.iloc[0]
        name = plain_cell(row["name"])
        head = (f"Site {row['site_no']}", True)
        return [
            ("One parcel passes every rule: ", False),
            head,
            (f", {name}." if name else ".", False),
        ]
    return [(f"{_SMALL[len(ranked)]} parcels pass every rule. Compare them side by side.", False)]


def _bold_list(sites: list[str]) -> list[tuple[str, bool]]:
    parts: list[tuple[str, bool]] = []
    for place, site in enumerate(sites):
        if place:
            parts.append((" and " if place == len(sites) - 1 else ", ", False))
        parts.append((site, True))
    return parts


def answer_sentence(result: Result) -> str:
    """Answer in one sentence: who comes first, who is tied, or that there is no order."""
    return "".join(text for text, _ in answer_parts(result))


def tally_sentence(result: Result) -> str:
    """How many parcels were looked at, and what became of them; exclusions come first."""
    count = result.sites["status"].value_counts()
    ways = {
        "screened out": ("is screened out", "are screened out"),
        "does not fit": ("is too tight for the play area", "are too tight for the play area"),
        "not assessed": ("could not be assessed", "could not be assessed"),
    }
    gone = [
        f"{count[status]:,} {ways[status][int(count[status] > 1)]}"
        + (_by_reason(result) if status == "screened out" else "")
        for status in ways
        if status in count
    ]
    total, ranked = len(result.sites), int(count.get("ranked", 0))
    looked = f"We looked at {total:,} parcel{'s' if total != 1 else ''}."
    rest = (
        "None is ranked." if not ranked else f"{ranked:,} {'is' if ranked == 1 else 'are'} ranked."
    )
    return " ".join(filter(None, [looked, f"{', '.join(gone)}." if gone else "", rest]))


def _by_reason(result: Result) -> str:
    """Say what screened parcels out, each under the first rule that did: " (2 too steep, …)"."""
    out = result.sites.loc[result.sites["status"] == "screened out", "parcel_id"]
    first = result.misses[result.misses["parcel_id"].isin(out)].drop_duplicates("parcel_id")
    count = first["short"].map(plain_cell).replace("", "for other reasons").value_counts()
    if len(count) == 1:
        return f" ({count.index[0]})"
    said = [f"{number:,} {words}" for words, number in count.items()]
    return f" ({', '.join(said)})" if said else ""


def rank_text(row: Row, result: Result) -> str:
    """Where a site stands: "3rd of 13", "Tied for 1st with Site 9"; in words where out."""
    ranked = result.ranked
    sharing = ranked.loc[ranked["rank"] == row["rank"], "site_no"] if len(ranked) else []
    return standing_text(row, len(ranked), list(sharing), in_order=result.shows_order)


def standing_text(row: Row, ranked: int, sharing: Sequence[int], *, in_order: bool) -> str:
    """Where a site stands, for callers that know the rest of the table.

    Parameters
    ----------
    row
        One row of ``result.sites``.
    ranked
        How many sites are ranked.
    sharing
        Numbers of all sites of the row's rank, its own among them.
    in_order
        Whether ranks are told at all.
    """
    if row["status"] != "ranked":
        return STATUS_TEXTS[row["status"]].capitalize()
    if not in_order:
        return "Passes every rule; with so few sites no order is given"
    others = [number for number in sharing if number != row["site_no"]]
    place = ordinal(int(row["rank"]))
    if not others:
        return f"{place} of {ranked:,}"
    if len(others) > 3:
        return f"Tied for {place} with {len(others):,} other sites"
    return f"Tied for {place} with {joined([f'Site {number}' for number in others])}"


def verdict_title(row: Row) -> str:
    """Head of the verdict on a parcel: "118 Larch Street: too tight for the play area"."""
    who = plain_cell(row["name"]) or f"Site {row['site_no']}"
    return f"{who}: {STATUS_TEXTS[row['status']]}"


def reason_sentence(
    row: Row, result: Result, *, units: str | None = None, misses: Sequence[Row] | None = None
) -> str:
    """Why a parcel is not ranked, with value, limit and margin; empty for a ranked one.

    Parameters
    ----------
    row
        One row of ``result.sites``.
    units
        ``"feet"`` or ``"metres"``; the study's own when absent.
    misses
        The parcel's rows of ``result.misses``, where the caller has them at hand.
    """
    if row["status"] == "ranked":
        return ""
    units = units or result.study.units
    if misses is None:
        misses = records(result.misses[result.misses["parcel_id"] == row["parcel_id"]])
    given = _sentence(in_readers_units(plain_cell(row["reason"]), units))
    if row["status"] == "does not fit":
        return _too_tight(misses or (), given)
    if row["status"] == "screened out" and misses:
        return " ".join(miss_sentence(miss, units) for miss in misses)
    return given or f"{STATUS_TEXTS[row['status']].capitalize()}."


def miss_sentence(miss: Row, units: str) -> str:
    """One screen that a parcel's best place fails: rule, value, limit, margin."""
    rule, unit = in_readers_units(plain_cell(miss["rule"]), units), miss["unit"]
    value = value_text(miss["value"], unit, units)
    limit = value_text(miss["limit"], unit, units)
    missed = margin_text(miss["margin"], unit, units)
    tail = f", missed by {missed}" if missed != "unknown" else ""
    return f"{_capital(rule)}: {value} measured, the limit is {limit}{tail}."


def first_rule(row: Row, misses: Sequence[Row], units: str) -> str:
    """Rule that a parcel is counted under: the first that took it out; empty for a ranked one."""
    if row["status"] == "screened out" and misses:
        return in_readers_units(plain_cell(misses[0]["rule"]), units)
    return "" if row["status"] == "ranked" else STATUS_TEXTS[row["status"]]


def short_reason(row: Row, misses: Sequence[Row]) -> str:
    """Two words for the map; empty for a ranked parcel."""
    if row["status"] == "does not fit":
        return "too tight"
    if row["status"] == "screened out" and misses:
        return plain_cell(misses[0]["short"]) or "screened out"
    return "" if row["status"] == "ranked" else row["status"]


def _too_tight(misses: Sequence[Row], given: str) -> str:
    scales = [miss["value"] for miss in misses if miss["unit"] == Unit.RATIO]
    known = [scale for scale in scales if scale is not None and math.isfinite(scale)]
    if not known:
        return given or "The play area does not fit at any angle."
    if known[0] <= 0:
        return "No land is left to build on, so no play area fits."
    share = min(math.floor(known[0] * 100 + 0.5), 99)  # never "100%" of one that does not fit
    return f"The largest play area that fits is {share}% of the length and width needed."


def nearest_miss(result: Result) -> Row | None:
    """Where no parcel is ranked: the one that misses by the smallest part of its limit."""
    if len(result.ranked) or result.misses.empty:
        return None
    part = (result.misses["margin"] / result.misses["limit"].abs()).abs()
    worst = part.groupby(result.misses["parcel_id"]).max().dropna()  # as far out as its worst miss
    if worst.empty:
        return None
    return records(result.sites[result.sites["parcel_id"] == worst.idxmin()])[0]


def nearest_miss_sentence(result: Result, *, units: str | None = None) -> str:
    """Say which parcel misses by least, and why; empty where any is ranked."""
    row = nearest_miss(result)
    if row is None:
        return ""
    return f"The nearest miss is {site_title(row)}. {reason_sentence(row, result, units=units)}"


def condition_sentence(condition: Row, units: str) -> str:
    """Say what a ranked site needs: "Ranked, only with a barrier: nearer to a street …"."""
    return _condition(condition, units, _condition_values(condition, units)[0])


def _condition(condition: Row, units: str, value: str) -> str:
    needs = plain_cell(condition["needs"]).removeprefix("only with ")
    rule = in_readers_units(plain_cell(condition["rule"]), units)
    limit = _condition_values(condition, units)[1]
    return f"Ranked, only with {needs}: {rule} ({value}; without it at least {limit})."


def _condition_values(condition: Row, units: str) -> tuple[str, str]:
    """Value and limit; a share of what is required as people read it, a percentage."""
    unit, times = condition["unit"], 1
    if unit == Unit.RATIO:
        unit, times = Unit.PERCENT, 100
    given, least = (value_text(times * condition[name], unit, units) for name in ("value", "limit"))
    return given, least


def shared_condition_sentence(conditions: Sequence[Row], units: str) -> str:
    """One remedy for all sites that need it by one rule, each with its own value."""
    values = joined(list(dict.fromkeys(_condition_values(row, units)[0] for row in conditions)))
    return _condition(conditions[0], units, values)


def value_in_words(criterion: Criterion, value: float | None, units: str) -> str:
    """Measured thing and its value: "walk to an open restroom: 290 ft"."""
    said = value_text(value, criterion.unit, units, criterion.spoken)
    return f"{in_readers_units(criterion.plain, units)}: {said}"


_FINE_M = 3.0  # whole feet would make one number of two knots


def knot_text(chosen: Chosen, at: float, units: str, *, in_words: bool = True) -> str:
    """Where a knot of a criterion's curve stands: as set, since a rounded 1.15 would be another rule.

    Parameters
    ----------
    in_words
        Whether it is said in the criterion's own words, or in figures alone.
    """
    curve, spoken = chosen.curve, chosen.criterion.spoken if in_words else Spoken()
    if curve.reads or curve.unit != chosen.criterion.unit:
        spoken = Spoken(form=curve.form if in_words else "")
    if curve.unit == Unit.METRE and at < _FINE_M:
        return depth_text(at, units)
    if curve.unit == Unit.RATIO:
        return (spoken.form or "{}").format(f"{at:g} times")
    return value_text(at, curve.unit, units, spoken)


def data_dates(result: Result, kinds: Sequence[str] = ("elevation", "parcels")) -> str:
    """When the data is from: "Elevation 2023, parcels 2025."; says so where a date is missing."""
    layers = result.layers
    said = []
    for kind in kinds:
        own = layers[layers["kind"] == kind]
        if len(own):
            dates = sorted({plain_cell(date) or "of unknown date" for date in own["date"]})
            said.append(f"{kind.replace('_', ' ')} {joined(dates)}")
    return _sentence(", ".join(said))


def visit_text(row: Row, units: str, spoken: Spoken | None = None) -> str:
    """Who measured a value in the field, when and how, and what the map says; empty where nobody did.

    Parameters
    ----------
    row
        One row of ``result.measurements``.
    spoken
        Words that its criterion has for its values.
    """
    if plain_cell(row["origin"]) != "field":
        return ""
    who, how = plain_cell(row["layer"]), plain_cell(row["method"])
    said = value_text(row["map_value"], row["unit"], units, spoken)
    when = date_text(plain_cell(row["layer_date"]))
    by, means = f" by {who}" if who else "", f" ({how})" if how else ""
    return f"site visit of {when}{by}{means}; the map says {said}"


def straight_text(row: Row, units: str) -> str:
    """Straight distance beside a way or a walk: "410 ft straight"; empty where there is none.

    Parameters
    ----------
    row
        One row of ``result.measurements``.
    """
    straight_m = row["straight_m"]
    if plain_cell(row["origin"]) == "field" or is_missing(straight_m) or math.isinf(straight_m):
        return ""
    straight = distance_text(straight_m, units)
    return "" if straight == distance_text(row["value"], units) else f"{straight} straight"


def records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows of a table, one mapping of column to cell each."""
    return cast("list[dict[str, Any]]", frame.to_dict("records"))


def is_missing(value: Any) -> bool:
    """Whether a cell holds nothing: None, NaN, NA."""
    return value is None or bool(pd.isna(value))


def date_text(date: str) -> str:
    """Day in words, "3 March 2026"; what is no such day stays as it was written.

    Examples
    --------
    >>> date_text("2026-03-03"), date_text("spring 2026")
    ('3 March 2026', 'spring 2026')
    """
    try:
        day = dt.date.fromisoformat(date[:10])
    except ValueError:
        return date
    return f"{day.day} {day:%B} {day.year}"


def plain_cell(value: object) -> str:
    """Text of a cell; a missing one is empty, never the word "nan".

    Examples
    --------
    >>> plain_cell(None), plain_cell(float("nan")), plain_cell(" Mill Lane ")
    ('', '', 'Mill Lane')
    """
    return "" if is_missing(value) else str(value).strip()


def note_text(row: Row) -> str:
    """Note of a measurement as it stands behind its value, which says itself where it is unknown.

    Examples
    --------
    >>> note_text({"note": "unknown: the study has no layer of drinking_water"})
    'the study has no layer of drinking water'
    """
    note = plain_cell(row["note"]).removeprefix("unknown: ")
    return re.sub(r"(?<=[a-z])_(?=[a-z])", " ", note)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _sentence(text: str) -> str:
    return "" if not text else _capital(text) + ("" if text.endswith((".", "!", "?")) else ".")
