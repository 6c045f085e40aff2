"""What residents said, in sentences: beside the score, never in it."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from playsite.report.firm_facts import criterion_name, rows_of
from playsite.report.plain_text import one_line
from playsite.report.wording import joined

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from playsite.ranking.ballots import Ballots, Count
    from playsite.result import Result

__all__ = ["BESIDE", "all_sites", "ballot_sentences", "comment_lines", "site_ballot_sentence"]

BESIDE = (
    "People chose to answer, so this is no sample of the town; it stands beside the score, never "
    "in it."
)
_MOST_PLACES, _MOST_TOPICS = 6, 4


def all_sites(result: Result) -> dict[str, str]:
    """Name of every parcel in a sentence, ranked or not: "Site 4"."""
    numbers = zip(result.sites["parcel_id"], result.sites["site_no"], strict=True)
    return {str(parcel): f"Site {number}" for parcel, number in numbers}


def ballot_sentences(result: Result) -> list[str]:
    """Who answered, and what the counts say, agreeing or not; empty without ballots."""
    ballots = result.ballots
    if ballots is None:
        return []
    names = all_sites(result)
    said = [_who(ballots), *_where(ballots), BESIDE, *_verdicts(ballots.counts["all"], names)]
    if "children" in ballots.counts:
        said += [f"Children alone: {text}" for text in _verdicts(ballots.counts["children"], names)]
    return said


def _who(ballots: Ballots) -> str:
    count = ballots.counts["all"].ballots
    asked = ""
    if ballots.invited:
        asked = f" of {ballots.invited:,} people asked ({100 * count / ballots.invited:.0f}%)"
    again = (
        f"; left out because their number came before: {ballots.again:,}" if ballots.again else ""
    )
    if ballots.again_otherwise:
        again += f" ({ballots.again_otherwise:,} with another vote; the first one counts)"
    children = ballots.counts.get("children")
    own = f"; of children: {children.ballots:,}" if children else ""
    return f"Ballots counted: {count:,}{asked}{again}{own}."


def _where(ballots: Ballots) -> Iterator[str]:
    places = [(str(place), int(count)) for place, count in ballots.places.items()]
    named = [f"{place} {count:,}" for place, count in places if place]
    if not named:
        yield "Where voters live was not asked."
        return
    more = len(named) - _MOST_PLACES
    rest = [f"{more} other places"] if more > 0 else []
    unsaid = [f"not said {count:,}" for place, count in places if not place]
    yield f"Where they live: {joined([*named[:_MOST_PLACES], *rest, *unsaid])}."


def _verdicts(count: Count, names: dict[str, str]) -> Iterator[str]:
    """Say who is first by each way of counting, whether they agree, and any ring."""
    firsts: dict[str, list[str]] = {}
    for column, way in (("approvals", "by approval"), ("points", "by points for place")):
        best = count.table[column]
        if best.notna().any():
            firsts[way] = [str(site) for site in count.table.index[best == best.max()]]
    if count.winner is not None:
        firsts["two by two"] = [count.winner]
    ways: dict[tuple[str, ...], list[str]] = {}
    for way, sites in firsts.items():
        ways.setdefault(tuple(sites), []).append(way)
    if len(ways) == 1:
        ((first, same),) = ways.items()
        yield f"First {joined(same)}: {joined([names[site] for site in first])}."
    elif ways:
        told = [f"{joined([names[s] for s in some])} {joined(own)}" for some, own in ways.items()]
        yield f"The counts disagree: first is {joined(told)}."
    for ring in count.cycles:
        yield f"Two by two there is a ring: {_ring(count, ring, names)}. No order suits a majority."
    if count.ordering and count.winner is None and not count.cycles:
        yield "Two by two nobody beats every other."


def _ring(count: Count, ring: tuple[str, ...], names: dict[str, str]) -> str:
    """Give one way round: who beats whom."""
    sites = [str(site) for site in count.before.index]
    votes = count.before.to_numpy(float)
    ahead = votes > votes.T
    beats = {
        one: [other for other in ring if ahead[sites.index(one), sites.index(other)]]
        for one in ring
    }
    way = [ring[0]]
    while way[-1] not in way[:-1]:
        way.append(beats[way[-1]][0])
    way = way[way.index(way[-1]) :]
    return joined([f"{names[one]} beats {names[other]}" for one, other in pairwise(way)])


def site_ballot_sentence(result: Result, parcel_id: str) -> str:
    """What residents said of one site; empty where no ballot and no comment names it."""
    ballots = result.ballots
    if ballots is None:
        return ""
    count, said = ballots.counts["all"], []
    for row in rows_of(count.table[count.table.index == parcel_id]):
        if count.approving:
            share = 100 * row["approvals"] / count.approving
            said.append(f"{share:.0f}% of {count.approving:,} ballots approve it")
        if count.ordering:
            said.append(f"{row['first_choices']:.0f} of {count.ordering:,} put it first")
    about = ballots.comments[ballots.comments["parcel_id"] == parcel_id]["criterion"]
    tail = ""
    if len(about):
        said.append(f"{len(about):,} comment{'s' if len(about) != 1 else ''}")
        topics = [
            f"{criterion_name(topic) if topic else 'something else'} {count:,}"
            for topic, count in about.value_counts(sort=True).items()
        ]
        tail = f": {joined([*topics[:_MOST_TOPICS], *_others(topics)])}"
    return f"Residents, beside the score: {joined(said)}{tail}." if said else ""


def _others(topics: Sequence[str]) -> list[str]:
    more = len(topics) - _MOST_TOPICS
    return [f"{more} other questions"] if more > 0 else []


def comment_lines(result: Result, parcel_id: str) -> list[str]:
    """Comments on one site in full, by the question they are about."""
    if result.ballots is None:
        return []
    comments = result.ballots.comments
    own = comments[(comments["parcel_id"] == parcel_id) & (comments["comment"] != "")]
    return [
        f"{criterion_name(row['criterion']) if row['criterion'] else 'something else'}: "
        f"{one_line(row['comment'])}"
        for row in rows_of(own.sort_values("criterion", kind="stable"))
    ]
