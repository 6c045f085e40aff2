"""Falling trees: which trees could reach the pad if they fell, as a list for the arborist."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.criteria._contract import Condition, Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._dashed import named
from playsite.criteria._spoken import Spoken
from playsite.units import Unit

if TYPE_CHECKING:
    from playsite.site import Site

__all__ = ["CRITERION", "FALL_OF_HEIGHT"]

FALL_OF_HEIGHT = 1.0
"""How far a falling tree reaches, over its height; a slope or a throw adds up to half as much."""

_TALLEST_M = 30.0  # a tree of unknown height within it may reach the pad
_SOURCE = Source("arborists' target area: 1.0 to 1.5 times the height", "common practice")


def trees_in_reach_count(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Trees at least as tall as their stem is far from the pad: to inspect, not to fell.

    The interval's high end counts trees of unknown height within 30 m as well. The condition
    reads dead and poor trees alone.
    """
    trees = site.layer("trees")
    if not len(trees):
        none = pd.Series(0.0, index=pads.index)
        note = pd.Series("the trees layer holds none near", index=pads.index)
        return Measured(none, note=note, also={"failing_share": none + np.inf})
    stems = shapely.centroid(trees.geometry.to_numpy())
    height_m = trees["height_m"].to_numpy(float)
    reach_m = np.nanmax([_TALLEST_M, *(FALL_OF_HEIGHT * height_m[np.isfinite(height_m)])])
    shapes = pads.geometry.to_numpy()
    pad, tree = shapely.STRtree(stems).query(shapes, predicate="dwithin", distance=reach_m)
    known = np.isfinite(height_m[tree])
    over = shapely.distance(shapes[pad], stems[tree]) / np.where(
        known, FALL_OF_HEIGHT * height_m[tree], _TALLEST_M
    )
    falls, unknown = known & (over <= 1), ~known & (over <= 1)
    failing = trees["condition"].isin(["poor", "dead"]).to_numpy()[tree]
    table = pd.DataFrame(
        {"pad": pad, "falls": falls, "unknown": unknown, "failing": failing & (over <= 1)}
    )
    counts = table.groupby("pad")[["falls", "unknown", "failing"]].sum()
    counts = counts.reindex(range(len(pads)), fill_value=0).set_axis(pads.index)
    share = pd.Series(over[failing]).groupby(pad[failing]).min()
    sound = share.reindex(range(len(pads)), fill_value=np.inf).set_axis(pads.index)
    value = counts["falls"].astype(float)
    return Measured(
        value,
        low=value,
        high=value + counts["unknown"],
        note=_notes(counts),
        evidence=_listed(pads, trees, stems, pad[falls], tree[falls]),
        also={"failing_share": sound},
    )


def _notes(counts: pd.DataFrame) -> pd.Series[str]:
    def said(row: pd.Series[Any]) -> str:
        text = (
            f"{row['falls']} {'tree' if row['falls'] == 1 else 'trees'} could fall on the play area"
        )
        text += f", {row['failing']} of them poor or dead" if row["failing"] else ""
        return text + (_heightless(row["unknown"]) if row["unknown"] else "")

    texts: pd.Series[str] = counts.apply(said, axis=1)
    return texts


def _heightless(count: int) -> str:
    return f"; {count} near {'has' if count == 1 else 'have'} no height"


def _listed(
    pads: gpd.GeoDataFrame, trees: gpd.GeoDataFrame, stems: Any, pad: Any, tree: Any
) -> gpd.GeoDataFrame:
    """Stems to inspect, with name, height and condition."""
    rows = trees.iloc[tree]
    columns = (named(rows["name"], otherwise="tree"), rows["height_m"])
    said = named(rows["condition"], otherwise="condition unknown")
    labels = [f"{n}, {m:.0f} m tall, {c}" for n, m, c in zip(*columns, said, strict=True)]
    return gpd.GeoDataFrame(
        {"pad_id": pads.index[pad], "label": labels}, geometry=stems[tree], crs=pads.crs
    )


CRITERION = Criterion(
    name="falling_trees",
    question="Could a tree fall on the play area?",
    plain="trees that could reach the play area if they fell",
    unit=Unit.COUNT,
    needs=("trees",),
    measure=trees_in_reach_count,
    curve=Curve.falling(
        ideal=0.0, acceptable=5.0, poor=20.0, unit=Unit.COUNT, source="common practice, no source"
    ),
    weight=0,
    plausible=(0, 100_000),
    group="Hazards",
    conditions=(
        Condition(
            rule="a poor or dead tree could fall on the play area",
            limit=1.0,
            unit=Unit.RATIO,
            needs="an arborist's word on it, pruning or removal",
            source=_SOURCE,
            reads="failing_share",
        ),
    ),
    sources=(_SOURCE,),
    spoken=Spoken(form="{} trees"),
    field_task="Have an arborist look at the listed trees: dead limbs, cavities, lean, roots that were cut.",
)
