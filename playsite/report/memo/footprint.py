"""The footprint of the program: the concept layout to scale, each piece with its name."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import shapely

from playsite.report.layouts import concept_shapes
from playsite.report.memo.blocks import Figure
from playsite.report.memo.drawn_map import Sheet
from playsite.report.memo.inks import drawing, pictures_of
from playsite.report.memo.play_layout import draw_layout
from playsite.report.memo.sheet_margin import draw_scale_bar
from playsite.report.people_units import pad_size_text
from playsite.report.wording import joined

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.memo.blocks import Page
    from playsite.report.memo.readings import Readings

__all__ = ["footprint"]

_MOST_MM, _EDGE_MM, _BAR_MM = 84.0, 4.0, 11.0
_SCALES = (100, 150, 200, 250, 300, 400, 500, 750, 1000, 2000, 5000)


def footprint(readings: Readings, page: Page) -> Iterator[Figure]:
    """Draw the layout of the first shape that has one; nothing where none is known."""
    pad, units = readings.result.pad, readings.result.study.units
    concepts = [shape.concepts[0] for shape in pad.shapes if shape.concepts]
    shapes = concept_shapes(concepts[0]) if concepts else []
    if not shapes:
        return
    layout = gpd.GeoDataFrame(
        {"role": [each.role for each in shapes], "label": [each.label for each in shapes]},
        geometry=[each.geometry for each in shapes],
    )
    left, low, right, high = layout.total_bounds
    wide_m, tall_m = right - left, high - low
    scale = next(
        (
            each
            for each in _SCALES
            if 1000 * wide_m / each <= page.text_mm - 2 * _EDGE_MM
            and 1000 * tall_m / each <= _MOST_MM
        ),
        _SCALES[-1],
    )
    height_mm = 1000 * tall_m / scale + 2 * _EDGE_MM + _BAR_MM
    per_mm = scale / 1000
    middle = (left + right) / 2
    window = shapely.box(
        middle - page.text_mm / 2 * per_mm,
        low - (_EDGE_MM + _BAR_MM) * per_mm,
        middle + page.text_mm / 2 * per_mm,
        high + _EDGE_MM * per_mm,
    )
    with drawing(page.text_mm, height_mm) as figure:
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set_xlim(window.bounds[0], window.bounds[2])
        axes.set_ylim(window.bounds[1], window.bounds[3])
        axes.set_axis_off()
        sheet = Sheet(axes, window, per_mm, units)
        draw_layout(sheet, layout)
        sheet.line(layout[layout["role"] == "pad"], "overprint-deep", width=1.6, z=12)
        for shape in shapes:
            if shape.role == "equipment":
                at = shape.geometry.representative_point()
                sheet.label(at.x, at.y, shape.label, ink="ink", size=7, zorder=20)
        draw_scale_bar(sheet, right + sheet.ground_m(6), window.bounds[1] + sheet.ground_m(2))
        drawn = pictures_of(figure)
    pieces = joined([shape.label for shape in shapes if shape.role == "equipment"])
    size = pad_size_text(pad.length_m, pad.width_m, units)
    yield Figure(
        drawn=drawn,
        width_mm=page.text_mm,
        height_mm=height_mm,
        alt=f"Concept layout of the play area, {size}, at 1:{scale:,}: {pieces or 'its pieces'}, each in its use zone.",
        finding=f"The program needs a play area of {size}.",
        key=f"1:{scale:,} on paper. White: equipment; dashed: use zones; blue: the step-free way in. A concept, not a design.",
        evidence=("P",),
    )
