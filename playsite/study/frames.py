"""Where the concept layouts of a program lie at each pad: a place and a rotation for each."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
import shapely

from playsite.pads.rectangles import rectangles_of
from playsite.result import FRAME_COLUMNS
from playsite.study.shapes import shapes_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    import geopandas as gpd

    from playsite.program import RequiredPad
    from playsite.program.pad_shapes import PadShape

__all__ = ["layout_frames"]


def layout_frames(pads: gpd.GeoDataFrame, pad: RequiredPad) -> pd.DataFrame:
    """Frame of each concept at each pad.

    Parameters
    ----------
    pads
        ``parcel_id, easting, northing, rotation_deg, shape, geometry``.
    pad
        What is needed, with its shapes.

    Returns
    -------
    DataFrame
        ``FRAME_COLUMNS``: number of the shape and of its concept, and where the frame that the
        concept is told in lies; empty for a program without layouts.
    """
    shapes = shapes_of(pad)
    number_of = {shape.name if number else "": number for number, shape in enumerate(shapes)}
    rows = []
    for each in pads.itertuples():
        number = number_of[each.shape]
        places = _frames(each, shapes[number])
        rows += [(each.parcel_id, number, n, *place) for n, place in enumerate(places)]
    return pd.DataFrame(rows, columns=list(FRAME_COLUMNS))


def _frames(pad: object, shape: PadShape) -> Iterator[tuple[float, float, float]]:
    """Frames of a pad's concepts: the pad's own, or of loose parts each its part's."""
    if shape.is_loose:
        for part in shapely.get_parts(pad.geometry)[: len(shape.concepts)]:  # type: ignore[attr-defined]
            east, north, turned = rectangles_of(part)[0, :3].tolist()
            yield east, north, turned
    else:
        own = (pad.easting, pad.northing, pad.rotation_deg)  # type: ignore[attr-defined]
        yield from (own for _ in shape.concepts)
