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
from playsite.units import metres, percent, squared_length_m2

__all__ = [
    "AGES",
    "KINDS",
    "MATERIALS",
    "MOWABLE_PCT",
    "Age",
    "EquipmentTable",
    "PadTable",
    "ProgramTable",
    "square_metres",
]

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
MOWABLE_PCT = 25.0
"""Steepest grade that is mown, 4:1; common practice, no source."""

# A comma only parts thousands: "1,5 m2" is refused, for it may mean one and a half.
_AREA = re.compile(r"^\s*((?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d*)?|\.\d+)\s*([^\d\s].*?)\s*$")
_MOST_M, _MOST_CHILDREN = 1000.0, 10_000


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
    factor_m2 = squared_length_m2(found[2])  # acres and hectares are no areas of a piece
    if factor_m2 is None:
        raise ValueError(f'"{text}" is not {due}')
    return float(found[1].replace(",", "")) * factor_m2


def _one_of(words: tuple[str, ...], what: str) -> AfterValidator:
    def known(word: str) -> str:
        if word not in words:
            hint = nearest_word(word, words).removesuffix(".")
            raise ValueError(f'"{word}" is not {what} ({hint[0].lower()}{hint[1:]})')
        return word

    return AfterValidator(known)


def _length(text: object) -> float:
    length_m = metres(text)
    if not 0 <= length_m <= _MOST_M:
        raise ValueError(f'"{text}" is out of reason here: a length is from 0 to {_MOST_M:,.0f} m')
    return length_m


def _extent(text: object) -> float:
    length_m = _length(text)
    if length_m == 0:
        raise ValueError(f'"{text}" is not greater than 0; write a length such as "10 ft"')
    return length_m


def _children(given: object) -> object:
    """A number, or a table of numbers by age; told here, since a union would be told in two."""
    counts = given.values() if isinstance(given, dict) else [given]
    if isinstance(given, dict):
        for age in given:
            if age not in AGES:
                raise ValueError(f'"{age}" is not an age group (known here: {", ".join(AGES)})')
    if not counts or not all(type(n) is int and 1 <= n <= _MOST_CHILDREN for n in counts):
        raise ValueError(
            f"{given!r} is not a number of children: write a whole number from 1 to "
            f'{_MOST_CHILDREN:,}, or one for each age, {{ "2-5" = 300, "5-12" = 600 }}'
        )
    return given


Length = Annotated[float, BeforeValidator(_length)]
Extent = Annotated[float, BeforeValidator(_extent)]
Area = Annotated[float, BeforeValidator(square_metres), Field(gt=0, allow_inf_nan=False)]
Share = Annotated[float, BeforeValidator(percent), Field(ge=0, le=100)]
Kind = Annotated[str, _one_of(KINDS, "a kind of equipment")]
Age = Annotated[str, _one_of(AGES, "an age group")]
Material = Annotated[str, _one_of(MATERIALS, "a material of surfacing")]
Children = Annotated[int, Field(ge=1, le=_MOST_CHILDREN, strict=True)]
WithinReach = Annotated[int | dict[str, int], BeforeValidator(_children)]
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
    children_within_reach: WithinReach | None = None
    share_pct: Annotated[Share, Field(gt=0)] | None = Field(None, alias="share")
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
        if self.children_at_once and self.children_within_reach:
            raise ValueError(
                '"children_at_once" and "children_within_reach" both say how many play: keep one'
            )
        if self.children_within_reach and self.share_pct is None and self.share_source:
            raise ValueError(
                '"share_source" says where a share comes from: write share = "5 %" too'
            )
        rises = self.level_difference_m is not None and self.tie_in_m is None
        if rises and (self.ground_slope_pct or 0.0) >= MOWABLE_PCT:
            raise ValueError(
                f"ground of {self.ground_slope_pct:g}% can't be brought back at 4:1: say how wide "
                'the graded ground is, such as tie_in = "10 ft"'
            )
        return self

    @model_validator(mode="before")
    @classmethod
    def _one_age(cls, given: Any) -> Any:
        if isinstance(given, dict) and isinstance(given.get("ages"), str):
            return {**given, "ages": [given["ages"]]}
        return given
