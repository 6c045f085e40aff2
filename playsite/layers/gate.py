"""The gate: what is wrong with the shapes of features, mended and told."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import shapely

from playsite.layers._notes import listed
from playsite.problems import Finding

if TYPE_CHECKING:
    from playsite.layers._kind import LayerKind
    from playsite.layers._notes import Notes

__all__ = ["of_right_shape", "outlined", "sound_shapes"]

_DIMENSION = {"point": 0, "line": 1, "polygon": 2}
_BEYOND = 1e9  # no system of metres or feet has coordinates so large


def outlined(rows: Any, kind: LayerKind, notes: Notes) -> Any:
    """Take closed lines for the outlines that they are, where only polygons can be meant.

    A drawing has no polygons: its parcels and buildings are closed lines.
    """
    if "polygon" not in kind.shapes or "line" in kind.shapes:
        return rows
    closed = (rows.geom_type == "LineString") & rows.is_closed & (rows.count_coordinates() > 3)
    if not closed.any():
        return rows
    rows = rows.copy()
    rings = shapely.linearrings([line.coords for line in rows.geometry[closed]])
    rows.loc[closed, rows.geometry.name] = shapely.polygons(rings)
    notes.finding(
        kind.name,
        f"Closed lines: {int(closed.sum())}.",
        "Each is taken as the outline of an area.",
        where=_features(rows[closed]),
        count=int(closed.sum()),
    )
    return rows


def sound_shapes(rows: Any, kind: LayerKind, notes: Notes) -> Any:
    """Repair invalid shapes and leave out empty ones; both are counted and listed.

    The structure of rings is kept (``make_valid(method="structure")``): the other method
    loses the land where a ring overlaps itself.
    """
    hollow = rows.geometry.isna() | rows.is_empty
    if hollow.any():
        _tell_left_out(rows[hollow], "Features without a shape", kind, notes)
        rows = rows[~hollow]
    beyond = (rows.bounds.abs() > _BEYOND).any(axis=1)
    if beyond.any():
        _tell_left_out(rows[beyond], "Features with coordinates beyond any map", kind, notes)
        rows = rows[~beyond]
    invalid = ~rows.is_valid
    if not invalid.any():
        return rows
    rows = rows.copy()
    mended = rows.geometry[invalid].make_valid(method="structure", keep_collapsed=False)
    rows.loc[invalid, rows.geometry.name] = mended
    notes.finding(
        kind.name,
        f"Shapes that are not valid (rings that cross themselves, and so on): {int(invalid.sum())}.",
        "They are repaired.",
        where=_features(rows[invalid]),
        count=int(invalid.sum()),
    )
    collapsed = rows.is_empty
    if collapsed.any():
        _tell_left_out(
            rows[collapsed], "Features without any extent once they are repaired", kind, notes
        )
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
        due = " or ".join(kind.shapes)
        notes.finding(
            kind.name,
            f"Features that are collections of several types of shape: {int(mixed.sum())}.",
            f"Of each the {due} is kept.",
            where=_features(rows[mixed]),
            count=int(mixed.sum()),
            weight="caution",
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
    _tell_left_out(rows[~right], f"Features that are {found}, where {due} are due", kind, notes)
    return rows[right]


def _parts_of(shape: Any, wanted: set[int]) -> Any:
    parts = [part for part in shape.geoms if shapely.get_dimensions(part) in wanted]
    most = max((shapely.get_dimensions(part) for part in parts), default=0)
    return shapely.union_all([part for part in parts if shapely.get_dimensions(part) == most])


def _tell_left_out(rows: Any, why: str, kind: LayerKind, notes: Notes) -> None:
    notes.findings.append(
        Finding(
            f"{why}: {len(rows)}.",
            "They are left out.",
            layer=kind.name,
            where=_features(rows),
            count=len(rows),
            weight="caution",
        )
    )


def _features(rows: Any) -> str:
    return f"features {listed(rows['feature'])}"
