"""Rows of the evidence table that belong to one short-listed site."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from playsite.report.binding import room_texts
from playsite.report.memo.evidence import Entry
from playsite.report.memo.readings import MOST_SAID, plain_name, rows_of
from playsite.report.money import money_text
from playsite.report.people_units import (
    area_text,
    depth_text,
    distance_text,
    edge_flow_text,
    flow_text,
    hours_text,
    percent_text,
    volume_text,
)
from playsite.report.plain_text import one_line
from playsite.report.plan_words import currency_of, funding_rows
from playsite.report.wording import (
    in_readers_units,
    is_missing,
    ordinal,
    plain_cell,
    score_range_text,
    score_text,
    value_text,
)
from playsite.terrain.pad_storm import CHILD_SAFE_M2_S, DRAINED_H, FREEBOARD_M, SWALE_MOST_M
from playsite.units import Unit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from playsite.report.memo.readings import Readings, Row

__all__ = ["site_entries"]

_DEPTHS = ("height", "depth", "step", "freeboard", "deepest", "highest")
_FORMS: dict[str, Callable[[float, str], str]] = {  # the longer endings first
    "_m2_s": edge_flow_text,
    "_m3_s": flow_text,
    "_m3": volume_text,
    "_m2": area_text,
    "_m": depth_text,
    "_pct": lambda value, _: percent_text(value),
    "_h": lambda value, _: hours_text(value),
    "": lambda value, _: f"{value:,.3g}",
}


def site_entries(readings: Readings, site: Row) -> Iterator[Entry]:
    """Give standing, measured values, earthwork, storms and cost of a site."""
    yield from _standing(readings, site)
    yield from _measured(readings, site)
    yield from _of_ground(readings, site)
    yield from _cost(readings, site)


def _standing(readings: Readings, site: Row) -> Iterator[Entry]:
    result, key = readings.result, f"S{site['site_no']}"
    units, parcel = result.study.units, site["parcel_id"]
    how = "scores added by weight"

    def entry(what: str, value: str, how: str = how, source: str = "sites.csv") -> Entry:
        return Entry(key, what, value, how, source, result.study.made_on)

    words = [readings.word(site, chosen).split(",")[0] for chosen in readings.weighed]
    told = ", ".join(
        f"{words.count(word)} {word}" for word in ("strong", "fair", "weak", "unknown")
    )
    said = (
        f"{score_text(site['score'])} of 100",
        score_range_text(site["score_low"], site["score_high"]),
        f"{ordinal(int(site['rank']))} of {len(result.ranked):,}" if result.shows_order else "",
        f"{percent_text(100 * float(site['known_share']))} of the weight is known",
        f"{len(words)} questions: {told}",
    )
    yield entry("score, what is unknown from 0 to 100", "; ".join(filter(None, said)))
    more = {word: words.count(word) - MOST_SAID for word in ("weak", "unknown")}
    beyond = ", ".join(f"{count} {word}" for word, count in more.items() if count > 1)
    if beyond:
        yield entry(f"beyond the first {MOST_SAID} that are named", beyond, "counted")
    for row in rows_of(result.conditions[result.conditions["parcel_id"] == parcel]):
        times = 100 if row["unit"] == Unit.RATIO else 1
        unit = Unit.PERCENT if row["unit"] == Unit.RATIO else row["unit"]
        value, limit = (value_text(row[name] * times, unit, units) for name in ("value", "limit"))
        rule = in_readers_units(plain_cell(row["rule"]), units)
        needs = plain_cell(row["needs"])
        yield entry(f"ranked only with {needs}: {rule}", f"{value}, without it at least {limit}",
                    "held against a rule", plain_cell(row["source"]))  # fmt: skip
    rooms = rows_of(
        result.rooms[result.rooms["parcel_id"] == parcel].drop(columns="geometry", errors="ignore")
    )
    if rooms:
        yield entry("room at the sides of the play area", "; ".join(room_texts(rooms, units)),
                    "straight, from the side", "parcels, rules")  # fmt: skip


def _measured(readings: Readings, site: Row) -> Iterator[Entry]:
    for chosen in readings.result.criteria:
        row = readings.row(site, chosen)
        if row is None or (chosen.weight == 0 and row["value"] is None):
            continue
        said = (
            readings.value(site, chosen),
            readings.straight(site, chosen),
            readings.interval(site, chosen),
            readings.note(site, chosen),
        )
        name = plain_name(chosen)
        yield Entry(
            f"V{site['site_no']}",
            name[:1].upper() + name[1:],
            "; ".join(filter(None, said)),
            "",
            readings.origin(site, chosen),
        )


def _of_ground(readings: Readings, site: Row) -> Iterator[Entry]:
    result, parcel = readings.result, site["parcel_id"]
    earth = result.earthwork[result.earthwork["parcel_id"] == parcel]
    for row in rows_of(earth.drop(columns="geometry", errors="ignore")):
        yield Entry(
            f"E{site['site_no']}",
            f"Part {row['part']}" if len(earth) > 1 else "Earthwork",
            _columns(
                row,
                result.study.units,
                ("parcel_id", "part", "easting", "northing", "direction_deg", "finish_m"),
            ),
            "a plane of least cut and fill, by noise drawn again",
            "elevation; earthwork.csv",
            result.study.made_on,
        )
    water = result.water[result.water["parcel_id"] == parcel]
    for row in rows_of(water.drop(columns="geometry", errors="ignore")):
        limits = (
            f"{depth_text(SWALE_MOST_M, result.study.units)} deep in a swale, "
            f"{edge_flow_text(CHILD_SAFE_M2_S, result.study.units)} of depth times speed, "
            f"{depth_text(FREEBOARD_M, result.study.units)} of freeboard, gone in {hours_text(DRAINED_H)}"
        )
        source = "elevation, rain of the study; water.csv"
        how = "rational method, curve number"
        yield Entry(
            f"W{site['site_no']}",
            "Storms of 10 and 100 years",
            _columns(row, result.study.units, ("parcel_id",)),
            how,
            source,
            result.study.made_on,
        )
        yield Entry(
            f"W{site['site_no']}",
            "What they are held against",
            limits,
            "limits of a first look",
            "common practice, no source; depth times speed from memory",
        )


def _columns(row: Row, units: str, left_out: tuple[str, ...]) -> str:
    """Say every column of a row that is known, in the reader's units."""
    said = []
    for name, value in row.items():
        text = "" if name in left_out or is_missing(value) else _one(name, value, units)
        if text:
            said.append(text)
    return "; ".join(said)


