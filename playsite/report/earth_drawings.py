"""The two drawings of a site's earthwork, from the Result alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from playsite.report.earth_plan import earth_plan
from playsite.report.earth_section import earth_section
from playsite.report.people_units import contour_step_m
from playsite.report.wording import records

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.report.paper import Drawing
    from playsite.result import Result

__all__ = ["WIDTH_MM", "earth_drawings"]

WIDTH_MM = 87.0


def earth_drawings(
    result: Result, parcel_id: str, units: str, *, width_mm: float = WIDTH_MM
) -> Iterator[tuple[Drawing, Drawing]]:
    """Plan and section of each part of a parcel's pad; nothing where they were not worked out.

    Parameters
    ----------
    units
        ``"feet"`` or ``"metres"``.
    width_mm
        Width of each on paper, mm.
    """
    pads = result.pads[result.pads["parcel_id"] == parcel_id]
    own = {
        name: table[table["parcel_id"] == parcel_id]
        for name, table in (
            ("sections", result.sections),
            ("grading", result.grading),
            ("contours", result.contours),
            ("parcels", result.parcels),
            ("earthwork", result.earthwork),
        )
    }
    pads = pads[pads.geometry.notna()]
    if not len(pads) or not len(own["sections"]):
        return
    parts = shapely.get_parts(pads.geometry.iloc[0])
    lots = own["parcels"].geometry.dropna()
    parcel = lots.union_all() if len(lots) else shapely.Polygon()
    for earth, footprint in zip(
        records(own["earthwork"].drop(columns="geometry")), own["earthwork"].geometry, strict=True
    ):
        section, grading = (
            own[name][own[name]["part"] == earth["part"]] for name in ("sections", "grading")
        )
        if not len(section):
            continue
        plan = earth_plan(
            parts[earth["part"] - 1], earth, footprint, grading, own["contours"], parcel, units,
            step_m=contour_step_m(result.study.units), width_mm=width_mm,
        )  # fmt: skip
        yield plan, earth_section(section, earth, units, width_mm=width_mm)
