"""From pads and measurements to the Result: statuses, ranks, tables."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd

from playsite.pads.shape import pad_polygon, pad_polygons
from playsite.ranking.firm import Firm
from playsite.ranking.scores import criterion_scores, is_enough, ranks, totals
from playsite.result import SITE_COLUMNS
from playsite.study.firmness import firm_of
from playsite.study.frames import layout_frames
from playsite.study.searching import FITS
from playsite.units import Unit

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from playsite.criteria._contract import Condition, Measured, Screen
    from playsite.criteria._registry import Chosen
    from playsite.layers import Layers
    from playsite.study.found import Found

__all__ = ["answer_tables", "natural_order"]

_STATUS_ORDER = ("ranked", "not assessed", "screened out", "does not fit")
_MISS_COLUMNS = (
    "parcel_id",
    "criterion",
    "rule",
    "short",
    "value",
    "limit",
    "margin",
    "unit",
    "source",
)
_CONDITION_COLUMNS = ("parcel_id", "criterion", "rule", "needs", "value", "limit", "unit", "source")


def natural_order(names: Iterable[str]) -> list[str]:
    """Names in the order that a person would give them: 2-9 before 2-10.

    Examples
    --------
    >>> natural_order(["2-10", "2-9", "A"])
    ['2-9', '2-10', 'A']
    """

    def key(name: str) -> tuple[list[tuple[int, int, str]], str]:
        parts = re.split(r"(\d+)", name)
        return [(0, int(p), "") if p.isdecimal() else (1, 0, p) for p in parts if p], name

    return sorted(names, key=key)


def answer_tables(
    found: Found,
    layers: Layers,
    chosen: Sequence[Chosen],
    *,
    least_known_pct: float,
    members: pd.DataFrame | None = None,
    visits: pd.DataFrame | None = None,
    firm: bool = True,
) -> dict[str, Any]:
    """All tables of the Result that depend on weights, from what was found.

    ``members`` are the members' own weights, a row a member; ``visits`` the rows that count;
    ``firm`` also works out how firm the ranking is, which takes longest.
    """
    pads, measured = found.pads, found.measured
    scores = criterion_scores(measured, chosen)
    total = totals(scores, {each.name: each.weight for each in chosen})
    pads = pads.join(total)
    best = pads[pads["role"] == "best"].set_index("parcel_id")
    best_id = pd.Series(pads.index[pads["role"] == "best"], index=best.index)
    misses = _misses(found, best_id, chosen)
    conditions = _conditions(best_id, measured, chosen)
    sites = _sites(found, best, misses, conditions, least_known_pct)
    status = sites.set_index("parcel_id")["status"]
    ranked = status.index[status == "ranked"]
    out = status.index[status == "screened out"]
    conditions = conditions[~conditions["parcel_id"].isin(out)].reset_index(drop=True)
    return {
        "sites": sites,
        "measurements": _measurements(found, best_id, scores, layers, chosen),
        "ledger": found.ledger,
        "misses": misses,
        "conditions": conditions,
        "unknowns": _unknowns(best_id, measured, chosen),
        "parcels": _parcels(found, status),
        "pads": _pads(best, sites),
        "alternatives": _alternatives(pads),
        "ghosts": _ghosts(found, status),
        "frames": layout_frames(best.reset_index(), found.pad),
        "evidence": _evidence(
            best_id, measured, [_largest_that_fit(found, status), _ways_off(found)]
        ),
        "firm": firm_of(measured, scores, best_id.loc[ranked], chosen, members, visits)
        if firm
        else Firm(),
    }


def _misses(found: Found, best_id: pd.Series[int], chosen: Sequence[Chosen]) -> pd.DataFrame:
    rows = []
    tight = found.largest[found.largest["scale"] < FITS]
    for parcel_id, scale in tight["scale"].items():
        rows.append(
            (
                parcel_id,
                "fit",
                "the play area must fit",
                "too tight",
                scale,
                1.0,
                scale - 1.0,
                Unit.RATIO.value,
                "the required pad, turned freely on the buildable land",
            )
        )
    for each in chosen:
        for screen in each.screens:
            values = found.measured[each.name].named(screen.reads)
            rows.extend(_screen_rows(each, screen, values, best_id))
    return pd.DataFrame(rows, columns=list(_MISS_COLUMNS))


def _screen_rows(
    each: Chosen, screen: Screen, values: pd.Series[float], best_id: pd.Series[int]
) -> list[tuple[Any, ...]]:
    here = values.loc[best_id]
    out, margin = screen.is_out(here), screen.margin(here)
    return [
        (
            parcel_id,
            each.name,
            screen.rule,
            screen.short,
            here.loc[pad],
            screen.limit,
            margin.loc[pad],
            screen.unit.value,
            str(screen.source),
        )
        for parcel_id, pad in best_id.items()
        if out.loc[pad]
    ]


def _conditions(
    best_id: pd.Series[int],
    measured: Mapping[str, Measured],
    chosen: Sequence[Chosen],
) -> pd.DataFrame:
    rows: list[tuple[Any, ...]] = []
    for each in chosen:
        for condition in each.criterion.conditions:
            values = measured[each.name].named(condition.reads).loc[best_id]
            applies = condition.applies(values)
            rows.extend(
                _condition_row(parcel_id, each, condition, values.loc[pad])
                for parcel_id, pad in best_id.items()
                if applies.loc[pad]
            )
    return pd.DataFrame(rows, columns=list(_CONDITION_COLUMNS))


def _condition_row(
    parcel_id: object, each: Chosen, condition: Condition, value: float
) -> tuple[Any, ...]:
    return (
        *(parcel_id, each.name, condition.rule, condition.needs, value, condition.limit),
        *(condition.unit.value, str(condition.source)),
    )


def _sites(
    found: Found,
    best: pd.DataFrame,
    misses: pd.DataFrame,
    conditions: pd.DataFrame,
    least_known_pct: float,
) -> pd.DataFrame:
    ids = natural_order(found.parcels.index)
    sites = pd.DataFrame({"parcel_id": ids, "site_no": np.arange(1, len(ids) + 1)})
    sites["name"] = found.parcels["name"].reindex(ids).fillna("").to_numpy()
    columns = ["score", "score_low", "score_high", "known_share", "easting", "northing"]
    for column in [*columns, "rotation_deg"]:
        target = f"pad_{column}" if column in {"easting", "northing", "rotation_deg"} else column
        sites[target] = best[column].reindex(ids).to_numpy(float)
    tight = set(misses.loc[misses["criterion"] == "fit", "parcel_id"])
    screened = set(misses["parcel_id"]) - tight
    known = is_enough(sites["known_share"], least_known_pct)
    states = [sites["parcel_id"].isin(tight), sites["parcel_id"].isin(screened), ~known]
    sites["status"] = np.select(states, ["does not fit", "screened out", "not assessed"], "ranked")
    out = sites["status"].isin(["screened out", "does not fit"])
    sites.loc[out, ["score", "score_low", "score_high"]] = np.nan
    sites["rank"] = ranks(sites["score"].where(sites["status"] == "ranked"))
    texts = pd.Series([_condition_text(row) for row in conditions.to_dict("records")], dtype=str)
    said = texts.groupby(conditions["parcel_id"].to_numpy()).agg("; ".join).reindex(ids)
    sites["conditions"] = said.where(~out.to_numpy()).fillna("").to_numpy()
    of_parcel: dict[str, list[dict[Any, Any]]] = {}
    for miss in misses.to_dict("records"):
        of_parcel.setdefault(str(miss["parcel_id"]), []).append(miss)
    sites["reason"] = [_reason(row, of_parcel, least_known_pct) for row in sites.to_dict("records")]
    place = sites["status"].map({name: i for i, name in enumerate(_STATUS_ORDER)})
    order = pd.DataFrame({"place": place, "rank": sites["rank"].fillna(0), "no": sites["site_no"]})
    ordered = sites.loc[order.sort_values(["place", "rank", "no"]).index, list(SITE_COLUMNS)]
    return ordered.reset_index(drop=True)


def _condition_text(row: Mapping[Any, Any]) -> str:
    return f"ranked, only with {row['needs']}: {row['rule']}"


def _reason(
    row: Mapping[Any, Any], misses: Mapping[str, list[dict[Any, Any]]], least_known_pct: float
) -> str:
    if row["status"] == "not assessed":
        known = 100 * float(row["known_share"])
        return f"{known:.0f} % of the weight in use is known; {least_known_pct:g} % is the least"
    own = misses.get(row["parcel_id"], [])
    if row["status"] == "does not fit":
        scale = float(own[0]["value"])
        return f"the play area fits at {scale:.3f} of its length and width at most"
    return "; ".join(
        f"{miss['rule']}: {miss['value']:.4g} {miss['unit']}, limit {miss['limit']:g}"
        for miss in own
    )


def _measurements(
    found: Found,
    best_id: pd.Series[int],
    scores: pd.DataFrame,
    layers: Layers,
    chosen: Sequence[Chosen],
) -> pd.DataFrame:
    tables = []
    for each in chosen:
        got, criterion = found.measured[each.name], each.criterion
        kinds = [kind for kind in criterion.needs or ("parcels",) if layers.label_of(kind)]
        table = pd.DataFrame(
            {
                "parcel_id": best_id.index,
                "criterion": each.name,
                "value": got.value.loc[best_id].to_numpy(),
                "unit": criterion.unit.value,
                "low": _series(got.low, got).loc[best_id].to_numpy(),
                "high": _series(got.high, got).loc[best_id].to_numpy(),
                "score": scores[each.name].loc[best_id].to_numpy(),
                "origin": "map",
                "map_value": got.value.loc[best_id].to_numpy(),
                "straight_m": got.named("straight_m").loc[best_id].to_numpy(),
                "layer": ", ".join(layers.label_of(kind) for kind in kinds),
                "layer_date": ", ".join(filter(None, (layers.date_of(kind) for kind in kinds))),
                "method": criterion.method,
                "source": "; ".join(str(source) for source in criterion.sources),
                "note": _note(got, best_id),
            }
        )
        tables.append(table)
    placed = set(best_id.index)
    tight = found.largest[~found.largest.index.isin(placed)]
    fit = next((each for each in chosen if each.name == "fit"), None)
    if fit is not None and len(tight):
        tables.append(_fit_rows(tight["scale"], fit, layers))
    every = pd.concat(tables, ignore_index=True)
    place = {name: i for i, name in enumerate(natural_order(set(every["parcel_id"])))}
    rank_of = {each.name: i for i, each in enumerate(chosen)}
    keys = pd.DataFrame({"p": every["parcel_id"].map(place), "c": every["criterion"].map(rank_of)})
    return every.loc[keys.sort_values(["p", "c"]).index].reset_index(drop=True)


def _fit_rows(scale: pd.Series[float], fit: Chosen, layers: Layers) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "parcel_id": scale.index,
            "criterion": "fit",
            "value": scale.to_numpy(),
            "unit": Unit.RATIO.value,
            "low": scale.to_numpy(),
            "high": scale.to_numpy(),
            "score": fit.curve.score(scale),
            "origin": "map",
            "map_value": scale.to_numpy(),
            "straight_m": np.nan,
            "layer": layers.label_of("parcels"),
            "layer_date": layers.date_of("parcels") or "",
            "method": fit.criterion.method,
            "source": "; ".join(str(source) for source in fit.criterion.sources),
            "note": "the play area does not fit on this parcel",
        }
    )


def _series(given: pd.Series[float] | None, got: Measured) -> pd.Series[float]:
    return got.value if given is None else given


def _note(got: Measured, best_id: pd.Series[int]) -> Any:
    return "" if got.note is None else got.note.loc[best_id].to_numpy()


def _unknowns(
    best_id: pd.Series[int], measured: Mapping[str, Measured], chosen: Sequence[Chosen]
) -> pd.DataFrame:
    rows = [
        (parcel_id, each.name, each.criterion.field_task or f"Find out: {each.criterion.question}")
        for each in chosen
        for parcel_id, pad in best_id.items()
        if np.isnan(measured[each.name].value.loc[pad])
    ]
    return pd.DataFrame(rows, columns=["parcel_id", "criterion", "task"])


def _parcels(found: Found, status: pd.Series[str]) -> gpd.GeoDataFrame:
    parcels = found.parcels[["name", "owner", "geometry"]].copy()
    parcels["status"] = status
    return parcels.rename_axis("parcel_id").reset_index()


def _pads(best: pd.DataFrame, sites: pd.DataFrame) -> gpd.GeoDataFrame:
    facts = sites.set_index("parcel_id")[["site_no", "status", "rank", "score"]]
    columns = ["easting", "northing", "rotation_deg", "largest_scale", "shape", "geometry"]
    pads = facts.join(best[columns], how="inner").rename_axis("parcel_id").reset_index()
    return gpd.GeoDataFrame(pads, geometry="geometry", crs=best.crs)


def _alternatives(pads: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    columns = ["parcel_id", "easting", "northing", "rotation_deg", "score", "geometry"]
    return pads.loc[pads["role"] == "alternative", columns].reset_index(drop=True)


def _ghosts(found: Found, status: pd.Series[str]) -> gpd.GeoDataFrame:
    """Give the needed pad at full size where the largest one would lie: one sees how it fails."""
    tight = found.largest[found.largest.index.isin(status.index[status == "does not fit"])]
    tight = tight[tight["scale"] > 0]
    shapes = pad_polygons(
        tight[["easting", "northing", "rotation_deg"]].to_numpy(float),
        length_m=found.pad.length_m,
        width_m=found.pad.width_m,
    )
    table = {"parcel_id": tight.index, "scale": tight["scale"].to_numpy()}
    return gpd.GeoDataFrame(table, geometry=shapes, crs=found.parcels.crs)


def _largest_that_fit(found: Found, status: pd.Series[str]) -> gpd.GeoDataFrame:
    """Give the largest pad that would fit where the needed one doesn't, as evidence of the fit."""
    tight = found.largest[found.largest.index.isin(status.index[status == "does not fit"])]
    tight = tight[tight["scale"] > 0]
    rows = [
        (
            parcel_id,
            "fit",
            "the largest that fits",
            pad_polygon(
                row["easting"],
                row["northing"],
                row["rotation_deg"],
                length_m=found.pad.length_m * row["scale"],
                width_m=found.pad.width_m * row["scale"],
            ),
        )
        for parcel_id, row in tight.iterrows()
    ]
    columns = ["parcel_id", "criterion", "label", "geometry"]
    return gpd.GeoDataFrame(rows, columns=columns, geometry="geometry", crs=found.parcels.crs)


def _ways_off(found: Found) -> gpd.GeoDataFrame:
    """Give the way of the water that leaves each pad, as evidence of what runs on to it and off."""
    known = found.water[found.water.geometry.notna()]
    table = known[["parcel_id", "geometry"]].assign(
        criterion="run_on", label="where its water runs: to " + known["leaves_to"].astype(str)
    )
    return table[["parcel_id", "criterion", "label", "geometry"]]


def _evidence(
    best_id: pd.Series[int], measured: Mapping[str, Measured], also: list[gpd.GeoDataFrame]
) -> gpd.GeoDataFrame:
    parcel_of = pd.Series(best_id.index, index=best_id.to_numpy())
    tables = list(also)
    for name, got in measured.items():
        if got.evidence is not None and len(got.evidence):
            own = got.evidence[got.evidence["pad_id"].isin(parcel_of.index)].copy()
            own["parcel_id"], own["criterion"] = own["pad_id"].map(parcel_of), name
            tables.append(own[["parcel_id", "criterion", "label", "geometry"]])
    kept = [table for table in tables if len(table)] or tables[:1]
    return gpd.GeoDataFrame(
        pd.concat(kept, ignore_index=True), geometry="geometry", crs=also[0].crs
    )
