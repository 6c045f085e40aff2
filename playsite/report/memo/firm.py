"""How firm is this? Shares of weightings, near-ties, and what would change the order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from playsite.ranking.near_ties import SEPARABLE
from playsite.report.firm_facts import FirmFacts, chance_text, criterion_name, share_text
from playsite.report.firm_whole import firm_sentences, group_sentences
from playsite.report.firm_words import WEIGHTINGS
from playsite.report.memo.blocks import Bullets, Figure, Heading, Paragraph, Table
from playsite.report.memo.firm_chart import shares_pictures
from playsite.report.memo.readings import rows_of
from playsite.report.wording import is_missing, joined, ordinal, points

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings

__all__ = ["clear_lead_sentence", "firm_rows", "how_firm", "too_close_sentence"]

_MOST = 8


def too_close_sentence(facts: FirmFacts) -> str:
    """Name the sites that present data can't tell from the first; empty where the lead is clear."""
    names, near = facts.names, facts.too_close
    if facts.leader is None or not near:
        return ""
    first = names[facts.leader]
    if len(near) > 4:
        return (
            f"{len(near)} other sites are too close to {first} to call: on present data the order "
            f"among them is not settled."
        )
    verb = "is" if len(near) == 1 else "are"
    who = joined([names[parcel] for parcel in near])
    return f"{who} {verb} too close to {first} to call: not separable on present data."


def how_firm(readings: Readings, page: Page) -> Iterator[Block]:
    """Give the sentence, the table, the chart, and what would change the order."""
    facts = readings.firm
    if not readings.result.shows_order or not facts.shares:
        return
    yield Heading("How firm is this?")
    yield Paragraph(
        too_close_sentence(facts) or clear_lead_sentence(facts),
        "judgment",
        evidence=("F",),
    )
    yield _table(facts, page)
    yield _chart(facts, page)
    yield Bullets(tuple(firm_sentences(facts, group=False)), evidence=_keys(readings))
    yield from _group(facts, page)
    yield Paragraph(
        "Shares of weightings vary the weights alone; what is unknown stays at its middle. Probabilities vary "
        "measured values within their intervals and unknown ones from 0 to 100, each site apart from the "
        f"others, which is on the side of “not separable”{_shared(facts)}. All sites stand in robustness.csv, "
        "near ones two by two in pairs.csv.",
        "note",
        evidence=("F",),
    )


def _keys(readings: Readings) -> tuple[str, ...]:
    return ("F", *(f"F{site['site_no']}" for site in readings.short_list))


def _group(facts: FirmFacts, page: Page) -> Iterator[Block]:
    """Give the spread of the members' weights, and the first sites under each member's own."""
    members = facts.result.members
    if members.empty:
        return
    yield Heading("The weights of the working group", 2)
    for sentence in group_sentences(facts):
        yield Paragraph(sentence, evidence=("F",))
    used = {each.name: each.weight for each in facts.result.criteria}
    order = sorted(members.columns, key=lambda name: -used[name])
    yield Table(
        "Weights that the members gave: used, least, most",
        ("Question", "Used", "Least", "Most"),
        tuple(
            (
                criterion_name(name).capitalize(),
                *(
                    f"{100 * share:.0f}%"
                    for share in (used[name], members[name].min(), members[name].max())
                ),
            )
            for name in order
        ),
        tuple(page.text_mm * share for share in (0.4, 0.2, 0.2, 0.2)),
        evidence=("F",),
    )
    ranks = facts.member_ranks
    rows = []
    for member in ranks.columns:
        own = ranks[member].sort_values(kind="stable").head(3)
        rows.append((str(member), *(facts.names[str(site)] for site in own.index)))
    yield Table(
        "First sites under each member's own weights",
        ("Member", "First", "Second", "Third"),
        tuple(rows),
        tuple(page.text_mm * share for share in (0.4, 0.2, 0.2, 0.2)),
        evidence=("F",),
    )


def _shared(facts: FirmFacts) -> str:
    """Say of which criteria all sites share a part of the error."""
    chosen = [each for each in facts.result.criteria if each.shared_error and each.weight]
    told = [f"{criterion_name(each.name)} {100 * each.shared_error:.0f}%" for each in chosen]
    return f"; but for the part of an error that all sites share ({joined(told)})" if told else ""


def clear_lead_sentence(facts: FirmFacts) -> str:
    """Say that the first place is clear, or shared."""
    if facts.leader is None:
        return "The first place is shared: the scores are the same."
    return (
        f"{facts.names[facts.leader]} is truly ahead of each other site with a chance of {100 * SEPARABLE:.0f}% or more, "
        f"measuring errors and unknowns taken together."
    )


def firm_rows(facts: FirmFacts) -> list[tuple[str, ...]]:
    """Rows of the table of the foremost sites."""
    names, sites = facts.names, list(facts.shares)
    pairs = {(row["ahead"], row["behind"]): row for row in rows_of(facts.result.firm.pairs)}
    rows: list[tuple[str, ...]] = []
    for place, parcel in enumerate(sites[:_MOST]):
        own = facts.robustness[parcel]
        after = sites[place + 1] if place + 1 < len(sites) else ""
        pair = pairs.get((parcel, after))
        by = own["dominated_by"]
        rows.append(
            (
                ordinal(facts.rank[parcel]),
                names[parcel],
                share_text(float(own["rank_1_share"])),
                share_text(min(float(own["top_3_share"]), 1.0)),
                _ahead_of_next(pair, facts) if pair else "",
                "" if is_missing(own["weakest"]) else criterion_name(own["weakest"]),
                "" if is_missing(by) else names[by],
                f"{points(own['regret_max'])}",
            )
        )
    return rows


def _table(facts: FirmFacts, page: Page) -> Table:
    head = ("Rank", "Site", "First in", "First three in", "Ahead of the next with", "Weakest link",
            "Never before", "Most points behind")  # fmt: skip
    shares = (0.07, 0.1, 0.09, 0.11, 0.24, 0.15, 0.12, 0.12)
    return Table(
        f"How firm each place is, over {WEIGHTINGS}",
        head,
        tuple(firm_rows(facts)),
        tuple(page.text_mm * share for share in shares),
        bold=(0,),
        evidence=("F",),
    )


def _ahead_of_next(pair: dict[str, Any], facts: FirmFacts) -> str:
    ahead, behind = pair["ahead"], pair["behind"]
    if facts.rank[ahead] == facts.rank[behind]:
        return f"tied with {facts.names[behind]}"
    said = f"{chance_text(float(pair['probability']))}, {facts.names[behind]}"
    return said if pair["separable"] else f"{said}: too close to call"


def _chart(facts: FirmFacts, page: Page) -> Figure:
    drawn, height_mm = shares_pictures(facts, page.text_mm)
    firsts = {site: shares[0] for site, shares in facts.shares.items()}
    names = facts.names
    best = max(firsts, key=lambda site: firsts[site])
    listed = joined(
        [f"{names[site]} {share_text(share)}" for site, share in list(firsts.items())[:5]]
    )
    return Figure(
        drawn=drawn,
        width_mm=page.text_mm,
        height_mm=height_mm,
        alt=f"Bars of how often each site has each rank. First: {listed}.",
        finding=f"{names[best]} comes first in {share_text(firsts[best])} of the weightings.",
        key=f"Share of {WEIGHTINGS} in which a site has each rank: darkest 1st, then 2nd to 5th, white "
        "lower. Numbers are percents.",
        evidence=("F",),
    )
