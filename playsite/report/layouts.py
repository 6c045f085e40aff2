"""The concept layouts of a program, as shapes: in their own frame, and where the pads lie."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
from shapely import affinity

from playsite.program.layout import placed
from playsite.report.wording import records

if TYPE_CHECKING:
    from collections.abc import Collection

    from shapely.geometry.base import BaseGeometry

    from playsite.program.layout import PlacedShape
    from playsite.program.pad_shapes import Concept
    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = ["concept_shapes", "layouts_on_map"]


def concept_shapes(concept: Concept) -> list[PlacedShape]:
    """Shapes of a concept in the frame that it is told in, metres."""
    return placed(
        concept.layout, easting=concept.x_m, northing=concept.y_m, rotation_deg=concept.turn_deg
    )


def layouts_on_map(result: Result, parcels: Collection[str]) -> gpd.GeoDataFrame:
    """Concept layouts where the pads of some parcels lie.

    Returns
    -------
    GeoDataFrame
        ``parcel_id, role, label, geometry``; empty where the program has no layout.
    """
    of_frame = {
        (number, n): concept_shapes(concept)
        for number, shape in enumerate(result.pad.shapes)
        for n, concept in enumerate(shape.concepts)
    }
    rows = [
        (row["parcel_id"], shape.role, shape.label, _moved(shape, row))
        for row in records(result.frames)
        if row["parcel_id"] in parcels
        for shape in of_frame.get((row["shape"], row["concept"]), ())
    ]
    columns = ["parcel_id", "role", "label", "geometry"]
    return gpd.GeoDataFrame(rows, columns=columns, geometry="geometry", crs=result.study.crs)


def _moved(shape: PlacedShape, row: Row) -> BaseGeometry:
    turned = affinity.rotate(shape.geometry, row["rotation_deg"], origin=(0, 0))
    return affinity.translate(turned, row["easting"], row["northing"])
