"""In which metres a study is measured: its own coordinate reference system, and the files'."""

from __future__ import annotations

import math
from typing import Any

from pyproj import CRS, Geod, Transformer
from pyproj.aoi import AreaOfInterest
from pyproj.database import query_utm_crs_info
from pyproj.exceptions import CRSError

from playsite.problems import Finding

__all__ = ["choose_crs", "horizontal", "length_scale", "metric", "read_crs", "vertical_unit_m"]

_WORST_SCALE = 0.01
"""A map that shows lengths more than 1 % wrong is not measured in."""

_METRE = 1e-9
_GEOD = Geod(ellps="GRS80")


def read_crs(text: str) -> CRS:
    """Read the name of a coordinate reference system.

    Raises
    ------
    ValueError
        If nobody knows it.
    """
    try:
        return CRS.from_user_input(text)
    except CRSError:
        raise ValueError(
            f'"{text}" is no coordinate reference system that is known; '
            'expected a code such as "EPSG:26910"'
        ) from None


def horizontal(crs: CRS) -> CRS:
    """Part of a system that says where on the map, without heights.

    Examples
    --------
    >>> horizontal(CRS("EPSG:26910+5703")).to_epsg()
    26910
    """
    if crs.is_compound:
        return horizontal(crs.sub_crs_list[0])
    if crs.is_bound and crs.source_crs is not None:
        return horizontal(crs.source_crs)
    return crs.to_2d()


def vertical_unit_m(crs: CRS) -> float | None:
    """Metres in one unit of a system's heights; None where it has no heights.

    Examples
    --------
    >>> vertical_unit_m(CRS("EPSG:26910+5703"))
    1.0
    """
    parts = crs.sub_crs_list if crs.is_compound else [crs]
    for part in parts:
        axes = part.axis_info
        if part.is_vertical and axes:
            return float(axes[0].unit_conversion_factor)
        if len(axes) == 3:
            return float(axes[2].unit_conversion_factor)
    return None


def metric(crs: CRS) -> CRS:
    """Rebuild the same projection with axes in metres.

    Examples
    --------
    New York's foot system; 984,250 survey feet of false easting are 300,000 m.

    >>> feet = CRS("EPSG:2263")
    >>> x, y = Transformer.from_crs(feet, metric(feet)).transform(984250, 0)
    >>> round(x, 3), round(y, 3)
    (300000.0, 0.0)
    """
    crs = horizontal(crs)
    if not crs.is_projected or all(abs(u - 1) < _METRE for u in _units_m(crs)):
        return crs
    parts: dict[str, Any] = crs.to_json_dict()
    for axis in parts["coordinate_system"]["axis"]:
        axis["unit"] = "metre"
    parts["name"] = f"{parts['name']}, in metres"
    parts.pop("id", None)
    return CRS.from_json_dict(parts)


def length_scale(crs: CRS, lon: float, lat: float) -> float:
    """Length on the map over length on the ground, in the direction where they differ most.

    Parameters
    ----------
    crs
        A projected system; its unit may be any.
    lon, lat
        Place, degrees.

    Returns
    -------
    float
        1 where the map is true; over or under it where lengths are too long or too short.

    Examples
    --------
    The map of the web, at 40 degrees: Mercator's secant of the latitude.

    >>> round(length_scale(CRS("EPSG:3857"), 0, 40), 2)
    1.31
    """
    to_map = Transformer.from_crs("EPSG:4326", crs, always_xy=True)
    unit_m = _units_m(crs)[0]
    scales = []
    for azimuth in (0, 45, 90, 135):
        lon2, lat2, _ = _GEOD.fwd(lon, lat, azimuth, 1000)
        (x1, x2), (y1, y2) = to_map.transform([lon, lon2], [lat, lat2])
        scales.append(math.hypot(x2 - x1, y2 - y1) * unit_m / 1000)
    return max(scales, key=lambda scale: abs(scale - 1))


def choose_crs(
    asked: CRS | None, given: CRS, middle: tuple[float, float]
) -> tuple[CRS, list[Finding]]:
    """Choose the system that everything is measured in.

    That of the study, else the parcels' own where it measures true, else the zone of UTM
    that fits; in metres always.

    Parameters
    ----------
    asked
        What the study file says.
    given
        The parcels' own.
    middle
        Of the parcels, in ``given``.

    Returns
    -------
    tuple
        The system, and what is to be said about it.

    Raises
    ------
    ValueError
        If the study's own can't be measured in, or none fits.
    """
    lon, lat = Transformer.from_crs(given, "EPSG:4326", always_xy=True).transform(*middle)
    if not (math.isfinite(lon) and math.isfinite(lat)):
        place = f"{middle[0]:,.0f}, {middle[1]:,.0f}"
        raise ValueError(f"the parcels' coordinates ({place}) are not on the map of {given.name}")
    if asked is not None:
        if fault := _fault(asked, lon, lat):
            raise ValueError(f"{asked.name} {fault}")
        return metric(asked), _said_feet(asked)
    if not (fault := _fault(given, lon, lat)):
        return metric(given), _said_feet(given)
    fitting = _utm(lon, lat)
    said = Finding(
        f"The parcels' own coordinates ({given.name}) are not measured in: it {fault}.",
        f"Everything is brought to {fitting.name}.",
        f'To choose another, write crs = "EPSG:{fitting.to_epsg()}" under [study].',
        layer="parcels",
    )
    return fitting, [said]


def _units_m(crs: CRS) -> list[float]:
    return [axis.unit_conversion_factor for axis in crs.axis_info[:2]]


def _fault(crs: CRS, lon: float, lat: float) -> str:
    flat = horizontal(crs)
    if not flat.is_projected:
        return "is not projected: its coordinates are degrees"
    if {axis.direction for axis in flat.axis_info[:2]} != {"east", "north"}:
        return "does not count eastwards and northwards"
    scale = length_scale(flat, lon, lat)
    if not math.isfinite(scale):
        return "does not cover the parcels"
    if abs(scale - 1) > _WORST_SCALE:
        return f"shows lengths at the parcels {scale:.2f} times what they are"
    return ""


def _said_feet(crs: CRS) -> list[Finding]:
    if metric(crs) == horizontal(crs):
        return []
    unit = horizontal(crs).axis_info[0].unit_name
    return [
        Finding(
            f"{horizontal(crs).name} counts in the unit {unit}.",
            "Everything is brought to the same projection in metres.",
            layer="parcels",
        )
    ]


def _utm(lon: float, lat: float) -> CRS:
    found = query_utm_crs_info(
        datum_name="WGS 84", area_of_interest=AreaOfInterest(lon, lat, lon, lat)
    )
    if not found:
        raise ValueError(f"no zone of UTM fits {lat:.3f}, {lon:.3f} (latitude, longitude)")
    return CRS.from_epsg(found[0].code)
