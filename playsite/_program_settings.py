"""What ``[program]`` of a study file may say: who plays, with what, by which rules.

Shapes and units only; what each kind of equipment needs is checked by `playsite.program`.
"""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    model_validator,
)

from playsite.problems import nearest_word
from playsite.units import LENGTHS_M, metres, percent

__all__ = ["AGES", "KINDS", "Age", "EquipmentTable", "PadTable", "ProgramTable", "square_metres"]

AGES = ("6-23 months", "2-5", "5-12")
"""Age groups of the U.S. handbook (CPSC Pub. 325, 1.6), youngest first; years but for the first."""
KINDS = (
    "composite",
    "belt swing",
    "bucket swing",
    "multi-axis swing",
    "slide",
    "climber",
    "overhead climber",
    "spinner",
    "merry-go-round",
    "rocker",
    "seesaw",
    "track ride",
    "musical",
    "other",
)
"""Kinds of equipment whose use zones are known."""
MATERIALS = (
    "wood chips",
    "wood mulch",
    "sand",
    "pea gravel",
    "loose rubber",
    "engineered wood fiber",
    "unitary",
)
"""Materials of surfacing."""

_AREA = re.compile(r"^\s*([-+]?(?:\d[\d,]*\.?\d*|\.\d+))\s*(.*?)\s*$")
_SQUARED = re.compile(r"^(?:sq\.?|square)\s*(.+)$|^(.+?)(?:²|\^?2)$")
_PLURALS = {"feet": "ft", "foot": "ft", "metres": "m", "meters": "m", "metre": "m", "meter": "m"}


def square_metres(text: object) -> float:
    """Area in square metres of a text such as ``"75 sq ft"``.

    Raises
    ------
    ValueError
        If there is no number, no unit, or a unit that is not an area.

    Examples
    --------
    >>> round(square_metres("75 sq ft"), 3), square_metres("7 m2"), square_metres("7 m²")
    (6.968, 7.0, 7.0)
    """
    due = 'an area with its unit, such as "75 sq ft" or "7 m2"'
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        raise ValueError(f"a bare number, {text:g}: nobody can tell its unit; write {due}")
    found = _AREA.match(text) if isinstance(text, str) else None
    if found is None:
        raise ValueError(f"{text!r} is not {due}")
    squared = _SQUARED.match(found[2].lower())
    side = (squared[1] or squared[2]).strip() if squared else ""
    factor = LENGTHS_M.get(_PLURALS.get(side, side))
    if factor is None:
        raise ValueError(f'"{text}" is not {due}')
    return float(found[1].replace(",", "")) * factor**2


def _one_of(words: tuple[str, ...], what: str) -> AfterValidator:
    def known(word: str) -> str:
        if word not in words:
            raise ValueError(f'"{word}" is not {what} known here. {nearest_word(word, words)}')
        return word

    return AfterValidator(known)


Length = Annotated[float, BeforeValidator(metres), Field(ge=0)]
Extent = Annotated[float, BeforeValidator(metres), Field(gt=0)]
Area = Annotated[float, BeforeValidator(square_metres), Field(gt=0)]
Share = Annotated[float, BeforeValidator(percent), Field(ge=0, le=100)]
Kind = Annotated[str, _one_of(KINDS, "a kind of equipment")]
Age = Annotated[str, _one_of(AGES, "an age group")]
Material = Annotated[str, _one_of(MATERIALS, "a material of surfacing")]
Children = Annotated[int, Field(ge=1, le=10_000, strict=True)]
Count = Annotated[int, Field(ge=1, le=50, strict=True)]
Components = Annotated[int, Field(ge=0, le=500, strict=True)]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False)


class PadTable(_Table):
    """A pad that is given, the longer side first: it overrides what the program would ask for."""

    length_m: Extent = Field(alias="length")
    width_m: Extent = Field(alias="width")

    @model_validator(mode="after")
    def _longer_side_first(self) -> PadTable:
        if self.length_m >= self.width_m:
            return self
        return self.model_copy(update={"length_m": self.width_m, "width_m": self.length_m})


class EquipmentTable(_Table):
    """One piece of equipment, or several alike.

    ``length`` and ``width`` are the piece itself, not its use zone; of a swing the whole beam,
    of a spinner the diameter. A row of pieces that stand as one (two rockers in line) may be
    given as one piece with the length of the row.
    """

    kind: Kind
    name: str | None = None
    ages: Age
    count: Count = 1
    length_m: Extent | None = Field(None, alias="length")
    width_m: Extent | None = Field(None, alias="width")
    height_m: Length | None = Field(None, alias="height")
    """Highest point that children are meant to reach: fall height comes from it."""
    surface_height_m: Length | None = Field(None, alias="surface_height")
    """Highest play surface beside other equipment, if lower than ``height``."""
    pivot_height_m: Extent | None = Field(None, alias="pivot_height")
    seat_height_m: Extent | None = Field(None, alias="seat_height")
    bays: Count | None = None
    exit: Literal["left", "right", "front", "back"] | None = None
    """Where a slide ends: at an end (left, right) or a long side (front, back) of the piece."""
    exit_height_m: Extent | None = Field(None, alias="exit_height")
    """Height of the slide that ends there, if not the piece's own."""
    exit_width_m: Extent | None = Field(None, alias="exit_width")
    moving: bool | None = None
    elevated_components: Components | None = None
    ramped_components: Components | None = None
    ground_components: Components | None = None
    deck_height_m: Extent | None = Field(None, alias="deck_height")


class ProgramTable(_Table):
    """Who plays, with what, by which rules; or only the pad."""

    pad: PadTable | None = None
    name: str | None = None
    ages: list[Age] = []
    children_at_once: Children | None = None
    children_within_reach: Children | dict[Age, Children] | None = None
    share_pct: Share | None = Field(None, alias="share")
    share_source: str | None = None
    drive_in_factor: Annotated[float, Field(ge=1, le=5)] = 1.0
    space_per_child_m2: Area | None = Field(None, alias="space_per_child")
    inclusive: bool = False
    inclusive_allowance_pct: Share = Field(30.0, alias="inclusive_allowance")
    rules: Literal["us", "europe"] = "us"
    limited_access: bool = False
    equipment: list[EquipmentTable] = []
    surfacing: Material | None = None
    packing: Annotated[float, Field(ge=1, le=3)] = 1.2
    ring_m: Length | None = Field(None, alias="ring")
    age_strip_m: Length | None = Field(None, alias="age_strip")
    tie_in_m: Length | None = Field(None, alias="tie_in")
    level_difference_m: Length | None = Field(None, alias="level_difference")
    ground_slope_pct: Share | None = Field(None, alias="ground_slope")

    @model_validator(mode="after")
    def _says_enough(self) -> ProgramTable:
        children = self.children_at_once or self.children_within_reach
        if not (self.pad or self.equipment or children):
            raise ValueError(
                "a program needs a pad, equipment, or children: write children_at_once = 45, "
                '[[program.equipment]] tables, or pad = { length = "104 ft", width = "74.5 ft" }'
            )
        if self.children_within_reach and self.share_pct is None and self.share_source:
            raise ValueError(
                '"share_source" says where a share comes from: write share = "5 %" too'
            )
        return self

    @model_validator(mode="before")
    @classmethod
    def _one_age(cls, given: Any) -> Any:
        if isinstance(given, dict) and isinstance(given.get("ages"), str):
            return {**given, "ages": [given["ages"]]}
        return given
