"""What a study says of walks, of when children play, and of what stops a child that runs."""

from __future__ import annotations

import calendar
import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

from playsite.units import metres, metres_a_second

__all__ = ["LONGEST_WALK_M", "ChildTable", "PlayTable", "WalksTable"]

LONGEST_WALK_M = 2000.0
"""No walk is looked for beyond it: layers are read this far around the parcels."""

_MONTHS = tuple(month.lower() for month in calendar.month_abbr)
_CLOCK = re.compile(r"^\s*(\d{1,2})(?::(\d\d))?\s*(?:-|to)\s*(\d{1,2})(?::(\d\d))?\s*$")
_DAY = re.compile(r"^([A-Za-z]{3})[a-z]*\.?(?:\s+(\d{1,2}))?$")

Day = tuple[int, int]
Length = Annotated[float, BeforeValidator(metres), Field(ge=0)]


def _hours(given: Any) -> Any:
    """Hours of a text such as "10:00-18:00", as hours since midnight."""
    found = _CLOCK.match(given) if isinstance(given, str) else None
    if found is None:
        raise ValueError(f'{given!r} is no span of hours; write it as "10:00-18:00"')
    first, last = (int(found[k]) + int(found[k + 1] or 0) / 60 for k in (1, 3))
    if not first < last <= 24:
        raise ValueError(f'"{given}" does not go forward within one day')
    return first, last


def _season(given: Any) -> Any:
    """First and last day of a text such as "Apr-Oct" or "Apr 15-Oct 15", as month and day."""
    parts = given.split("-") if isinstance(given, str) else []
    if len(parts) != 2:
        raise ValueError(f'{given!r} is no season; write it as "Apr-Oct" or "Apr 15-Oct 15"')
    return tuple(_day(part.strip(), is_last=k == 1) for k, part in enumerate(parts))


def _day(text: str, *, is_last: bool) -> Day:
    found = _DAY.match(text)
    name = found[1].lower() if found else ""
    if found is None or name not in _MONTHS:
        raise ValueError(f'"{text}" is no day or month; write it as "Apr" or "Apr 15"')
    month = _MONTHS.index(name)
    most = calendar.monthrange(2025, month)[1]  # no leap year: 29 February is no day of each
    day = int(found[2]) if found[2] else most if is_last else 1
    if not 1 <= day <= most:
        raise ValueError(f'"{text}" is no day of each year')
    return month, day


def _country(given: Any) -> Any:
    if not (isinstance(given, str) and re.fullmatch(r"[A-Z]{2}", given)):
        raise ValueError(f'{given!r} is no country; write its two letters, such as "US" or "CA"')
    return given


def _speeds(given: Any) -> Any:
    """Slow and fast in metres a second, of one text or of two."""
    speeds = [metres_a_second(each) for each in (given if isinstance(given, list) else [given])]
    if len(speeds) not in {1, 2} or not 0 < speeds[0] <= speeds[-1]:
        raise ValueError("one speed is due, or the slow one and the fast one, above 0")
    return speeds[0], speeds[-1]


def _as_list(given: Any) -> Any:
    return [given] if isinstance(given, str) else given


def _crossed(given: Any) -> Any:
    """Yes, no, or names of streets; as text too, as people write them."""
    as_said = (
        {"yes": True, "no": False}.get(given.strip().lower()) if isinstance(given, str) else given
    )
    if isinstance(as_said, bool):
        return as_said
    if isinstance(as_said, list) and as_said and all(isinstance(name, str) for name in as_said):
        return tuple(as_said)
    raise ValueError(
        f"{given!r}: yes, no, or the names of the busy streets that may be crossed are due"
    )


def _within_reach(reach_m: float) -> float:
    if not 0 < reach_m <= LONGEST_WALK_M:
        raise ValueError(
            f"a walk of {reach_m:,.0f} m can't be looked for: layers are read "
            f"{LONGEST_WALK_M:,.0f} m around the parcels"
        )
    return reach_m


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False)


class WalksTable(_Table):
    """``[walks]``: where people on foot go."""

    cross_busy_streets: Annotated[bool | tuple[str, ...], BeforeValidator(_crossed)] = True
    """Whether busy streets are crossed where another way joins or a crossing is mapped; or which."""
    crossing_penalty_m: Length = Field(0.0, alias="crossing_penalty")
    """What crossing one with no crossing mapped counts for; 0 by default, since most codes give
    people the way at a junction, marked or not, and how many are unmarked is told."""
    reach_m: Annotated[float, BeforeValidator(metres), AfterValidator(_within_reach)] = Field(
        LONGEST_WALK_M, alias="reach"
    )
    step_free: bool = False
    """Whether every walk is one without steps; else the way without them is told beside it."""


class PlayTable(_Table):
    """``[play]``: when children play; what is open then counts."""

    hours: Annotated[tuple[float, float], BeforeValidator(_hours)] = (10.0, 18.0)
    """10:00 to 18:00: common practice, no source."""
    season: Annotated[tuple[Day, Day], BeforeValidator(_season)] = ((4, 1), (10, 31))
    """April to October: common practice, no source."""
    country: Annotated[str | None, BeforeValidator(_country)] = None
    """Whose public holidays count; else those of the country that the place lies in."""


class ChildTable(_Table):
    """``[running_child]``: how fast a child runs, and what stops it."""

    speed_m_s: Annotated[tuple[float, float], BeforeValidator(_speeds)] = Field(
        (3.0, 4.0), alias="speed"
    )
    """Slow and fast; assumed, no published source found."""
    gap_m: Length = Field(0.089, alias="gap")
    """Widest opening that no child fits through: 3.5 in (Caring for Our Children, 6.1.0.6)."""
    fence_m: Length = Field(1.2, alias="fence")
    """A fence at least this high stops a child: 4 ft, the least of Caring for Our Children 6.1.0.8."""
    stopped_by: Annotated[
        tuple[Literal["retaining walls", "banks"], ...], BeforeValidator(_as_list)
    ] = ()
    """A child jumps off a wall and runs down a bank, unless the study says that they stop it."""
