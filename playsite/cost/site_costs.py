"""A study's costs: every priced site, what it costs above the least, and who is efficient."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.cost.checking import surfacing_of
from playsite.cost.draws import percentiles
from playsite.cost.estimate import Estimator
from playsite.cost.life import lives_of, not_enough
from playsite.cost.lines import common_lines, site_lines
from playsite.cost.record import COST_COLUMNS, SITE_COST_COLUMNS, Costs
from playsite.program.surface import surface_of

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from playsite._cost_settings import CostTable
    from playsite.cost.estimate import Estimate, Row
    from playsite.cost.lines import SiteFacts
    from playsite.cost.prices import PriceBook
    from playsite.program import RequiredPad

__all__ = ["MOST_SITES", "costs_of", "efficient"]

MOST_SITES = 200
"""Sites that are priced, best first; the others are told as left out."""


def costs_of(
    cost: CostTable,
    book: PriceBook,
    pad: RequiredPad,
    sites: Sequence[SiteFacts],
    scores: Mapping[str, float],
    *,
    asked: str | None = None,
    beside: Mapping[str, RequiredPad] | None = None,
) -> Costs:
    """Price a program at each site.

    Parameters
    ----------
    cost, book
        What the study says of money, and its prices.
    pad, beside
        The program and those beside it, worked out.
    sites
        Best first.
    scores
        By parcel; they only say who is efficient, and nothing here goes back into them.
    asked
        Surfacing that the program names.
    """
    surfacing = surfacing_of(cost, asked)
    estimator = Estimator(cost, book)
    common = common_lines(pad, cost, book, surfacing)
    counted = estimator.counted(common)
    alone = estimator.estimate(counted)
    surface = surface_of(pad)
    priced = {
        facts.parcel_id: estimator.estimate(counted, site_lines(facts, surface, cost, book), facts)
        for facts in sites[:MOST_SITES]
    }
    total = percentiles(alone.draws)
    highest_m, too_shallow = not_enough(pad, book.surfacing)
    return Costs(
        book=book,
        currency=cost.currency,
        surfacing=surfacing,
        installation=cost.installation,
        money_of=_money_of(cost, book),
        lines=_lines(priced),
        sites=_sites(priced, scores),
        programs=_programs(estimator, {"the study's own": pad, **(beside or {})}, surfacing),
        lives=lives_of(surface.area_m2, cost, book),
        installations=estimator.installations(common),
        highest_fall_m=highest_m,
        too_shallow=too_shallow,
        common_p50=total[1],
        common_p80=total[2],
        left_out=max(len(sites) - MOST_SITES, 0),
        notes=_notes(cost, book, surface.basis),
    )


def efficient(
    costs: Mapping[str, float],
    scores: Mapping[str, float],
    unknown: Mapping[str, Collection[str]] | None = None,
) -> set[str]:
    """Sites that no other site beats: as good a score for less, or a better one for as little.

    Parameters
    ----------
    costs, scores
        By parcel; one without either is left out.
    unknown
        By parcel, lines that are in no figure: a site is only beaten by one of which all is known
        that is known of it, since else what is not known would make the better one.

    Examples
    --------
    >>> sorted(efficient({"A": 400, "B": 500, "C": 450}, {"A": 0.6, "B": 0.8, "C": 0.5}))
    ['A', 'B']
    """
    names = [
        site for site, money in costs.items()
        if not (math.isnan(money) or math.isnan(scores.get(site, math.nan)))
    ]  # fmt: skip
    open_ = {site: set((unknown or {}).get(site, ())) for site in names}

    def beats(other: str, site: str) -> bool:
        more, less = scores[other] - scores[site], costs[site] - costs[other]
        return more >= 0 and less >= 0 and (more > 0 or less > 0) and open_[other] <= open_[site]

    return {site for site in names if not any(beats(other, site) for other in names)}


def _lines(priced: Mapping[str, Estimate]) -> pd.DataFrame:
    rows = [
        (parcel, row.name, row.quantity, row.unit, *row.prices, *row.money, row.differs, _source(row), row.basis)
        for parcel, estimate in priced.items()
        for row in estimate.rows
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=[*COST_COLUMNS, "basis"])


def _source(row: Row) -> str:
    """Source of a line; why it is not known, where it isn't."""
    if not math.isnan(row.money[1]):
        return row.source
    return "; ".join(filter(None, [f"not known: {row.basis}", row.source]))


def _sites(priced: Mapping[str, Estimate], scores: Mapping[str, float]) -> pd.DataFrame:
    medians = {parcel: float(np.median(each.draws)) for parcel, each in priced.items()}
    best = efficient(medians, scores, {parcel: each.unknown for parcel, each in priced.items()})
    rows = []
    for parcel, each in priced.items():
        least = min(medians, key=lambda name: medians[name])
        own, above = percentiles(each.own), percentiles(each.draws - priced[least].draws)
        spread = (own[1], own[2], above[0], above[1], above[3])
        unknown = ", ".join(each.unknown)
        rows.append((parcel, *percentiles(each.draws), *spread, parcel in best, unknown))
    return pd.DataFrame(rows, columns=list(SITE_COST_COLUMNS))


def _programs(
    estimator: Estimator, pads: Mapping[str, RequiredPad], surfacing: str
) -> pd.DataFrame:
    rows = []
    for name, pad in pads.items():
        lines = common_lines(pad, estimator.cost, estimator.book, surfacing)
        found = estimator.estimate(estimator.counted(lines))
        _, p50, p80, _ = percentiles(found.draws)
        rows.append(
            (name, pad.area_m2, surface_of(pad).area_m2, p50, p80, ", ".join(found.unknown))
        )
    columns = ["program", "pad_m2", "surfacing_m2", "p50", "p80", "unknown"]
    return pd.DataFrame(rows, columns=columns)


def _money_of(cost: CostTable, book: PriceBook) -> str:
    if cost.built is None:
        return f"in {cost.currency} of {book.year}: escalation is not counted, since [cost] built is not given"
    return f"in {cost.currency} of {cost.built:%B %Y}, the middle of construction"


def _notes(cost: CostTable, book: PriceBook, basis: str) -> tuple[str, ...]:
    own = len(set(book.own))
    where = f"ranges for the United States of {book.year}, most common practice without a source"
    together = f"any two of them by a correlation of {cost.correlation_pct:g}%"
    said = [
        f"Prices: {own} of {len(book.prices)} are the study's own; the others are {where}.",
        f"Surfacing is measured as {basis}.",
        f"Prices move together: {together} (common practice, no source).",
    ]
    if cost.place_factor != 1.0:
        source = cost.place_factor_source or "without a source"
        said.append(f"Prices are times {cost.place_factor:g} for the place ({source}).")
    if cost.exchange is not None:
        source = cost.exchange_source or "without a source"
        said.append(f"Shipped prices are times {cost.exchange:g} into {cost.currency} ({source}).")
    return tuple(said)
