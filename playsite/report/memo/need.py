"""Who gains: children newly served, by district; what a better playground and doing nothing mean."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from playsite.report.firm_facts import rows_of
from playsite.report.memo.blocks import Heading, Paragraph, Table
from playsite.report.memo.reach_map import reach_map
from playsite.report.need import FAIRNESS, count_text, plus_minus_text
from playsite.report.plain_text import one_line
from playsite.report.wording import in_readers_units, is_missing

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings

__all__ = ["need", "need_figures", "walks_of_children"]

_MOST_BETTER, _MOST_DISTRICTS, _LONGEST = 5, 12, 40
_SHARES = {
    "low_income_pct": "Low income",
    "disability_pct": "With a disability",
    "no_yard_pct": "Homes without a yard",
}
_WALKS = (
    "Children of 0 to 4 within 400 m and of 5 to 12 within 800 m on foot, spread over the homes of the "
    "census's areas by floor area and counted once. Newly served are those without a public playground "
    "within that walk today. The margins are the census's own, at 90 percent."
)
Row = dict[Any, Any]


def walks_of_children(units: str) -> str:
    """Who is counted, and within which walk."""
    return in_readers_units(_WALKS, units)


def need(readings: Readings, page: Page) -> Iterator[Block]:
    """Give the options side by side, the districts, and the fairness table; nothing where unknown."""
    table = readings.result.need
    if table.empty:
        return
    rows = rows_of(table)
    options = _options(readings, [row for row in rows if row["district"] == ""])
    if not options:
        return
    yield Heading("Who gains")
    yield Paragraph(walks_of_children(readings.result.study.units), evidence=("N",))
    yield _side_by_side(options, page)
    drawn = reach_map(readings, page)
    if drawn is not None:
        yield drawn
    by_district = [row for row in rows if row["district"]]
    if by_district:
        yield from _districts(readings, by_district, page)
    if any(not is_missing(row[name]) for _, row in options for name in _SHARES):
        yield _fairness(options, page)
        yield Paragraph(FAIRNESS, evidence=("N",))


def need_figures(readings: Readings) -> Iterator[tuple[str, str]]:
    """Give each row of the tables as a name and what stands in it, for the evidence."""
    rows = rows_of(readings.result.need)
    for name, row in _options(readings, [row for row in rows if row["district"] == ""]):
        said = [f"{count_text(row['children'])} children within the walk"]
        said.append(
            f"{count_text(row['newly_served'])}{plus_minus_text(row['plus_minus'])} newly served"
        )
        said.append(f"{count_text(row['still_without'])} still without")
        said += [f"{word.lower()} {_percent(row[column])}" for column, word in _SHARES.items()]
        yield name, "; ".join(said)
    titles = {site["parcel_id"]: readings.title(site) for site in readings.short_list}
    for row in rows:
        of_district = one_line(str(row["district"]), _LONGEST)
        if row["district"] and row["parcel_id"] in titles:
            name = f"{titles[row['parcel_id']]}, {of_district}"
            yield name, f"{count_text(row['newly_served'])} newly served"
        elif row["district"] and row["option"] == "do nothing":
            yield f"{of_district} today", f"{count_text(row['still_without'])} without one"


def _options(readings: Readings, whole: list[Row]) -> list[tuple[str, Row]]:
    """Short-listed sites, the playgrounds whose children are most, and doing nothing."""
    by_parcel = {row["parcel_id"]: row for row in whole if row["parcel_id"]}
    sites = [
        (readings.title(site), by_parcel[site["parcel_id"]])
        for site in readings.short_list
        if site["parcel_id"] in by_parcel
    ]
    better = [row for row in whole if row["option"].startswith("improve")]
    better.sort(key=lambda row: -row["children"])
    nothing = [("Do nothing", row) for row in whole if row["option"] == "do nothing"]
    improved = [(f"Improve {one_line(row['name'], _LONGEST)}", row) for row in better]
    return [*sites, *improved[:_MOST_BETTER], *nothing]


def _side_by_side(options: list[tuple[str, Row]], page: Page) -> Table:
    rows = tuple(
        (
            name,
            count_text(row["children"]),
            count_text(row["newly_served"]) + plus_minus_text(row["plus_minus"]),
            count_text(row["still_without"]),
        )
        for name, row in options
    )
    return Table(
        "Children served: the sites, better playgrounds where they are, and doing nothing",
        ("Option", "Children within the walk", "Newly served", "Still without"),
        rows,
        tuple(page.text_mm * share for share in (0.4, 0.2, 0.22, 0.18)),
        bold=(0,),
        evidence=("N",),
    )


def _districts(readings: Readings, rows: list[Row], page: Page) -> Iterator[Table]:
    """Newly served of each district, by site; and who stays without if nothing is done."""
    sites = readings.short_list
    gains = {(row["parcel_id"], row["district"]): row["newly_served"] for row in rows}
    left = {row["district"]: row["still_without"] for row in rows if row["option"] == "do nothing"}
    names = sorted(left, key=lambda name: -left[name])[:_MOST_DISTRICTS]
    if not (names and sites):
        return
    across = 0.3, 0.7 / (len(sites) + 1)
    yield Table(
        "Children newly served, by district",
        ("District", *(readings.title(site) for site in sites), "Without one today"),
        tuple(
            (
                one_line(str(name), _LONGEST),
                *(count_text(gains.get((site["parcel_id"], name), 0.0)) for site in sites),
                count_text(left[name]),
            )
            for name in names
        ),
        tuple(page.text_mm * share for share in (across[0], *[across[1]] * (len(sites) + 1))),
        bold=(0,),
        evidence=("N",),
    )


def _fairness(options: list[tuple[str, Row]], page: Page) -> Table:
    return Table(
        "Where those live who gain: shares of the areas, beside the score",
        ("Option", *_SHARES.values()),
        tuple((name, *(_percent(row[column]) for column in _SHARES)) for name, row in options),
        tuple(page.text_mm * share for share in (0.4, 0.2, 0.2, 0.2)),
        bold=(0,),
        evidence=("N",),
    )


def _percent(value: float) -> str:
    return "not known" if is_missing(value) else f"{value:.0f}%"
