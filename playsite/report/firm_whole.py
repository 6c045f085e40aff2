"""Whether the ranking as a whole holds, and what would change its first place, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from playsite.ranking.firmness import LAYER_OUT
from playsite.ranking.lead_changes import nearest_two
from playsite.ranking.rank_order import concordance
from playsite.report.firm_facts import (
    MOST_TOLD,
    chance_text,
    criterion_name,
    points_text,
    rows_of,
    times_text,
)
from playsite.report.wording import in_readers_units, joined, ordinal, points

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import pandas as pd

    from playsite.report.firm_facts import FirmFacts

__all__ = ["effect_text", "firm_sentences", "group_sentences", "lever_sentence", "visit_sentence"]


def lever_sentence(facts: FirmFacts) -> str:
    """Until which weight the leader leads, and who leads then; empty where the lead is shared."""
    if facts.leader is None:
        return ""
    names, first = facts.names, facts.names[facts.leader]
    rows = rows_of(nearest_two(facts.result.firm.lead_lost))
    if not rows:
        return f"Still {first}, whichever one weight is moved, and however far."
    told = [
        f"{times_text(row['criterion'], row['factor'])} (then {names[str(row['rival'])]} leads)"
        for row in rows
    ]
    return f"Still {first} until {' or '.join(told)}."


_LIKELY = 0.1
"""Chance below which a visit is not said to settle anything."""


def effect_text(row: Mapping[Any, Any]) -> str:
    """What a measurement is expected to do: settle an order, and turn it."""
    return (
        f"After it the two can be told apart with a chance of {chance_text(row['settles'])}; it turns "
        f"their order with one of {chance_text(row['turns'])}."
    )


def visit_sentence(facts: FirmFacts, ahead: str, behind: str) -> str:
    """Which one field measurement would do most for a pair; empty where none would."""
    table = facts.result.firm.next_measurements
    rows = rows_of(table[(table["ahead"] == ahead) & (table["behind"] == behind)])
    if not rows:
        return ""
    row, names = rows[0], facts.names
    criterion = next(
        each.criterion for each in facts.result.criteria if each.name == row["criterion"]
    )
    todo = in_readers_units(criterion.field_task, facts.result.study.units).rstrip(".")
    task = f" {todo}." if todo else ""
    head = (
        "One visit would do most to settle it"
        if row["settles"] >= _LIKELY
        else "No one visit is likely to settle it; the one that would do most"
    )
    return (
        f"{head}: {criterion_name(row['criterion'])} at {names[row['parcel_id']]}.{task} "
        f"{effect_text(row)}"
    )


def firm_sentences(facts: FirmFacts, *, group: bool = True) -> list[str]:
    """What holds and what doesn't, of the ranking as a whole; ``group``: the members' view too."""
    if not facts.result.shows_order or facts.result.firm.scores.empty:
        return []
    said = [
        lever_sentence(facts),
        *_near(facts),
        *(group_sentences(facts)[:3] if group else ()),
        *_dominated(facts),
        *_variants(facts),
        *_methods(facts),
    ]
    return [sentence for sentence in [*said, *_twice(facts)] if sentence]


def group_sentences(facts: FirmFacts) -> list[str]:
    """Whether the members of the working group would choose the same site; empty without one."""
    members, ranks = facts.result.members, facts.member_ranks
    if members.empty or not facts.result.shows_order or ranks.empty:
        return []
    firsts = (ranks == 1).sum(axis=1)
    firsts = firsts[firsts > 0].sort_values(ascending=False, kind="stable")
    told = [f"{facts.names[str(site)]} for {count}" for site, count in firsts.items()]
    more = len(told) - MOST_TOLD
    some = joined(told if more <= 1 else [*told[:MOST_TOLD], f"{more} other sites for one or more"])
    least = facts.result.firm.regret["regret_max"]
    best, most = str(least.idxmin()), float(least.min())
    said = [
        f"{len(members)} members gave weights; the score uses the median of each.",
        f"Under the members' own weights first are: {some}.",
        f"{facts.names[best]} disappoints nobody much: it lies at most {points_text(most)} behind any "
        f"member's best site."
        if points(most)
        else f"{facts.names[best]} is, to the point, the best site of every member.",
    ]
    if len(members) > 1 and members.shape[1] > 1:
        w = concordance(members.rank(axis=1, ascending=False))
        said.append(
            f"The members' orders of importance agree at {w:.2f} (Kendall's W: 1 is full agreement, "
            f"0 is none)."
        )
    return said


def _near(facts: FirmFacts) -> Iterator[str]:
    for behind in facts.too_close[:1]:
        yield visit_sentence(facts, str(facts.leader), behind)


def _dominated(facts: FirmFacts) -> Iterator[str]:
    """Name sites that no weights can put first, each with the one that is always before it."""
    table = facts.result.firm.robustness.dropna(subset=["dominated_by"])
    behind: dict[str, list[str]] = {}
    for row in rows_of(table):
        behind.setdefault(facts.names[row["dominated_by"]], []).append(
            facts.names[row["parcel_id"]]
        )
    told = [f"{_some(sites, 'more')} never before {by}" for by, sites in behind.items()]
    if told:
        more = sum(len(sites) for sites in list(behind.values())[MOST_TOLD:])
        rest = [f"{more} more never before another"] if more else []
        yield (
            f"Whatever the weights: {'; '.join([*told[:MOST_TOLD], *rest])}. The one before is as good "
            f"on everything that counts, and better on something."
        )


def _some(names: list[str], others: str) -> str:
    """Give a few of many names, and how many are left."""
    more = len(names) - MOST_TOLD
    return joined(names if more <= 1 else [*names[:MOST_TOLD], f"{more} {others}"])


def _variants(facts: FirmFacts) -> Iterator[str]:
    """Say what moved knots, a criterion and a layer left out do to the first place."""
    names, table = facts.names, facts.result.firm.variants
    first = names[next(iter(facts.rank))]
    kinds = {
        "any line from value to score is moved by a fifth": table["change"].str.startswith("knots"),
        "any one criterion is left out": table["change"] == "left out",
        "any one layer is left out": table["change"] == LAYER_OUT,
    }
    held = [what for what, own in kinds.items() if _holds(table[own])]
    if held:
        yield f"{first} stays first if {', or if '.join(held)}."
    for own in kinds.values():
        lost = table[own & (table["present_leader_rank"] > 1)]
        for leader, rows in lost.groupby("leader", sort=False):
            told = [_change(str(r["criterion"]), str(r["change"])) for r in rows_of(rows)]
            more = len(told) - MOST_TOLD
            some = " or if ".join(told if more <= 1 else told[:MOST_TOLD])
            rest = f", and with {more} more such changes" if more > 1 else ""
            yield f"{names[str(leader)]} comes first instead if {some}{rest}."


def _change(name: str, change: str) -> str:
    """One change in words: "the line of shade is moved up by a fifth"."""
    what = criterion_name(name)
    if change.startswith("knots"):
        return f"the line of {what} is moved {'up' if '+' in change else 'down'} by a fifth"
    return f"the layer of {what} is left out" if change == LAYER_OUT else f"{what} is left out"


def _holds(rows: pd.DataFrame) -> bool:
    return len(rows) > 0 and bool((rows["present_leader_rank"] == 1).all())


def _methods(facts: FirmFacts) -> Iterator[str]:
    """Say what other ways of adding up do to the first place."""
    names, table = facts.names, facts.result.firm.methods
    first = next(iter(facts.rank))
    rank = {column: int(table[column][first]) for column in table.columns}
    ways = {
        "weighted_product": "with scores multiplied instead of added",
        "worst_criterion": "by the worst criterion alone",
    }
    held = [way for column, way in ways.items() if rank[column] == 1]
    if held:
        yield f"{names[first]} is first too {joined(held)}."
    for column, way in ways.items():
        if rank[column] > 1:
            now = [names[str(p)] for p in table.index[table[column] == 1]]
            best = joined(now) if len(now) <= MOST_TOLD else f"{len(now)} sites"
            there = ordinal(rank[column])
            verb = "is" if len(now) == 1 else "are"
            yield f"{way[:1].upper()}{way[1:]}, {best} {verb} first and {names[first]} {there}."


def _twice(facts: FirmFacts) -> Iterator[str]:
    for row in rows_of(facts.result.firm.told_twice.head(MOST_TOLD)):
        one, other = criterion_name(row["one"]), criterion_name(row["other"])
        if row["correlation"] > 0:
            yield (
                f"{one.capitalize()} and {other} order the {row['sites']} sites almost alike: ask "
                f"whether one story is counted twice."
            )
        else:
            yield f"{one.capitalize()} and {other} put the {row['sites']} sites in nearly opposite orders."
