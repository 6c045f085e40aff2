"""How firm the place of one site is, in short sentences: on the map, in the memo, on the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.ranking.lead_changes import nearest_two
from playsite.ranking.near_ties import SEPARABLE
from playsite.ranking.shares import COUNT, SPREAD
from playsite.report.firm_facts import (
    MOST_TOLD,
    chance_text,
    criterion_name,
    points_text,
    rows_of,
    share_text,
    times_text,
)
from playsite.report.firm_whole import effect_text, lever_sentence, visit_sentence
from playsite.report.wording import is_missing, joined, ordinal, points

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pandas as pd

    from playsite.ranking.pair import Pair
    from playsite.report.firm_facts import FirmFacts

__all__ = ["WEIGHTINGS", "pair_sentences", "sheet_sentences", "short_and_more", "site_sentences"]

WEIGHTINGS = f"{COUNT:,} weightings up to {100 * SPREAD:.0f}% above and below the adopted ones"
"""What the shares are counted over."""
_LEAST_POINTS = 0.0005
"""Differences that would read 0.0 points are not told."""


def site_sentences(facts: FirmFacts, parcel_id: str) -> list[str]:
    """How firm a site's place is; empty where it is not ranked, or too few are to give an order.

    The foremost sites have all sentences, those behind them the ones that need no other site.
    """
    short, more = short_and_more(facts, parcel_id)
    return [*short, *more]


def sheet_sentences(facts: FirmFacts, parcel_id: str) -> list[str]:
    """Those of a site's sentences that the tables of the memo don't say."""
    if parcel_id not in facts.shares or not facts.result.shows_order:
        return []
    own = (_close(facts, parcel_id), _dominated(facts, parcel_id), _against(facts, parcel_id))
    return [sentence for part in own for sentence in part]


def short_and_more(facts: FirmFacts, parcel_id: str) -> tuple[list[str], list[str]]:
    """The same sentences in two parts: what must be seen at once, and the rest."""
    if parcel_id not in facts.result.firm.scores.index or not facts.result.shows_order:
        return [], []
    shares = list(_shares(facts, parcel_id))
    short = [*_close(facts, parcel_id), *_dominated(facts, parcel_id), *shares[:1]]
    more = (
        _against(facts, parcel_id),
        shares[1:],
        _members(facts, parcel_id),
        _links(facts, parcel_id),
    )
    return short, [sentence for part in more for sentence in part]


def _shares(facts: FirmFacts, parcel_id: str) -> Iterator[str]:
    shares = facts.shares.get(parcel_id)
    if shares is None:
        return
    first, third = shares[0], sum(shares[:3])
    every = float(facts.result.firm.first_of_all[parcel_id])
    head = f"Comes first in {share_text(first)} of" if first else "Never first in"
    three = f", among the first three in {share_text(min(third, 1.0))}" if third else ""
    if not third:
        head = "Never among the first three in"
    whole = (
        f"in {share_text(every)} of all weightings there are"
        if every
        else "in no weighting drawn from all there are"
    )
    yield f"{head} {WEIGHTINGS}{three}; first {whole}."
    low, high = (
        points(float(facts.result.firm.intervals[end][parcel_id])) for end in ("p5", "p95")
    )
    yield (
        f"With measuring errors and unknowns together its score is likely {low} to {high} "
        f"(9 in 10)."
    )


def _against(facts: FirmFacts, parcel_id: str) -> Iterator[str]:
    """Say what parts the leader from the next, or a site from the leader."""
    if facts.rank[parcel_id] == 1:
        yield from filter(None, [lever_sentence(facts)])
    elif parcel_id in facts.shares:
        pair = facts.pair(next(iter(facts.rank)), parcel_id)
        yield from _lead(pair, facts.names)
        yield _turn(pair, facts.names)


def _close(facts: FirmFacts, parcel_id: str) -> Iterator[str]:
    """Say from which sites present data can't tell this one, and what would settle the nearest."""
    names = facts.names
    own = [row for row in facts.near_pairs if parcel_id in {row["ahead"], row["behind"]}]
    if not own:
        return
    others = [names[row["behind" if row["ahead"] == parcel_id else "ahead"]] for row in own]
    who = joined(others) if len(others) <= MOST_TOLD else f"{len(others)} other sites"
    yield f"Too close to call against {who}: not separable on present data."
    yield from filter(None, [visit_sentence(facts, own[0]["ahead"], own[0]["behind"])])


