"""Sentences about money, for the command, the memo and the map's card alike."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from playsite.report.money import money_text
from playsite.report.plain_text import one_line
from playsite.report.wording import joined, records

if TYPE_CHECKING:
    from playsite.cost.record import Costs
    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = [
    "COST_CAUTION",
    "card_sentences",
    "class_sentence",
    "differs_sentence",
    "least_sentence",
    "not_in_it_sentence",
    "site_costs",
    "summary_sentence",
    "total_sentence",
    "unlike_sentence",
]

COST_CAUTION = "A screening estimate from map data, no bid. Local prices and a licensed designer's estimate go first."


def site_costs(costs: Costs) -> dict[str, dict[str, Any]]:
    """Costs of each priced site by its parcel."""
    return {str(row["parcel_id"]): dict(row) for row in records(costs.sites)}


def total_sentence(row: dict[str, Any], currency: str) -> str:
    """Even odds and the budget: the two figures that a council needs."""
    p50, p80 = money_text(row["p50"], currency), money_text(row["p80"], currency)
    return f"Even odds that it costs less than {p50}; budget {p80}."


def summary_sentence(result: Result, site: Row) -> str:
    """One line on money for the first page; empty where the site was not priced."""
    costs = result.costs
    row = None if costs is None else site_costs(costs).get(str(site["parcel_id"]))
    if costs is None or row is None:
        return ""
    said = total_sentence(row, costs.currency)
    left = " Some lines are not known, and in no figure." if row["unknown"] else ""
    return f"Site {site['site_no']}: {said[:1].lower()}{said[1:]}{left} Cost is in no score."


def differs_sentence(row: dict[str, Any], currency: str) -> str:
    """What this site adds to what is the same anywhere."""
    own = money_text(row["own_p50"], currency)
    low, high = (money_text(row[name], currency) for name in ("above_least_p10", "above_least_p90"))
    if row["above_least_p50"] == 0:
        return f"About {own} of it is this site's own; no site costs less."
    more = money_text(row["above_least_p50"], currency)
    return (
        f"About {own} of it is this site's own; it costs about {more} more than the least dear "
        f"site (likely {low} to {high})."
    )


def least_sentence(result: Result) -> str:
    """How far the choice of a site moves the cost; empty with fewer than two sites."""
    costs = result.costs
    if costs is None or len(costs.sites) < 2:
        return ""
    spread = money_text(float(costs.sites["above_least_p50"].max()), costs.currency)
    same = money_text(costs.common_p50, costs.currency)
    return (
        f"About {same} is the same wherever it is built. Between the least and the most dear site "
        f"lie about {spread}."
    )


def unlike_sentence(costs: Costs) -> str:
    """Warn where the sites are not known alike; empty where they are."""
    if costs.sites["unknown"].nunique() < 2:
        return ""
    return (
        "The sites are not known alike: a line that is not known is in no figure, so a site that "
        "is less known looks less dear."
    )


def class_sentence(costs: Costs) -> str:
    """Class of the estimate and how far such estimates are off."""
    book = costs.book
    low, high = book.low_pct, book.high_pct
    return (
        f"This is an estimate of {book.kind}: what is paid in the end may well be {abs(low[1]):g} "
        f"to {abs(low[0]):g}% less, or {high[0]:g} to {high[1]:g}% more ({book.kind_source}). "
        "The percentiles show what prices and ground may do to these lines; they don't know of "
        "lines that are missing."
    )


def not_in_it_sentence(row: dict[str, Any]) -> str:
    """Lines that are not known, and so in no figure; empty where there are none."""
    names = [name for name in str(row["unknown"] or "").split(", ") if name]
    return f"Not known, and in no figure: {joined(names)}." if names else ""


def card_sentences(result: Result, parcel_id: str) -> list[str]:
    """What the card of a site says of money; empty where it was not priced."""
    costs = result.costs
    row = None if costs is None else site_costs(costs).get(parcel_id)
    if costs is None or row is None:
        return []
    said = [total_sentence(row, costs.currency), differs_sentence(row, costs.currency)]
    said += [not_in_it_sentence(row), f"All {one_line(costs.money_of)}."]
    return [text for text in said if text]
