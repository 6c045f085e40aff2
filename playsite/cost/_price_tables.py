"""Shape of a file of prices: what each of its tables may say."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from playsite.units import LENGTHS_M

__all__ = ["SI_OF_UNIT", "EventTable", "PriceFile", "PriceTable", "Ranged", "StepTable"]

_FOOT_M, _YARD_M = LENGTHS_M["ft"], LENGTHS_M["yd"]
SI_OF_UNIT: dict[str, tuple[str, float]] = {
    "sq ft": ("m2", _FOOT_M**2),
    "m2": ("m2", 1.0),
    "cu yd": ("m3", _YARD_M**3),
    "m3": ("m3", 1.0),
    "ft": ("m", _FOOT_M),
    "m": ("m", 1.0),
    "each": ("each", 1.0),
    "bay": ("each", 1.0),
    "lump": ("lump", 1.0),
    "share": ("share", 1.0),
}
"""Unit of a price to the unit that is used inside, and how much of that one of it is."""

Amount = Annotated[float, Field(ge=0, le=1e9, allow_inf_nan=False)]
Chance = Annotated[float, Field(ge=0, le=1)]
Unit = Literal["sq ft", "m2", "cu yd", "m3", "ft", "m", "each", "bay", "lump", "share"]
Year = Annotated[int, Field(ge=1980, le=2100)]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Ranged(_Table):
    """The ends of a range and, if it leans, where it is likeliest."""

    low: Amount
    likely: Amount | None = None
    high: Amount
    source: str

    @model_validator(mode="after")
    def _rises(self) -> Ranged:
        if not self.low <= self.middle <= self.high:
            raise ValueError("low, likely and high must rise")
        return self

    @property
    def middle(self) -> float:
        """The likeliest, or the middle."""
        return (self.low + self.high) / 2 if self.likely is None else self.likely


class PriceTable(Ranged):
    """One price."""

    unit: Unit
    year: Year | None = None


class _Material(_Table):
    low: Amount
    high: Amount
    years: str
    source: str


class UpkeepTable(Ranged):
    """One thing that a surfacing asks for, every so many years."""

    what: str
    every: Annotated[int, Field(ge=1, le=60)]
    unit: Literal["share", "sq ft", "m2", "lump"]


class SurfacingTable(_Table):
    """A kind of surfacing over its life; its first cost is the price of the same name."""

    accessible: str
    laid_by: str
    kept_by: str
    material_only: _Material | None = None
    upkeep: list[UpkeepTable]


class InstallationTable(_Table):
    """A way to have the equipment put together."""

    share: Ranged
    people: str
    tools: str
    days: tuple[Amount, Amount]
    qualification: str
    warranty: str


class EventTable(_Table):
    """What may be found in the ground: its chance by what was measured, and what it then costs."""

    by: str
    steps: list[tuple[float, Chance]]
    unknown: Chance
    low: Amount | None = None
    high: Amount | None = None
    share_of_dug: tuple[Chance, Chance] | None = None
    source: str

    @model_validator(mode="after")
    def _one_amount(self) -> EventTable:
        lump = self.low is not None and self.high is not None and self.low <= self.high
        if lump == (self.share_of_dug is not None):
            raise ValueError("give low and high, or share_of_dug")
        return self


class StepTable(_Table):
    """A step of the project."""

    name: str
    who: str
    weeks: tuple[Amount, Amount, Amount]
    after: list[str] = []
    only: Literal["wetland", "floodplain", "wall"] | None = None
    digs: bool = False

    @model_validator(mode="after")
    def _rises(self) -> StepTable:
        if list(self.weeks) != sorted(self.weeks):
            raise ValueError("weeks must rise: the least, the likeliest, the most")
        return self


class _Estimate(_Table):
    kind: str = Field(alias="class")
    low_pct: tuple[float, float]
    high_pct: tuple[float, float]
    source: str


class PriceFile(_Table):
    """A file of prices; a study's own may hold any part of it."""

    currency: str = "USD"
    year: Year
    estimate: _Estimate | None = None
    prices: dict[str, PriceTable] = {}
    surfacing: dict[str, SurfacingTable] = {}
    installation: dict[str, InstallationTable] = {}
    events: dict[str, EventTable] = {}
    steps: list[StepTable] = []

    @model_validator(mode="before")
    @classmethod
    def _plain(cls, given: Any) -> Any:
        return {} if given is None else given
