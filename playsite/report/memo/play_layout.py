"""The concept layout on a site plan: surfacing, use zones, equipment, way in, gate and seat."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.report.memo.drawn_map import Sheet

__all__ = ["draw_layout"]

_DASHES = (0, (2.5, 2))


def draw_layout(sheet: Sheet, layout: gpd.GeoDataFrame) -> list[str]:
    """Draw a layout where its pad lies; says what was drawn, or nothing where there is none."""
    if not len(layout):
        return []
    of = {role: layout[layout["role"] == role] for role in layout["role"].unique()}
    sheet.fill(of["pad"], "sheet", z=11)
    sheet.fill(of["surfacing"], "overprint-wash", z=11.1)
    sheet.line(of["surfacing"], "overprint-deep", width=0.7, z=11.2)
    sheet.fill(of["use zone"], "score-1", alpha=0.35, z=11.3)
    sheet.line(of["use zone"], "overprint", width=0.5, style=_DASHES, z=11.4)
    if "route" in of:
        sheet.line(of["route"], "route-wheel", width=0.8, z=11.5)
    sheet.fill(of["equipment"], "sheet", z=11.6)
    sheet.line(of["equipment"], "ink", width=0.7, z=11.7)
    for role, ink in (("gate", "sheet"), ("seat", "ink")):
        if role in of:
            dots = of[role].set_geometry(
                shapely.buffer(of[role].geometry.array, sheet.ground_m(0.8))
            )
            sheet.fill(dots, ink, z=11.8)
            sheet.line(dots, "ink", width=0.7, z=11.9)
    return ["inside the play area a concept layout: white, equipment; dashed, its use zones"]