def _dominated(facts: FirmFacts, parcel_id: str) -> Iterator[str]:
    by = facts.robustness[parcel_id]["dominated_by"]
    if not is_missing(by):
        yield (
            f"{facts.names[str(by)]} is at least as good on everything that counts and better "
            f"on something: no weights put this site before it."
        )


def _lead(pair: Pair, names: dict[str, str]) -> Iterator[str]:
    ahead, behind = names[pair.ahead], names[pair.behind]
    if pair.lead <= 0:
        yield f"{ahead} and {behind} have the same score."
    else:
        most = _points_of(pair.more)
        yield f"{ahead} is ahead of {behind} by {points_text(pair.lead)}{': ' if most else ''}{most}."
    less = _points_of(pair.less)
    if less:
        yield f"{behind} scores higher on {less}."
    elif not pair.unknown and pair.lead > 0:
        yield f"{behind} scores higher on nothing that counts."
    if pair.unknown:
        unknown = joined([criterion_name(name) for name in pair.unknown])
        yield f"Known of only one of the two: {unknown}; unknown counts as 50 of 100."


def _points_of(table: pd.DataFrame) -> str:
    felt = table[table["points"] >= _LEAST_POINTS]
    rows = zip(felt["criterion"], felt["points"], strict=True)
    told = [f"{criterion_name(name)} ({100 * own:.1f})" for name, own in rows]
    more = len(told) - MOST_TOLD
    return joined(told if more <= 1 else [*told[:MOST_TOLD], f"{more} others"])


def _turn(pair: Pair, names: dict[str, str]) -> str:
    """Say which one weight would turn an order."""
    ahead, behind = names[pair.ahead], names[pair.behind]
    if pair.lead <= 0:
        return "Any weight that is moved can part the two."
    told = [
        times_text(row["criterion"], row["factor"]) for row in rows_of(nearest_two(pair.changes))
    ]
    if not told:
        return f"No one weight, moved alone, puts {behind} level with {ahead}."
    return f"{behind} draws level with {ahead} only if {' or '.join(told)}."


def _members(facts: FirmFacts, parcel_id: str) -> Iterator[str]:
    own = [int(rank) for rank in facts.member_ranks.loc[parcel_id].to_numpy()]
    if own and parcel_id in facts.shares:
        yield (
            f"Under the members' own weights: first for {own.count(1)} of {len(own)}, at worst "
            f"{ordinal(max(own))}."
        )


def _links(facts: FirmFacts, parcel_id: str) -> Iterator[str]:
    row = facts.robustness[parcel_id]
    if not is_missing(row["weakest"]):
        worst = points(float(facts.result.firm.scores[row["weakest"]][parcel_id]))
        yield f"Weakest link: {criterion_name(row['weakest'])} ({worst} of 100)."
    if len(facts.result.members):
        sets = "under any member's own weights"
    else:
        sets = "with equal weights or with the order of the weights alone"
    if points(row["regret_max"]) == 0:
        yield f"No site does better, nor would one {sets}."
    else:
        yield f"Never more than {points_text(row['regret_max'])} behind the best site, {sets}."


def _of_all(share: float) -> str:
    if share in {0, 1}:
        return "every weighting there is" if share else "no weighting there is"
    return f"{share_text(share)} of all weightings there are"


def pair_sentences(facts: FirmFacts, one: str, other: str) -> list[str]:
    """Why one ranked site stands before another, and what would turn it."""
    pair, names = facts.pair(one, other), facts.names
    sure = "separable" if pair.probability >= SEPARABLE else "not separable on present data"
    said = [
        *_lead(pair, names),
        f"{names[pair.ahead]} is truly ahead with a chance of {chance_text(pair.probability)}: {sure}.",
        _turn(pair, names),
        f"{names[pair.ahead]} is ahead in {_of_all(pair.share)}.",
    ]
    if pair.probability < SEPARABLE and len(pair.measurements):
        best = rows_of(pair.measurements)[0]
        said.append(
            f"The one visit that would settle most: {criterion_name(best['criterion'])} at "
            f"{names[best['parcel_id']]}. {effect_text(best)}"
        )
    return said
