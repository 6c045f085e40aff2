"""The gate: what is wrong with the shapes and names of features, mended and told."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.layers._notes import listed
from playsite.problems import Finding

if TYPE_CHECKING:
    from playsite.layers._kind import LayerKind
    from playsite.layers._notes import Notes

__all__ = ["of_right_shape", "one_row_a_parcel", "shape_keys", "sound_shapes"]

_DIMENSION = {"point": 0, "line": 1, "polygon": 2}
_SAME_M = 0.001
_SMALL_M2, _LARGE_M2 = 20.0, 50e6


def sound_shapes(rows: Any, kind: LayerKind, notes: Notes) -> Any:
    """Repair invalid shapes and leave out empty ones; both are counted and listed.

    The structure of rings is kept (``make_valid(method="structure")``): the other method
    loses the land where a ring overlaps itself.
    """
    hollow = rows.geometry.isna() | rows.is_empty
    if hollow.any():
        _tell_left_out(rows[hollow], "have no shape", kind, notes)
        rows = rows[~hollow]
    invalid = ~rows.is_valid
    if not invalid.any():
        return rows
    rows = rows.copy()
    mended = rows.geometry[invalid].make_valid(method="structure", keep_collapsed=False)
    rows.loc[invalid, rows.geometry.name] = mended
    notes.finding(
        kind.name,
        f"{int(invalid.sum())} shapes are not valid (rings that cross themselves, and so on).",
        "They are repaired.",
        where=_features(rows[invalid]),
        count=int(invalid.sum()),
    )
    collapsed = rows.is_empty
    if collapsed.any():
        _tell_left_out(rows[collapsed], "have no area once they are repaired", kind, notes)
    return rows[~collapsed]


def of_right_shape(rows: Any, kind: LayerKind, notes: Notes) -> Any:
    """Keep the parts of shapes that the kind of layer may have; the others are told.

    A layer that has none of the right shape is a problem.
    """
    if rows.empty:
        return rows
    wanted = {_DIMENSION[shape] for shape in kind.shapes}
    mixed = rows.geom_type == "GeometryCollection"
    if mixed.any():
        rows = rows.copy()
        parts = [_parts_of(shape, wanted) for shape in rows.geometry[mixed]]
        rows.loc[mixed, rows.geometry.name] = gpd.GeoSeries(
            parts, index=rows.index[mixed], crs=rows.crs
        )
    right = rows.geometry.map(shapely.get_dimensions).isin(wanted) & ~rows.is_empty
    if right.all():
        return rows
    found = ", ".join(sorted(rows.geom_type[~right].unique()))
    due = " or ".join(f"{shape}s" for shape in kind.shapes)
    if not right.any():
        what = f"its shapes are {found}; {kind.name} are {due} ({kind.plain})."
        notes.problem(kind.name, what, "Give another file or layer.", "path")
        return rows[right]
    _tell_left_out(rows[~right], f"are {found}, where {due} are due", kind, notes)
    return rows[right]


def one_row_a_parcel(parcels: Any, notes: Notes) -> Any:
    """Give each parcel one row, and each piece of land one parcel; index by its id as text.

    Rows of one id and one shape count once; rows of one id and several shapes are one parcel
    of several parts. Of parcels with the same land the first stays: a piece of land can be
    ranked only once. A row without an id is a problem.
    """
    nameless = parcels["parcel_id"].isna()
    if nameless.any():
        rows = listed(parcels.loc[nameless, "feature"])
        what = f"{int(nameless.sum())} parcels have no parcel_id: features {rows}."
        notes.problem("parcels", what, "Fill it in, or leave them out: where = ...", "columns")
        parcels = parcels[~nameless]
    parcels = _one_of_each_id(parcels, notes)
    parcels = _one_of_each_shape(parcels, notes)
    several = shapely.get_num_geometries(parcels.geometry.array) > 1
    if several.any():
        notes.finding(
            "parcels",
            f"{int(several.sum())} parcels have several parts.",
            "They are kept as one parcel each.",
            where=listed(parcels["parcel_id"][several]),
            count=int(several.sum()),
        )
    _tell_units(parcels, notes)
    return parcels.set_index("parcel_id", drop=False).rename_axis("parcel_id")


def shape_keys(geometry: Any) -> Any:
    """Give equal bytes for shapes that are equal to the millimetre, however they are drawn."""
    rounded = shapely.transform(geometry.array, lambda xy: np.round(xy / _SAME_M) * _SAME_M)
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
            f"{int(again.sum())} rows repeat a parcel, with its id and its shape.",
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
        f"{len(names)} ids stand at several shapes.",
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
    parcels.geometry = gpd.GeoSeries(
        parcels["parcel_id"].map(joined), index=parcels.index, crs=parcels.crs
    )
    return parcels


def _one_of_each_shape(parcels: Any, notes: Notes) -> Any:
    keys = shape_keys(parcels.geometry)
    again = keys.duplicated()
    if not again.any():
        return parcels
    first = parcels["parcel_id"].groupby(keys.to_numpy()).transform("first")
    pairs = [
        f"{i} (as {f})" for i, f in zip(parcels["parcel_id"][again], first[again], strict=True)
    ]
    notes.finding(
        "parcels",
        f"{int(again.sum())} parcels lie on the same land as another.",
        "Of each such group the first is kept: a piece of land is ranked once.",
        where=listed(pairs, 30),
        count=int(again.sum()),
        weight="caution",
    )
    return parcels[~again]


def _tell_units(parcels: Any, notes: Notes) -> None:
    median_m2 = float(parcels.area.median()) if len(parcels) else np.nan
    if median_m2 < _SMALL_M2 or median_m2 > _LARGE_M2:
        notes.finding(
            "parcels",
            f"Half of the parcels are {'under' if median_m2 < _SMALL_M2 else 'over'} "
            f"{median_m2:,.3g} square metres, which is hardly so.",
            "They are taken as they are.",
            "Look at their coordinate reference system: feet may have been taken for metres.",
            weight="loud",
        )


def _parts_of(shape: Any, wanted: set[int]) -> Any:
    parts = [part for part in shape.geoms if shapely.get_dimensions(part) in wanted]
    most = max((shapely.get_dimensions(part) for part in parts), default=0)
    return shapely.union_all([part for part in parts if shapely.get_dimensions(part) == most])


def _tell_left_out(rows: Any, why: str, kind: LayerKind, notes: Notes) -> None:
    notes.findings.append(
        Finding(
            f"{len(rows)} features {why}.",
            "They are left out.",
            layer=kind.name,
            where=_features(rows),
            count=len(rows),
            weight="caution",
        )
    )


def _features(rows: Any) -> str:
    return f"features {listed(rows['feature'])}"
