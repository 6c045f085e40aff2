"""Hydrologic soil groups and how fast they take water: two scales that disagree and are never mixed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "GROUPS",
    "NEH_DEEP",
    "NEH_SHALLOW",
    "TR55",
    "RateScale",
    "governing_group",
    "group_of_layers",
]

GROUPS = ("A", "B", "C", "D")
"""Hydrologic soil groups, from the one that takes water fastest to the slowest."""

_IN_PER_H = 0.0254 / 3600
_UM_PER_S = 1e-6


@dataclass(frozen=True)
class RateScale:
    """From a rate to a group and back, on one scale alone.

    Parameters
    ----------
    above_m_s
        The rate above which a soil belongs to a group, m/s; one of that rate belongs to the next.
    means
        What the rate is.
    source
        Who says so.
    """

    above_m_s: Mapping[str, float]
    means: str
    source: str

    def group(self, rate_m_s: float) -> str | None:
        """Group of a rate; None where the rate is missing.

        Examples
        --------
        >>> half_inch_an_hour = 0.5 * 0.0254 / 3600
        >>> TR55.group(half_inch_an_hour), NEH_DEEP.group(half_inch_an_hour)
        ('A', 'C')
        """
        if rate_m_s < 0:
            raise ValueError(f"a rate is 0 or more, not {rate_m_s:g} m/s")
        for group in GROUPS:
            if rate_m_s > self.above_m_s[group] or (group == "D" and rate_m_s == 0):
                return group
        return None

    def rates_m_s(self, group: str) -> tuple[float, float]:
        """Least and greatest rate of a group, m/s; the greatest of A is not bounded.

        Raises
        ------
        ValueError
            If the group is none of the four: a dual one must be settled first.
        """
        if group not in GROUPS:
            raise ValueError(f'"{group}" is none of the groups {", ".join(GROUPS)}')
        place = GROUPS.index(group)
        high = float("inf") if place == 0 else self.above_m_s[GROUPS[place - 1]]
        return self.above_m_s[group], high


TR55 = RateScale(
    {"A": 0.30 * _IN_PER_H, "B": 0.15 * _IN_PER_H, "C": 0.05 * _IN_PER_H, "D": 0.0},
    "rate of water transmission of the wetted soil",
    "USDA, TR-55 (1986), appendix A",
)
"""TR-55: for its curve numbers."""

NEH_DEEP = RateScale(
    {"A": 10 * _UM_PER_S, "B": 4 * _UM_PER_S, "C": 0.4 * _UM_PER_S, "D": 0.0},
    "saturated conductivity of the slowest layer in the upper 100 cm",
    "USDA, National Engineering Handbook, part 630, chapter 7 (2009), table 7-1 (from memory)",
)
"""NEH 630: nothing that stops water, and no water table, within 100 cm."""

NEH_SHALLOW = RateScale(
    {"A": 40 * _UM_PER_S, "B": 10 * _UM_PER_S, "C": 1 * _UM_PER_S, "D": 0.0},
    "saturated conductivity of the slowest layer above the stopping one, or in the upper 60 cm",
    "USDA, National Engineering Handbook, part 630, chapter 7 (2009), table 7-1 (from memory)",
)
"""NEH 630: a layer that stops water at 50 to 100 cm, or a water table at 60 to 100 cm."""

_SHALLOW_M, _DEEP_M, _WET_M = 0.5, 1.0, 0.6


def group_of_layers(conductivity_m_s: float, *, layer_m: float, water_table_m: float) -> str | None:
    """Hydrologic group by conductivity and depths; dual where only the water table makes it D.

    Parameters
    ----------
    conductivity_m_s
        Saturated conductivity of the slowest layer, m/s.
    layer_m, water_table_m
        Depth to a layer that stops water, and to the seasonal high water table, m; inf: none.

    Returns
    -------
    str or None
        "A" to "D", or dual ("A/D"); None where something is missing.

    Notes
    -----
    USDA, National Engineering Handbook, part 630, chapter 7 (2009), table 7-1, from memory.

    Examples
    --------
    >>> group_of_layers(5e-6, layer_m=2.0, water_table_m=1.5)
    'B'
    >>> group_of_layers(5e-6, layer_m=2.0, water_table_m=0.4)
    'B/D'
    """
    if any(each != each for each in (conductivity_m_s, layer_m, water_table_m)):  # noqa: PLR0124 -- NaN
        return None
    if layer_m < _SHALLOW_M:
        return "D"
    wet = water_table_m < _WET_M
    deep = layer_m > _DEEP_M and (wet or water_table_m > _DEEP_M)
    group = (NEH_DEEP if deep else NEH_SHALLOW).group(conductivity_m_s)
    return f"{group}/D" if wet and group != "D" else group


def governing_group(group: str | None, *, drained: bool = False) -> str | None:
    """The one group that counts: a dual one is D until the land is drained.

    Raises
    ------
    ValueError
        If the text is no group.

    Examples
    --------
    >>> governing_group("B/D"), governing_group("B/D", drained=True), governing_group(None)
    ('D', 'B', None)
    """
    if group is None:
        return None
    first, _, second = group.upper().replace(" ", "").partition("/")
    if first not in GROUPS or second not in ("", "D") or (first == "D" and second):
        raise ValueError(
            f"{group!r} is no hydrologic soil group: one of A, B, C, D, or dual as B/D"
        )
    return first if drained or not second else second
