"""The ways on foot for the page, from which it finds the walk from any place to each site."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.report.web_map.shapes import DEGREES, steps

if TYPE_CHECKING:
    from playsite.result import Result

__all__ = ["walks"]

MOST_WAYS = 60_000
"""More would make the page too large: it then tells straight distances, and says so."""


def walks(result: Result) -> list[list[int]]:
    """Give each way as ``[start, end, decimetres, side, *steps]``; a crossing has no steps.

    Nodes are numbered from 0 on. Empty where the study knows no ways.
    """
    frame = result.base_map.get("walks")
    if frame is None or not 0 < len(frame) <= MOST_WAYS:
        return []
    ends = frame[["start", "end"]].to_numpy()
    numbers = np.unique(ends, return_inverse=True)[1].reshape(ends.shape)
    lengths = np.rint(frame["length_m"].to_numpy(float) * 10).astype(int)
    return [
        [*pair, length, side, *(steps(shapely.get_coordinates(shape)) if is_line else ())]
        for pair, length, side, shape, is_line in zip(
            numbers.tolist(),
            lengths.tolist(),
            frame["side"].tolist(),
            frame.to_crs(DEGREES).geometry,
            (frame.geom_type == "LineString").tolist(),
            strict=True,
        )
    ]
