"""Made-up settings, ground and sites for tests of money."""

from __future__ import annotations

import functools
from pathlib import Path

from made_up_program import SEVEN_PIECES, pad_of

from playsite._cost_settings import CostTable
from playsite.cost.estimate import Estimator
from playsite.cost.lines import Ground, SiteFacts, common_lines, site_lines
from playsite.cost.prices import price_book
from playsite.problems import Problems
from playsite.program.surface import surface_of

GROUND = Ground(
    cut_m3=40.0,
    import_m3=0.0,
    export_m3=260.0,
    plus_minus_m3=10.0,
    topsoil_m3=110.0,
    boxout_m3=230.0,
    wall_m2=0.0,
)


@functools.cache
def seven_pieces():
    return pad_of(SEVEN_PIECES)


def cost_table(**given) -> CostTable:
    return CostTable.model_validate(given)


def book_of(cost: CostTable, folder: Path = Path()):
    problems = Problems()
    book = price_book(cost, folder, problems)
    problems.stop_if_any()
    return book


def facts(parcel="P-1", **given) -> SiteFacts:
    usual = {"ground": GROUND, "trees_removed": 0, "trees_protected": 0, "street_m": 30.0}
    return SiteFacts(parcel, (31.7, 22.7), **{**usual, **given})


def estimate(cost: CostTable | None = None, site: SiteFacts | None = None, pad=None):
    cost = cost or cost_table()
    book, pad = book_of(cost), pad or seven_pieces()
    common = common_lines(pad, cost, book, cost.surfacing or "engineered wood fiber")
    own = [] if site is None else site_lines(site, surface_of(pad), cost, book)
    estimator = Estimator(cost, book)
    return estimator.estimate(estimator.counted(common), own, site)


def rows_of(found):
    return {row.name: row for row in found.rows}