def _one(name: str, value: Any, units: str) -> str:
    """Say one column: its unit stands at the end of its name."""
    if isinstance(value, str):
        return f"{_plain(name)}: {value}" if value else ""
    if isinstance(value, bool) or math.isinf(float(value)):
        return ""
    ending = next((each for each in _FORMS if name.endswith(each)), "")
    words = _plain(name.removesuffix(ending))
    if ending == "_m" and not any(word in words.split() for word in _DEPTHS):
        return f"{words} {distance_text(abs(float(value)), units)}"
    return f"{words} {_FORMS[ending](abs(float(value)), units)}"


def _plain(name: str) -> str:
    return name.replace("_", " ")


def _cost(readings: Readings, site: Row) -> Iterator[Entry]:
    costs = readings.result.costs
    if costs is None:
        return
    own = costs.sites[costs.sites["parcel_id"] == site["parcel_id"]]
    for row in rows_of(own):
        p10, p50, p80, p90, its_own, above, low, high = (
            money_text(row[name], costs.currency)
            for name in ("p10", "p50", "p80", "p90", "own_p50",
                         "above_least_p50", "above_least_p10", "above_least_p90")
        )  # fmt: skip
        yield Entry(
            f"C{site['site_no']}",
            "cost of the site",
            f"even odds {p50}; budget {p80}; likely {p10} to {p90}; its own part {its_own}; above the "
            f"least dear site {above}, likely {low} to {high}",
            "quantities times prices, drawn together",
            "costs.csv; prices.toml and the study",
            readings.result.study.made_on,
        )
    yield from _paid(readings, site)


def _paid(readings: Readings, site: Row) -> Iterator[Entry]:
    plan, costs = readings.result.plan, readings.result.costs
    parcel, made_on = str(site["parcel_id"]), readings.result.study.made_on
    if plan is None or costs is None or site["parcel_id"] != readings.short_list[0]["parcel_id"]:
        return  # who pays is told of the first site alone
    currency = currency_of(readings.result)
    for fund, *cells in (
        funding_rows(plan, plan.paid[parcel], currency) if parcel in plan.paid else ()
    ):
        value = "; ".join(filter(None, cells))
        yield Entry(f"G{site['site_no']}", one_line(fund), one_line(value), "as the study says",
                    "the study's [[funding]]", made_on)  # fmt: skip
    for name, paid in zip(
        ("at even odds", "at the budget"), plan.paid.get(parcel, ()), strict=False
    ):
        amounts = (paid.cost, paid.gap, paid.gap_in_hand)
        value = "; ".join(money_text(amount, costs.currency) for amount in amounts)
        yield Entry(f"G{site['site_no']}", f"{name}: cost; without a source; without one in hand", value,
                    "sources in their order", "the study's [[funding]]", made_on)  # fmt: skip
