"""The place of each parcel: screens first, then the quick criteria, then a fixed order for ties."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd

from playsite.criteria._contract import Measured, measured
from playsite.pads.search import alternatives
from playsite.ranking.scores import criterion_scores, totals
from playsite.study.shapes import shapes_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from playsite.criteria._contract import Criterion
    from playsite.criteria._registry import Chosen
    from playsite.engine import Watch
    from playsite.program import RequiredPad
    from playsite.site import Site
    from playsite.study.searching import ParcelSearch

__all__ = ["Placed", "chosen_places", "joined", "pads_of"]


@dataclass(frozen=True)
class Placed:
    """Pads that were chosen and all that was measured on them.

    Parameters
    ----------
    pads
        Index ``pad_id``; ``role`` is ``best`` or ``alternative``; ``passes``: no screen puts it out.
    measured
        By name of criterion, with the pads' index.
    """

    pads: gpd.GeoDataFrame
    measured: Mapping[str, Measured]


def pads_of(searches: Sequence[ParcelSearch], pad: RequiredPad, crs: object) -> gpd.GeoDataFrame:
    """All places kept, as pads: what every criterion is given."""
    shapes = shapes_of(pad)
    names = ["", *(shape.name for shape in shapes[1:])]
    placed = [each for each in searches if len(each.placing.places)]
    counts = [len(each.placing.places) for each in placed]
    places = np.concatenate([np.empty((0, 3)), *(each.placing.places for each in placed)])
    outlines = [np.empty(0, dtype=object), *(each.placing.outlines for each in placed)]
    sides = np.array([shapes[each.shape].sides_m for each in placed]).reshape(-1, 2)
    # A rectangle turned by half is the same one, an L is not.
    turn = [180.0 if len(shapes[each.shape].parts) == 1 else 360.0 for each in placed]
    table = {
        "parcel_id": np.repeat([each.parcel_id for each in placed], counts),
        "easting": places[:, 0],
        "northing": places[:, 1],
        "rotation_deg": places[:, 2] % np.repeat(turn, counts),
        "length_m": np.repeat(sides[:, 0], counts),
        "width_m": np.repeat(sides[:, 1], counts),
        "largest_scale": np.repeat([each.largest.scale for each in placed], counts),
        "shape": np.repeat([names[each.shape] for each in placed], counts),
        "slack_m": np.concatenate([np.empty(0), *(each.slack_m for each in placed)]),
    }
    index = pd.RangeIndex(len(places), name="pad_id")
    return gpd.GeoDataFrame(table, geometry=np.concatenate(outlines), crs=crs, index=index)


def joined(first: Placed, second: Placed) -> Placed:
    """Put two sets of places together; where both know a parcel, the second counts."""
    kept = first.pads[~first.pads["parcel_id"].isin(second.pads["parcel_id"])]
    offset = int(first.pads.index.max()) + 1
    pads = pd.concat([kept, second.pads.set_axis(second.pads.index + offset)])
    measured_all = {
        name: _stacked(_at(whole, kept.index), second.measured[name], offset)
        for name, whole in first.measured.items()
    }
    return Placed(gpd.GeoDataFrame(pads, crs=first.pads.crs).rename_axis("pad_id"), measured_all)


def _stacked(first: Measured, second: Measured, offset: int) -> Measured:
    def moved(series: pd.Series[Any]) -> pd.Series[Any]:
        return series.set_axis(series.index + offset)

    parts: dict[str, Any] = {
        name: pd.concat([getattr(first, name), moved(getattr(second, name))])
        for name in ("value", "low", "high", "reads", "note")
    }
    also = {name: pd.concat([first.also[name], moved(second.also[name])]) for name in first.also}
    evidence = [each.evidence for each in (first, second) if each.evidence is not None]
    if second.evidence is not None:
        evidence[-1] = second.evidence.assign(pad_id=second.evidence["pad_id"] + offset)
    drawn = pd.concat(evidence, ignore_index=True) if evidence else None
    return Measured(**parts, also=also, evidence=drawn)


def chosen_places(
    pads: gpd.GeoDataFrame, chosen: Sequence[Chosen], site: Site, *, watch: Watch
) -> Placed:
    """Choose the best place of each parcel and up to three others, and measure all on them.

    Quick criteria choose among all places kept, all criteria among the few that remain. Weights
    are the profile's, not the study's: a pad stays where it is when people move their weights.
    """
    quick = [each for each in chosen if each.criterion.cost == "quick"]
    others = [each for each in chosen if each.criterion.cost == "full"]
    slow = [each for each in chosen if each.criterion.cost == "best"]
    looked = list(watch(quick, "Measuring every place", len(quick)))
    got = {each.name: measured(each.criterion, pads, site) for each in looked}
    order, passes = _order(pads, got, quick)
    few = _best_and_others(pads, order, passes)
    narrow = {name: _at(each, few.index) for name, each in got.items()}
    for each in watch(others, "Measuring the chosen places", len(others)):
        narrow[each.name] = measured(each.criterion, few, site)
    order, _ = _order(few, narrow, [*quick, *others])
    few["role"] = "alternative"
    few.loc[few.loc[order].drop_duplicates("parcel_id").index, "role"] = "best"
    surer = [each for each in quick if each.criterion.refine is not None]
    for each in watch([*surer, *slow], "Looking closer at the best places", len(surer) + len(slow)):
        if each.criterion.cost == "best":
            narrow[each.name] = _at_best(each.criterion, few, site)
        else:
            narrow[each.name] = _refined(each.criterion, few, narrow[each.name], site)
    return Placed(few, narrow)


def _at_best(criterion: Criterion, few: gpd.GeoDataFrame, site: Site) -> Measured:
    """What is measured on the best places alone; of all others nothing is known."""
    found = measured(criterion, few[few["role"] == "best"], site)
    parts: dict[str, Any] = {
        name: getattr(found, name).reindex(few.index)
        for name in ("value", "low", "high", "reads", "note")
    }
    parts["note"] = parts["note"].fillna("")
    also = {name: own.reindex(few.index) for name, own in found.also.items()}
    return Measured(**parts, also=also, evidence=found.evidence)


def _refined(criterion: Criterion, few: gpd.GeoDataFrame, quick: Measured, site: Site) -> Measured:
    """What the surer measure gives on the best places, in place of the quick one there."""
    best = few[few["role"] == "best"]
    if criterion.refine is None or not len(best):
        return quick
    again = measured(replace(criterion, measure=criterion.refine), best, site)
    parts = {
        name: _replaced(getattr(quick, name), getattr(again, name))
        for name in ("value", "low", "high", "reads", "note")
    }
    also = {name: _replaced(quick.also[name], again.also.get(name)) for name in quick.also}
    evidence = quick.evidence if again.evidence is None else again.evidence
    return Measured(**parts, also=also, evidence=evidence)


def _replaced(before: Any, after: Any) -> Any:
    if before is None or after is None:
        return before
    whole = before.copy()
    whole.loc[after.index] = after
    return whole


def _order(
    pads: gpd.GeoDataFrame, got: Mapping[str, Measured], chosen: Sequence[Chosen]
) -> tuple[pd.Index, pd.Series[bool]]:
    """Pads in order of preference: those that pass, by score, grade, even ground, slack, coordinates."""
    failed, worst = _screened(pads, got, chosen)
    scores = criterion_scores(got, chosen)
    weights = {each.name: each.usual_weight for each in chosen}
    total = (
        totals(scores, weights)["score"]
        if sum(weights.values()) > 0
        else pd.Series(0.0, index=pads.index)
    )
    unknown = pd.Series(np.nan, index=pads.index)
    grade = got["grade"].value if "grade" in got else unknown
    residual_m = got["grade"].named("residual_m") if "grade" in got else unknown
    keys = pd.DataFrame(
        {
            "failed": failed,
            "worst": worst.where(failed > 0, 0.0).round(6),
            "score": -total,
            # A tenth of a percent is within the elevation's noise: there the evener ground wins.
            "grade": grade.fillna(np.inf).round(1),
            "residual": residual_m.fillna(np.inf).round(3),
            "slack": -pads["slack_m"].round(3),
            "easting": pads["easting"],
            "northing": pads["northing"],
            "rotation": pads["rotation_deg"],
        }
    )
    return keys.sort_values(list(keys.columns), kind="stable").index, failed == 0


def _screened(
    pads: gpd.GeoDataFrame, got: Mapping[str, Measured], chosen: Sequence[Chosen]
) -> tuple[pd.Series[int], pd.Series[float]]:
    """How many screens put each pad out, and by what part of the limit at worst."""
    failed = pd.Series(0, index=pads.index)
    worst = pd.Series(0.0, index=pads.index)
    for each in chosen:
        for screen in each.screens:
            values = got[each.name].named(screen.reads)
            out = screen.is_out(values)
            part = (-screen.margin(values) / (abs(screen.limit) or 1.0)).where(out, 0.0)
            failed, worst = failed + out.astype(int), worst.where(worst >= part, part)
    return failed, worst


def _best_and_others(
    pads: gpd.GeoDataFrame, order: pd.Index, passes: pd.Series[bool]
) -> gpd.GeoDataFrame:
    """Give the first pad of each parcel, and up to three that pass and differ from it."""
    rows = pads.index.get_indexer(order)
    parcel = pads["parcel_id"].to_numpy()[rows]
    _, first_seen, number = np.unique(parcel, return_index=True, return_inverse=True)
    by_parcel = np.argsort(first_seen[number], kind="stable")
    groups = np.split(rows[by_parcel], np.flatnonzero(np.diff(first_seen[number][by_parcel])) + 1)
    outlines, good = pads.geometry.to_numpy(), passes.to_numpy()
    kept: list[int] = []
    for group in groups if len(pads) else []:
        others = group[good[group]]
        kept.append(int(group[0]))
        if len(others) > 1:
            few = alternatives(outlines[others], np.arange(len(others)), first=0)
            kept.extend(others[few].tolist())
    return pads.iloc[kept].assign(passes=good[kept])


def _at(whole: Measured, index: pd.Index) -> Measured:
    """Keep what was measured on some of the pads."""
    cut: dict[str, Any] = {
        name: None if (series := getattr(whole, name)) is None else series.loc[index]
        for name in ("value", "low", "high", "reads", "note")
    }
    evidence = whole.evidence
    if evidence is not None:
        evidence = evidence[evidence["pad_id"].isin(index)]
    also = {name: series.loc[index] for name, series in whole.also.items()}
    return Measured(**cut, evidence=evidence, also=also)
