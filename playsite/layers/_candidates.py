"""The gate for parcels: one row a parcel, one parcel a piece of land, and what looks wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely

from playsite.layers._notes import listed

if TYPE_CHECKING:
    from playsite.layers._notes import Notes

__all__ = ["one_row_a_parcel", "shape_keys"]

_SAME_M = 0.001
_SMALL_M2, _LARGE_M2 = 20.0, 50e6
_OVERLAP_SHARE = 0.1
_FAR_M = 50_000.0


def one_row_a_parcel(parcels: Any, notes: Notes) -> Any:
    """Give each parcel one row; index by its id as text.

    Rows of one id and one shape count once; rows of one id and several shapes are one parcel
    of several parts. Parcels of the same land under several ids stay: the id is what people
    ask about. A row without an id is a problem.
    """
    nameless = parcels["parcel_id"].isna()
    if nameless.any():
        rows = listed(parcels.loc[nameless, "feature"])
        what = f"parcels without a parcel_id: {int(nameless.sum())} (features {rows})."
        notes.problem("parcels", what, "Fill it in, or leave them out: where = ...", "columns")
        parcels = parcels[~nameless]
    parcels = _one_of_each_id(parcels, notes)
    _tell_shared_land(parcels, notes)
    several = shapely.get_num_geometries(parcels.geometry.array) > 1
    if several.any():
        notes.finding(
            "parcels",
            f"Parcels of several parts: {int(several.sum())}.",
            "Each is kept as one parcel.",
            where=listed(parcels["parcel_id"][several]),
            count=int(several.sum()),
        )
    _tell_small(parcels, notes)
    parcels = _without_large(parcels, notes)
    _tell_overlaps(parcels, notes)
    _tell_far_off(parcels, notes)
    return parcels.set_index("parcel_id", drop=False).rename_axis("parcel_id")


def shape_keys(geometry: Any) -> Any:
    """Give equal bytes for shapes that are equal to the millimetre, however they are drawn."""
    # Adding 0 makes one zero of two: -0.0 and 0.0 are other bytes.
    rounded = shapely.transform(geometry.array, lambda xy: np.round(xy / _SAME_M) * _SAME_M + 0.0)
    return pd.Series(shapely.to_wkb(shapely.normalize(rounded)), index=geometry.index)


def _one_of_each_id(parcels: Any, notes: Notes) -> Any:
    twice = parcels.duplicated("parcel_id", keep=False)
    if not twice.any():
        return parcels
    again = pd.Series(data=False, index=parcels.index)
    keyed = parcels.loc[twice, ["parcel_id"]].assign(key=shape_keys(parcels.geometry[twice]))
    again[keyed.index[keyed.duplicated()]] = True
    if again.any():
        notes.finding(
            "parcels",
            f"Rows that repeat a parcel, with its id and its shape: {int(again.sum())}.",
            "They are left out.",
            where=listed(parcels["parcel_id"][again]),
            count=int(again.sum()),
        )
        parcels = parcels[~again]
    twice = parcels.duplicated("parcel_id", keep=False)
    if not twice.any():
        return parcels
    names = parcels["parcel_id"][twice].unique()
    notes.finding(
        "parcels",
        f"Ids that stand at several shapes: {len(names)}.",
        "Their shapes are taken together, as one parcel each.",
        "Look whether they are one parcel.",
        where=listed(names),
        count=len(names),
        weight="caution",
    )
    joined = parcels.geometry.groupby(parcels["parcel_id"]).agg(
        lambda shapes: shapely.union_all(shapes.array)
    )
    parcels = parcels.drop_duplicates("parcel_id").copy()
    # By position: a series with a name of its own would rename the geometry column.
    return parcels.set_geometry(joined.loc[parcels["parcel_id"]].to_numpy(), crs=parcels.crs)


def _tell_shared_land(parcels: Any, notes: Notes) -> None:
    keys = shape_keys(parcels.geometry)
    again = keys.duplicated()
    if not again.any():
        return
    first = parcels["parcel_id"].groupby(keys.to_numpy()).transform("first")
    pairs = [
        f"{i} (as {f})" for i, f in zip(parcels["parcel_id"][again], first[again], strict=True)
    ]
    notes.finding(
        "parcels",
        f"Parcels on the same land as another: {int(again.sum())}.",
        "Each is judged under its own id, and they tie.",
        "Look whether they are one candidate: then name one of them.",
        where=listed(pairs, 30),
        count=int(again.sum()),
        weight="caution",
    )


def _tell_small(parcels: Any, notes: Notes) -> None:
    median_m2 = float(parcels.area.median()) if len(parcels) else np.nan
    if median_m2 < _SMALL_M2:
        notes.finding(
            "parcels",
            f"Half of the parcels are under {median_m2:,.3g} square metres, which is hardly so.",
            "They are taken as they are.",
            "Look at their coordinate reference system: feet may have been taken for metres.",
            weight="loud",
        )


def _without_large(parcels: Any, notes: Notes) -> Any:
    """Leave out land of the size of a town: all places on it would be looked at for hours."""
    large = parcels.area > _LARGE_M2
    if len(parcels) and large.all():
        what = f"every parcel has more than {_LARGE_M2 / 1e6:g} square kilometres."
        remedy = "Look at their coordinate reference system: feet may have been taken for metres."
        notes.problem("parcels", what, remedy, "path")
    elif large.any():
        notes.finding(
            "parcels",
            f"Parcels of more than {_LARGE_M2 / 1e6:g} square kilometres: {int(large.sum())}.",
            "They are left out.",
            "Look whether they are parcels; if so, give the part that is meant.",
            where=listed(parcels["parcel_id"][large]),
            count=int(large.sum()),
            weight="loud",
        )
    return parcels[~large]


def _tell_overlaps(parcels: Any, notes: Notes) -> None:
    """Parcels that share land are ranked as if each had it for itself; equal ones are told above."""
    shapes = parcels.geometry.array
    one, other = parcels.sindex.query(shapes, predicate="intersects")
    keys = shape_keys(parcels.geometry).to_numpy()
    once = (one < other) & (keys[one] != keys[other])
    one, other = one[once], other[once]
    inside = shapely.relate_pattern(shapes[one], shapes[other], "2********")  # not only an edge
    one, other = one[inside], other[inside]
    shared_m2 = shapely.area(shapely.intersection(shapes[one], shapes[other]))
    smaller_m2 = np.minimum(shapely.area(shapes[one]), shapely.area(shapes[other]))
    much = shared_m2 > _OVERLAP_SHARE * smaller_m2
    if much.any():
        ids = parcels["parcel_id"].to_numpy()
        pairs = [f"{a} and {b}" for a, b in zip(ids[one[much]], ids[other[much]], strict=True)]
        notes.finding(
            "parcels",
            f"Pairs of parcels that share more than {_OVERLAP_SHARE:.0%} of the smaller: {len(pairs)}.",
            "Each is kept: they may be ranked for the same land.",
            "Look whose land it is.",
            where=listed(pairs),
            count=len(pairs),
            weight="caution",
        )


def _tell_far_off(parcels: Any, notes: Notes) -> None:
    """One parcel with a slip in its coordinates would stretch the study over a country."""
    x, y = (parcels.bounds[[a, b]].mean(axis=1) for a, b in (("minx", "maxx"), ("miny", "maxy")))
    away_m = np.hypot(x - x.median(), y - y.median())
    far = away_m > _FAR_M
    if far.any():
        notes.finding(
            "parcels",
            f"Parcels more than {_FAR_M / 1000:g} km from the middle of all: {int(far.sum())}.",
            "They are kept.",
            "Look whether their coordinates are right.",
            where=listed(parcels["parcel_id"][far]),
            count=int(far.sum()),
            weight="loud",
        )
