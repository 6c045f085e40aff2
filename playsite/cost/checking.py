"""What a study says of money, held against the book of prices: names, units, parcels."""

from __future__ import annotations

import datetime as dt
from functools import partial
from typing import TYPE_CHECKING

from playsite._cost_settings import CostTable
from playsite.cost.calendar import calendar_of
from playsite.cost.lines import amount_in
from playsite.cost.prices import price_book
from playsite.problems import nearest_word

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from typing import Any

    from playsite.cost.prices import PriceBook
    from playsite.problems import Problems
    from playsite.settings import Settings

__all__ = ["check_cost", "check_parcels", "surfacing_of"]

USUAL = "engineered wood fiber"
_SAME_AS = {"unitary": "poured in place"}


def check_cost(settings: Settings, problems: Problems) -> PriceBook:
    """Give the study's book of prices; every wrong name and unit goes to the problems."""
    cost = settings.cost or CostTable()
    book = price_book(cost, settings.folder, problems)
    at = partial(settings.place, "cost")
    if cost.surfacing is not None and cost.surfacing not in book.surfacing:
        what = f'no surfacing is called "{cost.surfacing}".'
        problems.add(what, nearest_word(cost.surfacing, book.surfacing), **at("surfacing"))
    _check_amounts(cost.extras, book, problems, partial(at, "extras"))
    for parcel, amounts in cost.sites.items():
        _check_amounts(amounts, book, problems, partial(at, "sites", parcel))
    try:
        calendar_of(book.steps, dt.date(2026, 1, 1), (), notice_days=1)
    except ValueError as error:
        problems.add(f"{error}.", "Mend [[steps]] of the file of prices.", **at("prices"))
    for name in set(book.surfacing) - set(book.prices):
        problems.add(f'the surfacing "{name}" has no price.', f'Add "{name}" to [prices].')
    return book


def check_parcels(settings: Settings, parcels: Iterable[str], problems: Problems) -> None:
    """Add parcels that the money's tables name and the study doesn't have."""
    known = set(parcels)
    cost, charter = settings.cost, settings.charter
    named: list[tuple[str, tuple[str, ...]]] = []
    named += [(parcel, ("cost", "sites", parcel)) for parcel in (cost.sites if cost else ())]
    off_limits = charter.off_limits if charter else ()
    named += [(parcel, ("charter", "off_limits")) for parcel in off_limits]
    for parcel, keys in named:
        if parcel not in known:
            what = f'no parcel is called "{parcel}".'
            problems.add(what, nearest_word(parcel, known), **settings.place(*keys))


def surfacing_of(cost: CostTable, asked: str | None) -> str:
    """Surfacing that is priced: as the money's table says, else the program, else wood fiber."""
    return cost.surfacing or _SAME_AS.get(asked or "", asked or USUAL)


def _check_amounts(
    amounts: dict[str, float | int | str],
    book: PriceBook,
    problems: Problems,
    at: Callable[..., dict[str, Any]],
) -> None:
    for name, amount in amounts.items():
        if name not in book.prices or book.prices[name].unit == "share":
            what = f'no line is called "{name}".'
            problems.add(what, nearest_word(name, book.prices), **at(name))
            continue
        try:
            amount_in(book.prices[name], amount)
        except ValueError as error:
            problems.add(f"{error}.", **at(name))
