"""The land that was considered: which rule left out how much of it, and, parcel by parcel, why."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from playsite.report.memo.blocks import Heading, Paragraph, Table
from playsite.report.memo.exclusions_map import exclusions_map, rules_taken
from playsite.report.memo.readings import rows_of
from playsite.report.memo.widths import shares
from playsite.report.people_units import area_text
from playsite.report.wording import (
    STATUS_TEXTS,
    first_rule,
    in_readers_units,
    joined,
    reason_sentence,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings
    from playsite.result import Result

__all__ = ["land", "left_out_rules", "nearest_misses", "parcels_out"]

_MOST_OUT, _MOST_MISSES = 60, 5


def land(readings: Readings, page: Page) -> Iterator[Block]:
    """Tell how many parcels each rule left out, and what it took of the others."""
    result = readings.result
    out = result.sites[result.sites["status"] != "ranked"]
    if out.empty and result.ledger.empty:
        return
    yield Heading("Land considered, and what was left out")
    rules = left_out_rules(readings)
    if rules:
        yield Table(
            "Parcels left out by rule; each is counted once, under the first rule that it misses",
            ("Rule, each parcel counted once", "Parcels"),
            tuple((rule[:1].upper() + rule[1:], f"{count:,}") for rule, count in rules),
            shares(page, 0.8, 0.2),
            evidence=("L",),
        )
    yield exclusions_map(readings, page)
    yield from _ledger(readings, page)


def left_out_rules(readings: Readings) -> list[tuple[str, int]]:
    """Rules with the parcels that they left out, each under the first that it misses; most first."""
    result, misses = readings.result, _misses(readings.result)
    rules: dict[str, int] = {}
    for site in rows_of(result.sites[result.sites["status"] != "ranked"]):
        rule = first_rule(site, misses.get(site["parcel_id"], []), result.study.units)
        rules[rule] = rules.get(rule, 0) + 1
    return sorted(rules.items(), key=lambda item: (-item[1], item[0]))


def parcels_out(readings: Readings, page: Page) -> Iterator[Block]:
    """List the parcels that were left out, each with its reason and margin."""
    result, misses = readings.result, _misses(readings.result)
    rows = [
        (
            readings.title(site),
            STATUS_TEXTS[site["status"]],
            reason_sentence(site, result, misses=misses.get(site["parcel_id"], [])),
        )
        for site in rows_of(result.sites[result.sites["status"] != "ranked"])
    ]
    if not rows:
        return
    yield Heading("Parcels left out, one by one", 2)
    yield Table(
        "Parcels left out, with the reason",
        ("Parcel", "Verdict", "Why"),
        tuple(rows[:_MOST_OUT]),
        shares(page, 0.27, 0.21, 0.52),
    )
    if len(rows) > _MOST_OUT:
        yield Paragraph(
            f"The first {_MOST_OUT} of {len(rows):,} are listed; sites.csv has all.",
            "note",
            evidence=("L",),
        )


def nearest_misses(readings: Readings) -> list[dict[str, Any]]:
    """Give the parcels that miss by the smallest part of a limit, nearest first."""
    misses = readings.result.misses
    part = (misses["margin"] / misses["limit"].abs()).abs()
    worst = part.groupby(misses["parcel_id"]).max().dropna().sort_values(kind="stable")
    sites = readings.result.sites.set_index("parcel_id", drop=False)
    return [sites.loc[parcel].to_dict() for parcel in worst.index[:_MOST_MISSES]]


def _misses(result: Result) -> dict[Any, list[dict[str, Any]]]:
    misses: dict[Any, list[dict[str, Any]]] = {}
    for miss in rows_of(result.misses):
        misses.setdefault(miss["parcel_id"], []).append(miss)
    return misses


def _ledger(readings: Readings, page: Page) -> Iterator[Block]:
    """What was taken off the parcels before the play area was placed."""
    units = readings.result.study.units
    rows = [
        (in_readers_units(rule, units), f"{parcels:,}", area_text(area_m2, units), joined(sources))
        for rule, parcels, area_m2, sources in rules_taken(readings)
    ]
    if not rows:
        return
    yield Heading("What could not be built on", 2)
    yield Table(
        "Land taken off the parcels, by rule",
        ("Rule", "Parcels", "Area, all together", "Source"),
        tuple((rule[:1].upper() + rule[1:], *rest) for rule, *rest in rows),
        shares(page, 0.38, 0.1, 0.2, 0.32),
        evidence=("L",),
    )
