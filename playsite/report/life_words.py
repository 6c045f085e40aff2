"""Surfacings over their lives and ways of installing, in sentences and rows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.money import money_text
from playsite.report.people_units import distance_text
from playsite.report.wording import joined, records

if TYPE_CHECKING:
    from playsite.cost.life import Life
    from playsite.cost.record import Costs

__all__ = [
    "INSTALLERS",
    "fall_sentence",
    "installation_rows",
    "life_rows",
    "life_sentences",
    "upkeep_sentence",
]

INSTALLERS = {
    "own crew": "the owner's own crew",
    "supervised": "supervised volunteers",
    "professional": "professional installers",
}
"""Who puts the equipment together, by the word of the settings."""


def life_rows(costs: Costs) -> list[tuple[str, ...]]:
    """Rows of surfacings: name, first, a year, worth over the years with its range."""
    return [
        (
            life.name,
            money_text(life.first[1], costs.currency),
            money_text(life.a_year[1], costs.currency),
            money_text(life.worth[1], costs.currency),
            f"{money_text(life.worth[0], costs.currency)} to {money_text(life.worth[2], costs.currency)}",
        )
        for life in costs.lives
    ]


def fall_sentence(costs: Costs, units: str) -> str:
    """Which surfacings can't be used under the program's highest fall; empty where all may."""
    if not costs.too_shallow:
        return ""
    fall = distance_text(costs.highest_fall_m, units)
    return (
        f"Under the highest fall, {fall}, the handbook's table gives no depth of "
        f"{joined(costs.too_shallow)}: not to be chosen here, whatever they cost. What the table "
        "does not list needs the maker's test data (CPSC Pub. 325, Table 2)."
    )


def life_sentences(costs: Costs) -> list[str]:
    """What the surfacing that is priced comes to, against the others; no verdict."""
    lives = {life.name: life for life in costs.lives}
    priced = lives.get(costs.surfacing)
    if priced is None:
        return []
    first, worth = (money_text(each[1], costs.currency) for each in (priced.first, priced.worth))
    terms = f"at {100 * priced.rate:g}% a year, in money of {costs.book.year}"
    over = f"{worth} over {priced.years} years, upkeep and inspection in it, {terms}"
    said = [f"{_upper(priced.name)} costs {first} at first and {over}."]
    others = [life for life in costs.lives if life is not priced]
    traps = {
        "less at first, and more": [
            life.name
            for life in others
            if life.first[1] < priced.first[1] and life.worth[1] > priced.worth[1]
        ],
        "more at first, and less": [
            life.name
            for life in others
            if life.first[1] > priced.first[1] and life.worth[1] < priced.worth[1]
        ],
    }
    said += [
        f"Of the others, {joined(names)} would cost {how} over the years."
        for how, names in traps.items()
        if names
    ]
    said.append(
        "Money alone does not decide: who does the work, and who can get in, stand beside it."
    )
    return said


def upkeep_sentence(life: Life, currency: str) -> str:
    """What a surfacing asks for, how often, and what it costs each time."""
    works = [
        f"{work.what} ({money_text(work.each[1], currency)} "
        f"{'a year' if work.every == 1 else f'every {work.every} years'})"
        for work in life.works
    ]
    return "; ".join(works)


def installation_rows(costs: Costs) -> list[tuple[str, ...]]:
    """Rows of ways: way, cost, people, tools, days, qualification, warranty."""
    rows: list[tuple[str, ...]] = []
    for row in records(costs.installations):
        way = costs.book.installation[str(row["way"])]
        rows.append(
            (
                str(row["way"]),
                f"{money_text(row['p50'], costs.currency)} to {money_text(row['p80'], costs.currency)}",
                way.people,
                way.tools,
                f"{way.days[0]:g} to {way.days[1]:g} days",
                way.qualification,
                way.warranty,
            )
        )
    return rows


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
