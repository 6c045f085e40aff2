"""What is found out about money, for reports; all amounts in the study's currency."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from playsite.cost.life import Life
    from playsite.cost.prices import PriceBook

__all__ = ["COST_COLUMNS", "SITE_COST_COLUMNS", "Costs"]

COST_COLUMNS = (
    "parcel_id",
    "line",
    "quantity",
    "unit",
    "price_low",
    "price_mid",
    "price_high",
    "p10",
    "p50",
    "p80",
    "p90",
    "differs_between_sites",
    "source",
)
SITE_COST_COLUMNS = (
    "parcel_id",
    "p10",
    "p50",
    "p80",
    "p90",
    "own_p50",
    "own_p80",
    "above_least_p10",
    "above_least_p50",
    "above_least_p90",
    "is_efficient",
    "unknown",
)


@dataclass(frozen=True)
class Costs:
    """Cost of a study's program, site by site.

    Parameters
    ----------
    book
        Prices, installation, surfacings as used.
    surfacing, installation
        What is priced.
    money_of
        A sentence: in money of when and where.
    lines
        ``COST_COLUMNS`` and ``basis``: every line of every site that was priced, and ``total``.
    sites
        ``SITE_COST_COLUMNS``, a row a site in the order of the ranking: percentiles of the whole,
        of what differs between sites, and of what it costs above the site whose median is least;
        whether no other site scores as well for as little; lines that are not known.
    programs
        ``program, pad_m2, surfacing_m2, p50, p80, unknown``: what is the same at any site, for
        each program.
    lives
        Every surfacing over the years, the cheapest first.
    highest_fall_m, too_shallow
        Highest fall of the program that is known, and surfacings that the handbook's table gives
        no depth for under it.
    installations
        ``way, p50, p80``: what putting the equipment together costs, way by way; missing where
        the equipment is not known.
    common_p50, common_p80
        Of the study's own program, without what a site adds.
    left_out
        Sites that were ranked and not priced.
    notes
        Sentences: what was assumed and what is not known.
    """

    book: PriceBook
    currency: str
    surfacing: str
    installation: str
    money_of: str
    lines: pd.DataFrame
    sites: pd.DataFrame
    programs: pd.DataFrame
    lives: tuple[Life, ...]
    installations: pd.DataFrame
    highest_fall_m: float | None
    too_shallow: tuple[str, ...]
    common_p50: float
    common_p80: float
    left_out: int = 0
    notes: tuple[str, ...] = field(default=())
