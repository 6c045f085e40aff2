"""What ``[cost]``, ``[charter]``, ``[[funding]]`` and ``[schedule]`` of a study file may say.

Shapes and units only; names of prices, surfacings and parcels are checked by those who own them.
"""

from __future__ import annotations

import datetime as dt
import re
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from playsite.units import metres, percent

__all__ = [
    "INSTALLATIONS",
    "CharterTable",
    "CostTable",
    "FundTable",
    "IndexTable",
    "MustHaveTable",
    "ScheduleTable",
    "year_of",
]

INSTALLATIONS = ("own crew", "supervised", "professional")
"""Who puts the equipment together."""

_MONEY = re.compile(r"^\s*\$?\s*(\d{1,3}(?:,\d{3})+|\d+)(\.\d+)?\s*$")
_MONTH = re.compile(r"^(\d{4})(?:-(\d{1,2}))?(?:-(\d{1,2}))?$")


def _money(given: object) -> float:
    """Amount in the study's currency: a number, or a text such as ``"$450,000"``."""
    if isinstance(given, (int, float)) and not isinstance(given, bool):
        return float(given)
    found = _MONEY.match(given) if isinstance(given, str) else None
    if found is None:
        raise ValueError(
            f"{given!r} is not an amount of money: write it in the study's currency, such as "
            '450000 or "$450,000"'
        )
    return float(found[1].replace(",", "") + (found[2] or ""))


def _day(given: object) -> dt.date:
    """Day of a TOML date or a text: a year alone is its last day, a month its last day."""
    if isinstance(given, dt.datetime):
        return given.date()
    if isinstance(given, dt.date):
        return given
    found = _MONTH.match(given.strip()) if isinstance(given, str) else None
    try:
        day = None if found is None else _last_day(*(int(part or 0) for part in found.groups()))
    except ValueError:
        day = None
    if day is None:
        raise ValueError(
            f'{given!r} is not a day: write it as "2027-06-30", or "2027-06" for the end of June'
        )
    return day


def _last_day(year: int, month: int, day: int) -> dt.date:
    """Day, or the last of a month or of a year where only these are given (the rest 0)."""
    if day:
        return dt.date(year, month, day)
    first = dt.date(year, month or 12, 1)
    month = first.month
    return dt.date(year + month // 12, month % 12 + 1, 1) - dt.timedelta(days=1)


def year_of(day: dt.date) -> float:
    """Day as a number of years, for escalation.

    Examples
    --------
    >>> year_of(dt.date(2027, 7, 2))
    2027.5
    """
    return round(day.year + (day.timetuple().tm_yday - 1) / 365, 2)


Money = Annotated[float, BeforeValidator(_money), Field(ge=0, le=1e10, allow_inf_nan=False)]
Day = Annotated[dt.date, BeforeValidator(_day)]
Share = Annotated[float, BeforeValidator(percent), Field(ge=0, le=100)]
Length = Annotated[float, BeforeValidator(metres), Field(gt=0, le=100_000)]
Factor = Annotated[float, Field(gt=0, le=1000, allow_inf_nan=False)]
Amounts = dict[str, float | int | str]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False)


class IndexTable(_Table):
    """A published index of construction cost: where it stood in the prices' year, and now."""

    then: Factor
    now: Factor
    now_is: Day
    source: str


class CostTable(_Table):
    """What is built by whom, at which prices, in money of when and where."""

    installation: Literal["own crew", "supervised", "professional"] = "professional"
    surfacing: str | None = None
    equipment: Literal["neighborhood", "large", "inclusive destination"] | None = None
    """Size of the playground, where the program lists no pieces."""
    prices: str | None = None
    bids: str | None = None
    currency: str = "USD"
    exchange: Factor | None = None
    exchange_source: str | None = None
    place_factor: Annotated[float, Field(gt=0.2, lt=5)] = 1.0
    place_factor_source: str | None = None
    built: Day | None = None
    """Middle of construction: prices are brought to it."""
    escalation_pct: Share | None = Field(None, alias="escalation")
    escalation_source: str | None = None
    index: IndexTable | None = None
    rate_pct: Share = Field(3.0, alias="rate")
    years: Annotated[int, Field(ge=1, le=60)] = 20
    upkeep_growth_pct: Share = Field(0.0, alias="upkeep_growth")
    correlation_pct: Share = Field(50.0, alias="correlation")
    restroom_within_m: Length | None = Field(None, alias="restroom_within")
    """Where no restroom lies within this walk, one is priced."""
    parking_within_m: Length | None = Field(None, alias="parking_within")
    parking_spaces: Annotated[int, Field(ge=1, le=1000)] = 8
    """Spaces that are priced where none lie within that walk."""
    extras: Amounts = {}
    """Further lines by the name of their price, for every site."""
    sites: dict[str, Amounts] = {}
    """By parcel: quantities that someone has found, by the name of the line."""

    @model_validator(mode="after")
    def _hangs_together(self) -> CostTable:
        if self.escalation_pct is not None and self.built is None:
            raise ValueError('"escalation" needs the key "built", such as built = "2027-06"')
        return self


class MustHaveTable(_Table):
    """One thing that must be; with a criterion and a limit it is checked, else people check it."""

    text: str
    criterion: str | None = None
    at_most: str | float | int | None = None
    at_least: str | float | int | None = None

    @model_validator(mode="before")
    @classmethod
    def _bare_text(cls, given: Any) -> Any:
        return {"text": given} if isinstance(given, str) else given

    @model_validator(mode="after")
    def _says_enough(self) -> MustHaveTable:
        limits = [limit for limit in (self.at_most, self.at_least) if limit is not None]
        if (self.criterion is None) != (not limits) or len(limits) > 1:
            raise ValueError(
                'a must-have is a text alone, or has "criterion" and one of "at_most" and "at_least"'
            )
        return self


class CharterTable(_Table):
    """Why, who decides, by when, with what money, and what is not up for debate."""

    goals: list[str] = []
    decides: str | None = None
    budget_cap: Money | None = None
    deadline: Day | None = None
    money_strings: list[str] = []
    must_haves: list[MustHaveTable] = []
    off_limits: list[str] = []
    """Parcels that are not to be built on, by their ids."""


class FundTable(_Table):
    """One source of money."""

    name: str
    amount: Money
    """The most that it gives."""
    match_pct: Share = Field(0.0, alias="match")
    """Least share of the cost that others must bring."""
    state: Literal["in hand", "applied for", "hoped for"] = "hoped for"
    apply_by: Day | None = None
    spend_by: Day | None = None
    strings: list[str] = []


class ScheduleTable(_Table):
    """When work on the project may begin."""

    start: Day
    notice_days: Annotated[int, Field(ge=1, le=15)] = 3
    """Business days between the one-call ticket and the first digging, by the state's law."""
