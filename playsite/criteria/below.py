"""Below: evidence of old buildings, fill, buried water, dumps under the pad."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from playsite.criteria._contract import Criterion, Measured, Screen, Source
from playsite.criteria._curve import Curve
from playsite.criteria._dashed import lines_of
from playsite.criteria._overlay import extent_of, pieces, reach_m
from playsite.criteria._spoken import Spoken
from playsite.proximity.clearance import nearest
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION"]

_NEAR_M = 5.0
_PRACTICE = Source("levels of evidence and their scores: common practice", "common practice")
_DUMPS = Source(
    "UFC 3-210-04 (TM 5-803-11): former landfill, industrial or training land is not used for play areas"
)
_LEAD = Source("UFC 4-740-14: test soil for lead and contaminants before the site is chosen")


def evidence_below_level(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Level of evidence within 5 m of the pad: 0 none found, 1 weak, 2 strong under it, 3 regulated.

    Strong evidence that lies beside the pad and not under it is weak. Where nothing is found and
    the sources that were searched don't reach 5 m beyond the pad, the level is unknown; where
    something is, it is the least that it can be.
    """
    layer = site.layer("below")
    finds = layer[layer["level"] > 0] if len(layer) else layer
    by_level = {level: _nearest(pads, finds, level) for level in (3, 2, 1)}
    within = {3: _NEAR_M, 2: 0.0, 1: _NEAR_M}
    least = pd.DataFrame({n: each["distance_m"] <= within[n] for n, each in by_level.items()})
    beside = by_level[2]["distance_m"] <= _NEAR_M
    made = _made_land(pads, site)
    level = pd.Series(np.select([least[3], least[2]], [3.0, 2.0], 0.0), index=pads.index)
    level = level.where((level > 0) | ~(least[1] | beside | made), 1.0)
    reached = pd.Series(np.nan, index=pads.index)
    if len(layer):
        reached = reach_m(pads, extent_of(layer, layer["searched"]))
    known = reached >= _NEAR_M
    governs = _governing(by_level, level, beside=beside)
    notes = [
        _note(*each)
        for each in zip(level, known, governs["name"], governs["distance_m"], made, strict=True)
    ]
    searched = _searched(layer)
    return Measured(
        level.where(known | (level > 0)),
        high=level.where(known, 3.0).where(known | (level > 0)),
        note=pd.Series(notes, index=pads.index, dtype=str) + searched,
        evidence=lines_of(governs, governs["name"], pads.crs),
        also={"level": level},
    )


def _nearest(pads: gpd.GeoDataFrame, finds: gpd.GeoDataFrame, level: int) -> pd.DataFrame:
    """Nearest finding of a level: ``distance_m`` (inf: none), ``path``, ``name``."""
    own = finds[finds["level"] == level] if len(finds) else finds
    found = nearest(pads.geometry, own.geometry).rename(columns={"line": "path"})
    found["distance_m"] = found["distance_m"].fillna(np.inf)
    found["name"] = ""
    if len(own):
        kind = own["kind"] + own["cleared"].map({True: ", cleared", False: ""})
        named = kind + own["name"].astype(object).map(
            lambda n: f" ({n})" if isinstance(n, str) else ""
        )
        found["name"] = found["feature"].map(named)
    return found[["distance_m", "path", "name"]]


def _governing(
    by_level: dict[int, pd.DataFrame], level: pd.Series[float], *, beside: pd.Series[bool]
) -> pd.DataFrame:
    """Give the finding that makes each pad's level; empty where none is within reach."""
    from_level = level.where(~(beside & (level == 1)), 2.0)
    governs = by_level[1].copy()
    for number in (2, 3):
        governs = governs.where(from_level != number, by_level[number])
    near = (governs["distance_m"] <= _NEAR_M) & (level > 0)
    governs["path"] = governs["path"].where(near)
    governs["name"] = governs["name"].where(near, "")
    return governs


def _made_land(pads: gpd.GeoDataFrame, site: Site) -> pd.Series[bool]:
    """Whether the soil survey has made or covered land under any part of the pad."""
    if not site.has("soils"):
        return pd.Series(False, index=pads.index)  # noqa: FBT003 -- a column of it
    soils = site.layer("soils")
    on = pieces(pads, soils.geometry[soils["is_made"]])["pad_id"] if len(soils) else []
    return pd.Series(pads.index.isin(on), index=pads.index)


def _note(level: float, known: bool, name: str, distance_m: float, made: bool) -> str:  # noqa: FBT001
    said = []
    if name:
        said.append(f"{name}, {'under it' if distance_m == 0 else f'{distance_m:.1f} m off'}")
    if made:
        said.append("the soil survey has made or covered land here")
    if not known:
        said.append(
            "the sources that were searched don't reach all of it"
            if level
            else "unknown: the layer's extent doesn't reach here"
        )
    return "; ".join(said) or "none found, which is no proof of clean ground"


def _searched(layer: gpd.GeoDataFrame) -> str:
    if not len(layer):
        return ""
    names = layer.loc[layer["searched"], "name"].dropna().astype(str)
    sources = ", ".join(dict.fromkeys(names))
    return f"; searched: {sources}" if sources else "; which sources were searched is not said"


CRITERION = Criterion(
    name="below",
    question="What lies below the ground?",
    plain="evidence of old buildings, fill, buried water or dumps",
    unit=Unit.LEVEL,
    needs=("below",),
    measure=evidence_below_level,
    curve=Curve.falling(
        ideal=0.0, acceptable=1.0, poor=2.0, unit=Unit.LEVEL, source=str(_PRACTICE)
    ),
    weight=3,
    plausible=(0, 3),
    group="Ground and water",
    cost="quick",
    screens=(
        Screen(
            rule="a regulated site, dump or tank that is not cleared",
            limit=2.0,
            unit=Unit.LEVEL,
            out_when="above",
            source=_DUMPS,
            reads="level",
            takes_worse=True,
            short="not cleared",
        ),
    ),
    sources=(_DUMPS, _LEAD, _PRACTICE),
    spoken=Spoken(
        steps=(
            (0.0, "none found"),
            (1.0, "weak evidence"),
            (2.0, "strong evidence"),
            (3.0, "a regulated site"),
        )
    ),
    field_task=(
        "Look at old aerial photos, old maps and the lists of sites; two auger holes to 0.9 m after "
        "the utilities are marked: fill, rubble, refusal."
    ),
)
