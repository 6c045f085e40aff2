"""Soils: map units of a soil survey, and the components that each is said to hold."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.problems import Finding

__all__ = ["KIND", "settle"]

_GROUPS = ("A", "B", "C", "D", "A/D", "B/D", "C/D")
_PONDS = ("none", "rare", "occasional", "frequent")
_FLOODS = ("none", "very rare", "rare", "occasional", "frequent", "very frequent")

_MADE = (
    r"\b(?:urban land|made land|udorthents|anthroportic|cut and fill|fill land|filled|dumps?|landfill|"
    r"pits|mine spoil|disturbed land|no digital data)\b"
)
"""Words of units that people made or covered: the survey gives no value for what lies there."""

_CM = 0.01

_SURVEY: dict[str, tuple[str, ...]] = {
    "unit": ("musym", "mukey"),
    "name": ("muname",),
    "component": ("compname",),
    "group": ("hydgrpdcd", "hydgrp"),
    "flooding": ("flodfreqdcd", "flodfreqcl"),
    "ponding": ("pondfreqcl",),
    "drainage": ("drclassdcd", "drainagecl"),
}
"""Ours to the columns of the U.S. national soil survey, read where ours is missing."""


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Fill our columns from the survey's own, and work out ``is_made`` and ``part``.

    ``part`` (0 to 1) is the share of a shape that its row speaks for: one shape may be given once
    for each of its components. A survey's depth to water is 0 where water stands at the surface.
    """
    frame = frame.copy()
    for ours, theirs in _SURVEY.items():
        for name in theirs:
            frame[ours] = frame[ours].where(frame[ours].notna(), frame[name])
    for ours, name in (("water_table_m", "wtdepannmin"), ("rock_m", "brockdepmin")):
        frame[ours] = frame[ours].fillna(_number(frame[name]) * _CM)
    frame["share_pct"] = frame["share_pct"].fillna(frame["comppct_r"])
    frame["ponded_pct"] = _number(frame["pondfreqprs"])
    hydric = frame["hydricrating"].astype("boolean").astype(float) * 100
    frame["hydric_pct"] = hydric.fillna(_number(frame["hydclprs"]))
    said = frame["component"].where(frame["component"].notna(), frame["name"])
    texts = said.astype(object).fillna("").astype(str)
    frame["is_made"] = texts.str.contains(_MADE, case=False, regex=True).astype(bool)
    frame = frame[~_repeated(frame)].copy()
    frame["part"] = _parts(frame)
    _tell(
        frame["is_made"],
        "Soil units that people made or covered (urban land, made land, fill)",
        "Nothing is known of the soil there.",
        findings,
    )
    _tell(
        frame["group"].isna() & ~frame["is_made"],
        "Soil units without a hydrologic group",
        "Their soil is known only by its water table, ponding and flooding, if at all.",
        findings,
    )
    return frame


def _number(texts: Any) -> Any:
    """Read numbers that may be 0; below 0 they stand for a missing one."""
    numbers = pd.to_numeric(texts.astype(object), errors="coerce").astype(float)
    return numbers.where(numbers >= 0)


def _repeated(frame: Any) -> Any:
    """Rows that say nothing new of their shape: a table of layers of soil repeats each unit."""
    said = [name for name in frame.columns if name not in ("feature", "source", "geometry")]
    shape = frame.geometry.normalize().to_wkb().rename("shape")
    again = pd.DataFrame(frame[said]).astype(object).join(shape).duplicated()
    return again & frame["share_pct"].isna()


def _parts(frame: Any) -> Any:
    """Share of its shape that each row speaks for; components without a share part what is left."""
    shape = frame.geometry.normalize().to_wkb()
    rows = frame["share_pct"].groupby(shape)
    given = rows.transform("sum") / 100
    unsaid = frame["share_pct"].isna()
    left = (1 - given).clip(lower=0) / unsaid.groupby(shape).transform("sum").clip(lower=1)
    part = np.where(unsaid, left, frame["share_pct"] / 100 / given.clip(lower=1))
    return pd.Series(part, index=frame.index)


def _tell(which: Any, what: str, done: str, findings: list[Finding]) -> None:
    if which.any():
        count = int(which.sum())
        findings.append(
            Finding(f"{what}: {count} of {len(which)}.", done, layer="soils", count=count)
        )


KIND = LayerKind(
    name="soils",
    shapes=("polygon",),
    plain="map units of a soil survey",
    columns=(
        ColumnKind("unit"),
        ColumnKind("name"),
        ColumnKind("component"),
        ColumnKind("share_pct", "number", most=100),
        ColumnKind("group", words=_GROUPS),
        ColumnKind("water_table", "number", "m", most=20),
        ColumnKind("flooding", words=_FLOODS),
        ColumnKind("ponding", words=_PONDS),
        ColumnKind("rock", "number", "m", most=100),
        ColumnKind("stones_pct", "number", most=100),
        ColumnKind("drainage"),
        *(
            ColumnKind(name)
            for name in ("musym", "muname", "compname", "drclassdcd", "drainagecl", "mukey")
        ),
        ColumnKind("comppct_r", "number", most=100),
        ColumnKind("hydgrpdcd", words=_GROUPS),
        ColumnKind("hydgrp", words=_GROUPS),
        ColumnKind("flodfreqdcd", words=_FLOODS),
        ColumnKind("flodfreqcl", words=_FLOODS),
        ColumnKind("pondfreqcl", words=_PONDS),
        # As texts: 0 is a depth or a share here, where a number of 0 would count as missing.
        *(ColumnKind(name) for name in ("wtdepannmin", "brockdepmin", "pondfreqprs", "hydclprs")),
        ColumnKind("hydricrating", "flag"),
    ),
    if_absent="The study has no layer of soils: how the ground takes water is not known.",
    settle=settle,
)
