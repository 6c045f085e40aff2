"""A plain drawing of where the sites lie: streets, water, lots and their numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from playsite.result import Result

__all__ = ["sketch"]

_MARGIN_M = 150.0
_WIDTH_PX = 720


def sketch(result: Result, parcels: list[Any]) -> dict[str, Any]:
    """Give width, height, paths of streets, water and lots, and where each number stands."""
    lots = result.parcels[result.parcels["parcel_id"].isin(parcels)]
    numbers = dict(zip(result.sites["parcel_id"], result.sites["site_no"], strict=True))
    west, south, east, north = lots.total_bounds + _MARGIN_M * np.array([-1, -1, 1, 1])
    scale = _WIDTH_PX / (east - west)
    frame = shapely.box(west, south, east, north)

    def path(shape: BaseGeometry) -> str:
        return "".join(
            "M"
            + "L".join(
                f"{(x - west) * scale:.1f} {(north - y) * scale:.1f}"
                for x, y in shapely.get_coordinates(ring)
            )
            + "Z"
            for ring in shapely.get_rings(shapely.get_parts(shape))
        )

    def drawn(kind: str) -> str:
        shapes = result.base_map.get(kind)
        if shapes is None or not len(shapes):
            return ""
        areas = shapes.geometry[shapes.geom_type.str.endswith("Polygon")]
        near = shapely.intersection(areas.simplify(1 / scale).make_valid().to_numpy(), frame)
        whole = shapely.union_all(near)  # one outline: no casing across a crossing
        parts = shapely.get_parts(whole)
        return path(shapely.multipolygons(parts[shapely.get_type_id(parts) == 3]))

    at = shapely.get_coordinates(lots.geometry.representative_point())
    return {
        "width": _WIDTH_PX,
        "height": round((north - south) * scale),
        "streets": drawn("streets"),
        "water": drawn("water"),
        "lots": [path(shape) for shape in lots.geometry],
        "labels": [
            (numbers[parcel], f"{(x - west) * scale:.0f}", f"{(north - y) * scale + 5:.0f}")
            for parcel, (x, y) in zip(lots["parcel_id"], at, strict=True)
        ],
    }
