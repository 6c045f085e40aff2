"""Rows of the evidence table on people: ballots, need, and what visits found."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.changes import desk_changes, sentences_of
from playsite.report.memo.evidence import Entry
from playsite.report.memo.need import need_figures, walks_of_children
from playsite.report.need import need_sentences, other_options

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.memo.readings import Readings

__all__ = ["ballot_entries", "need_entries", "visit_entries"]


def ballot_entries(readings: Readings) -> Iterator[Entry]:
    """Give who answered."""
    ballots, made_on = readings.result.ballots, readings.result.study.made_on
    if ballots is None:
        return
    for group, count in ballots.counts.items():
        yield Entry(
            "B",
            f"ballots counted, {group}",
            f"{count.ballots:,}",
            "counted",
            "ballots.csv",
            made_on,
        )
    if ballots.invited:
        share = 100 * ballots.counts["all"].ballots / ballots.invited
        yield Entry(
            "B",
            "people asked; share that answered",
            f"{ballots.invited:,}; {share:.0f}%",
            "as the study says",
            "study.toml",
            made_on,
        )
    yield Entry(
        "B",
        "left out because their number came before",
        f"{ballots.again:,}",
        "counted",
        "ballots.csv",
        made_on,
    )
    yield Entry(
        "B", "comments", f"{len(ballots.comments):,}", "counted", "the study's comments", made_on
    )
    places = "; ".join(
        f"{place or 'not said'} {count:,}" for place, count in ballots.places.items()
    )
    yield Entry(
        "B",
        "where voters live",
        f"{places}; {len(ballots.places)} places",
        "as they wrote",
        "ballots.csv",
        made_on,
    )


def need_entries(readings: Readings) -> Iterator[Entry]:
    """Give who would gain, and who stays without: the walks, and each row of the tables."""
    result = readings.result
    if result.need.empty:
        return

    def entry(what: str, value: str) -> Entry:
        how = "homes with children within the walk, by the census"
        source = "population, buildings, playgrounds; need.csv"
        return Entry("N", what, value, how, source, result.study.made_on)

    yield entry("who is counted", walks_of_children(result.study.units))
    for text in other_options(result):
        yield entry("other options", text)
    for site in readings.short_list:
        for text in need_sentences(result, str(site["parcel_id"])):
            yield entry(f"a playground at {readings.title(site)}", text)
    for name, value in need_figures(readings):
        yield entry(name, value)


def visit_entries(readings: Readings) -> Iterator[Entry]:
    """Give what visits changed."""
    result = readings.result
    if len(result.visits):
        count = int((result.visits["standing"] == "counts").sum())
        yield Entry(
            "X",
            "values found on visits that count",
            f"{count:,}",
            "counted",
            "visits.csv",
            result.study.made_on,
        )
    for text in sentences_of(desk_changes(result)) if len(result.visits) else ():
        yield Entry(
            "X",
            "change against the maps alone",
            text,
            "found on a visit",
            "visits.csv; changes.csv",
            result.study.made_on,
        )
