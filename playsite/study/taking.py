"""Rules that take land out of parcels: setbacks, and what stands or runs there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.pads.buildable import Removal, setback_land
from playsite.pads.relaxing import Rule
from playsite.site import LINE_HALF_M

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd
    import numpy.typing as npt
    from shapely.geometry.base import BaseGeometry

    from playsite.settings import Setbacks
    from playsite.site import Site

__all__ = ["Taker", "removals_of", "rules_of", "takers"]

SETBACK = "setback from the parcel line"
_STREETS_NEAR_M = 60.0
_MOST_ROOTS_M = 15.0  # BS 5837 caps the area at 707 square metres, a radius of 15 m


@dataclass(frozen=True)
class Taker:
    """One rule that takes land out of parcels: shapes of the whole town, and how far around them.

    Parameters
    ----------
    rule
        In the words of the ledger.
    shapes
        What is kept clear of.
    around_m
        Width kept clear; that of a line or a point is never 0.
    source
        The layer it is from.
    radii_m
        Where each shape has its own width, in the order of the shapes.
    """

    rule: str
    shapes: gpd.GeoSeries
    around_m: float
    source: str
    radii_m: npt.NDArray[np.float64] | None = None

    def removal(self, parcel: BaseGeometry, around_m: float | None = None) -> Removal | None:
        """What this rule takes near a parcel, at another width where one is given; None: nothing."""
        around_m = self.around_m if around_m is None else around_m
        near = self.shapes.sindex.query(parcel, predicate="dwithin", distance=around_m + 1e-6)
        if not len(near):
            return None
        rows = np.sort(near)
        own = self.shapes.to_numpy()[rows]
        least_m = np.where(shapely.get_dimensions(own) == 2, around_m, LINE_HALF_M)
        own_m = np.full(len(rows), around_m)
        if self.radii_m is not None:
            own_m = self.radii_m[rows] * (around_m / self.around_m)
        shapes = shapely.buffer(own, np.maximum(least_m, own_m) if self.radii_m is None else own_m)
        return Removal(self.rule, shapely.union_all(shapes), self.source, "m", around_m)


def takers(site: Site, setbacks: Setbacks) -> list[Taker]:
    """Rules that take land, in the order of the ledger: street, buildings, water, easements, the study."""
    building_m, water_m, easement_m = setbacks.building_m, setbacks.water_m, setbacks.easement_m
    line_m = setbacks.overhead_line_m
    given = [
        ("street land", site.pavement, 0.0),
        (_with("buildings", building_m), site.layer("buildings"), building_m),
        (_with("water", water_m), site.layer("water"), water_m),
        (_with("easements", easement_m), site.layer("easements"), easement_m),
        (_with("overhead lines", line_m), site.layer("overhead_lines"), line_m),
        ("off limits by the study", site.layer("off_limits"), 0.0),
    ]
    kinds = ("streets", "buildings", "water", "easements", "overhead_lines", "off_limits")
    found = [
        Taker(rule, frame.geometry.reset_index(drop=True), around_m, site.layers.label_of(kind))
        for (rule, frame, around_m), kind in zip(given, kinds, strict=True)
        if len(frame)
    ]
    roots = _roots(site, setbacks.root_diameters)
    return [*found, roots] if roots else found


def _with(what: str, around_m: float) -> str:
    return f"{what} and {around_m:.4g} m around them" if around_m else what


def _roots(site: Site, diameters: float) -> Taker | None:
    """Root zones by the stem's diameter; of a tree without one the crown speaks."""
    trees = site.layer("trees")
    if not diameters or not len(trees):
        return None
    radius_m = trees["diameter_m"].astype(float) * diameters
    radius_m = radius_m.fillna(trees["crown_m"].astype(float)).fillna(0.0).clip(upper=_MOST_ROOTS_M)
    known = trees[radius_m > 0]
    if not len(known):
        return None
    radii_m = radius_m[radius_m > 0].to_numpy(float)
    stems = known.geometry.centroid.reset_index(drop=True)
    rule = f"roots of trees, {diameters:g} times the stem around it"
    return Taker(rule, stems, float(radii_m.max()), site.layers.label_of("trees"), radii_m)


def removals_of(
    parcel: BaseGeometry, site: Site, setbacks: Setbacks, taken: Sequence[Taker]
) -> list[Removal]:
    """All that is taken near a parcel, the setback first."""
    removals = [_setback(parcel, site, setbacks), *(taker.removal(parcel) for taker in taken)]
    return [each for each in removals if each is not None]


def rules_of(
    parcel: BaseGeometry, site: Site, setbacks: Setbacks, taken: Sequence[Taker]
) -> list[Rule]:
    """The same rules, each to be asked at another margin."""
    rules = []
    widest = _widest_m(setbacks)
    if widest:

        def setback(margin_m: float) -> BaseGeometry | None:
            removal = _setback(parcel, site, setbacks, share=margin_m / widest)
            return None if removal is None else removal.shape

        rules.append(Rule(SETBACK, widest, setback, "the study"))
    for taker in taken:

        def bar(margin_m: float, taker: Taker = taker) -> BaseGeometry | None:
            removal = taker.removal(parcel, margin_m if taker.around_m else None)
            return None if removal is None else removal.shape

        rules.append(Rule(taker.rule, taker.around_m or None, bar, taker.source))
    return rules


def _widest_m(setbacks: Setbacks) -> float:
    sides = (setbacks.front_m, setbacks.side_m, setbacks.rear_m)
    if setbacks.by_side:
        return max(_first(side, setbacks.parcel_line_m) for side in sides)
    return setbacks.parcel_line_m or 0.0


def _setback(
    parcel: BaseGeometry, site: Site, setbacks: Setbacks, *, share: float = 1.0
) -> Removal | None:
    """The strip along the parcel's lines, or a share of its width."""
    widest = _widest_m(setbacks)
    if not widest:
        return None
    if not setbacks.by_side:
        strip = setback_land(parcel, all_m=widest * share)
        return Removal(SETBACK, strip, "the study", "m", widest)
    near = site.pavement.sindex.query(parcel, predicate="dwithin", distance=_STREETS_NEAR_M)
    strip = setback_land(
        parcel,
        front_m=share * _first(setbacks.front_m, setbacks.parcel_line_m),
        side_m=share * _first(setbacks.side_m, setbacks.parcel_line_m),
        rear_m=share * _first(setbacks.rear_m, setbacks.parcel_line_m),
        streets=shapely.union_all(site.pavement.geometry.to_numpy()[np.sort(near)]),
    )
    return Removal(SETBACK, strip, "the study", "m", widest)


def _first(given: float | None, otherwise: float | None) -> float:
    return given if given is not None else (otherwise or 0.0)
