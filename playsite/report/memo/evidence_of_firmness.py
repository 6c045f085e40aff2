"""Rows of the evidence table on how firm the ranking is: of the whole, and of each site."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.ranking.firm import RANKS_TOLD
from playsite.ranking.lead_changes import nearest_two
from playsite.ranking.near_ties import SEPARABLE
from playsite.ranking.rank_order import concordance
from playsite.report.firm_facts import (
    MOST_TOLD,
    chance_text,
    criterion_name,
    factor_text,
    points_text,
    share_text,
)
from playsite.report.firm_words import WEIGHTINGS
from playsite.report.memo.evidence import Entry
from playsite.report.memo.firm import firm_rows
from playsite.report.memo.readings import SHORT_LIST, rows_of
from playsite.report.wording import in_readers_units, joined, ordinal

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pandas as pd

    from playsite.report.firm_facts import FirmFacts
    from playsite.report.memo.readings import Readings, Row

__all__ = ["firm_entries", "firm_site_entries"]


def firm_entries(readings: Readings) -> Iterator[Entry]:
    """Give what holds of the ranking as a whole."""
    facts = readings.firm
    firm, made_on = readings.result.firm, readings.result.study.made_on
    if not readings.result.shows_order:
        return

    def entry(what: str, value: str, how: str, source: str = "robustness.csv") -> Entry:
        return Entry("F", what, value, how, source, made_on)

    yield entry(
        "ahead of another from",
        f"{100 * SEPARABLE:.0f}%",
        "errors and unknowns drawn together",
        "common practice, no source",
    )
    shared = _shared_error(facts)
    if shared:
        yield entry(
            "part of an error that all sites share", shared, "as the criteria say", "the criteria"
        )
    if not facts.shares:
        return
    yield entry(
        "weightings that are tried",
        f"{WEIGHTINGS}; ranks told: 1st to {RANKS_TOLD}th",
        "drawn, seeded",
        "the ranking",
    )
    yield entry("what is unknown, when drawn", "0 to 100", "even chances", "the ranking")
    firsts = "; ".join(
        f"{facts.names[site]} {share_text(shares[0])}"
        for site, shares in facts.shares.items()
        if shares[0] > 0
    )
    yield entry("first in, of the weightings", firsts, "share of weightings")
    for rank, site, *cells in firm_rows(facts):
        yield entry(f"{rank}, {site}", "; ".join(filter(None, cells)), "as the table's columns")
    behind = facts.too_close
    yield entry(
        "ranked sites; too close to the first to call",
        f"{len(facts.rank)}; {len(behind)}",
        "pairs two by two",
        "pairs.csv",
    )
    for row in rows_of(nearest_two(firm.lead_lost)):
        rival = facts.names[str(row["rival"])]
        yield entry(
            f"{rival} leads once {criterion_name(row['criterion'])} counts",
            f"{factor_text(row['factor'])} times as much",
            "one weight moved, the others in proportion",
            "the ranking",
        )
    foremost = list(facts.shares)[:SHORT_LIST]
    for column in firm.methods.columns:
        ranks = "; ".join(
            f"{facts.names[str(site)]} {ordinal(int(rank))}"
            for site, rank in firm.methods[column].items()
            if str(site) in foremost
        )
        yield entry(
            f"rank by {criterion_name(column)}", ranks, "other ways of adding up", "the ranking"
        )
        yield entry(
            f"sites first by {criterion_name(column)}",
            str(int((firm.methods[column] == 1).sum())),
            "counted",
            "the ranking",
        )
    for row in rows_of(firm.told_twice.head(MOST_TOLD)):
        pair = f"{criterion_name(row['one'])} and {criterion_name(row['other'])}"
        yield entry(
            f"{pair} order the sites alike or in reverse",
            f"{row['sites']} sites",
            "rank correlation",
            "the ranking",
        )
    for change, rows in firm.variants.groupby("change", sort=False):
        lost = int((rows["present_leader_rank"] > 1).sum())
        yield entry(
            f"{change}: cases in which another leads",
            f"{lost} of {len(rows)}",
            "tried one by one",
            "the ranking",
        )
    yield from _members(facts, entry)


def _members(facts: FirmFacts, entry: object) -> Iterator[Entry]:
    members, ranks = facts.result.members, facts.member_ranks
    if members.empty or ranks.empty or not callable(entry):
        return
    firsts = (ranks == 1).sum(axis=1)
    told = "; ".join(
        f"{facts.names[str(site)]} for {count}" for site, count in firsts[firsts > 0].items()
    )
    yield entry(
        "members, and first under the weights of how many",
        f"{len(members)} members; {told}",
        "each member's own weights",
        "weights.csv",
    )
    yield entry("sites first for a member", str(int((firsts > 0).sum())), "counted", "weights.csv")
    least = facts.result.firm.regret["regret_max"]
    best = str(least.idxmin())
    yield entry(
        f"{facts.names[best]} at most behind a member's best",
        points_text(float(least.min())),
        "most points behind",
        "robustness.csv",
    )
    if len(members) > 1 and members.shape[1] > 1:
        w = concordance(members.rank(axis=1, ascending=False))
        yield entry(
            "the members' orders agree at",
            f"{w:.2f}; 1 is full agreement, 0 none",
            "Kendall's W",
            "weights.csv",
        )


def _shared_error(facts: FirmFacts) -> str:
    chosen = [each for each in facts.result.criteria if each.shared_error and each.weight]
    return "; ".join(
        f"{criterion_name(each.name)} {100 * each.shared_error:.0f}%" for each in chosen
    )


def firm_site_entries(readings: Readings, site: Row) -> Iterator[Entry]:
    """Give how firm the place of one site is."""
    facts, parcel = readings.firm, str(site["parcel_id"])
    result, names = readings.result, readings.firm.names
    if not result.shows_order or parcel not in facts.shares:
        return

    def entry(what: str, value: str, how: str, source: str) -> Entry:
        return Entry(f"F{site['site_no']}", what, value, how, source, result.study.made_on)

    near = [row for row in facts.near_pairs if parcel in {row["ahead"], row["behind"]}]
    yield entry(
        "sites too close to call", str(len(near)), "errors and unknowns drawn together", "pairs.csv"
    )
    table = result.firm.next_measurements
    for row in near[:1]:
        visits = table[(table["ahead"] == row["ahead"]) & (table["behind"] == row["behind"])]
        for visit in rows_of(visits.head(1)):
            criterion = next(c.criterion for c in result.criteria if c.name == visit["criterion"])
            what = f"visit that would settle most: {criterion_name(visit['criterion'])} at {names[visit['parcel_id']]}"
            yield entry(
                what,
                f"told apart after it with {chance_text(visit['settles'])}; turns the order with "
                f"{chance_text(visit['turns'])}; {in_readers_units(criterion.field_task, result.study.units)}",
                "value drawn again",
                "the ranking",
            )
    first = next(iter(facts.rank))
    if parcel == first:
        return
    pair = facts.pair(first, parcel)
    yield entry(
        f"{names[pair.ahead]} ahead of {names[pair.behind]} by",
        points_text(pair.lead),
        "difference of scores",
        "sites.csv",
    )
    for name, gains in (("more", pair.more), ("less", pair.less)):
        if len(gains):
            yield entry(
                f"of which {name} at {names[pair.ahead]}",
                _gains(gains),
                "points of score",
                "measurements.csv",
            )
    if pair.unknown:
        told = joined([criterion_name(each) for each in pair.unknown])
        yield entry(
            f"known of one of the two only: {told}",
            "unknown counts as 50 of 100",
            "the middle",
            "the ranking",
        )
    for row in rows_of(nearest_two(pair.changes)):
        yield entry(
            f"level once {criterion_name(row['criterion'])} counts",
            f"{factor_text(row['factor'])} times as much",
            "one weight moved, the others in proportion",
            "the ranking",
        )


def _gains(table: pd.DataFrame) -> str:
    pairs = zip(table["criterion"], table["points"], strict=True)
    told = "; ".join(f"{criterion_name(name)} {100 * points:.1f}" for name, points in pairs)
    return f"{told}; {len(table)} in all, {max(len(table) - MOST_TOLD, 0)} beyond the first {MOST_TOLD}"
