"""Banks that dam a channel in the elevation, told so that somebody looks for the culvert."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rasterio.features import geometry_mask
from shapely.geometry import Point

from playsite.problems import Finding
from playsite.terrain.banks import suspected_culverts

if TYPE_CHECKING:
    from playsite.site import Site
    from playsite.terrain.banks import SuspectedCulvert

__all__ = ["culvert_findings"]

_MOST_CELLS = 12_000_000
_PATH_HALF_M = 1.5
_TOLD = 8
_NEAR_M = 10.0
_HECTARE_M2 = 10_000.0


def culvert_findings(site: Site) -> tuple[Finding, ...]:
    """Suspected culverts that no layer maps, those that would hold most water first.

    The elevation is never cut unasked: the user confirms a culvert by drawing it.
    """
    ground, drained = site.ground, site.drained
    if ground is None or drained is None or not 0 < drained.size <= _MOST_CELLS:
        return ()
    ways = [*site.pavement.geometry, *site.layer("paths").geometry.buffer(_PATH_HALF_M)]
    if not ways:
        return ()
    mask = geometry_mask(ways, drained.shape, ground.transform, invert=True)
    pipes = site.layer("culverts").geometry
    found = [
        each
        for each in suspected_culverts(drained, ground.transform, mask)
        if not pipes.distance(Point(each.crown)).lt(_NEAR_M).any()
    ]
    found.sort(key=lambda each: -each.volume_m3)
    return tuple(_finding(each) for each in found[:_TOLD])


def _finding(each: SuspectedCulvert) -> Finding:
    east, north = each.crown
    least = "at least " if each.is_lower_bound else ""
    return Finding(
        f"A bank {each.bank_m:.1f} m high dams a channel in the elevation; {least}"
        f"{each.catchment_m2 / _HECTARE_M2:.1f} ha drain to it, and no culvert is mapped.",
        f"At {east:.0f}, {north:.0f} it is taken as it is: {each.depth_m:.1f} m of water would stand above it. With a "
        "culvert nothing would.",
        "Look for the culvert; if there is one, draw it into [layers.culverts] and rank again.",
        layer="elevation",
        where=f"{east:.0f}, {north:.0f}",
        count=1,
        weight="caution",
    )
