"""Each parcel's buildable land, whether the pad fits on it, and a bounded set of legal places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.pads.buildable import Removal, buildable_land, setback_land
from playsite.pads.search import LargestScale, iterate_legal_places, largest_scale, spread
from playsite.pads.shape import pad_polygons
from playsite.site import LINE_HALF_M
from playsite.terrain.grade import pad_grade

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    import geopandas as gpd
    import numpy.typing as npt
    from shapely.geometry.base import BaseGeometry

    from playsite.pads.buildable import LedgerRow
    from playsite.program import RequiredPad
    from playsite.settings import Setbacks
    from playsite.site import Site

__all__ = ["FITS", "KEEP", "ParcelSearch", "Taker", "search_parcel", "takers"]

KEEP = 64
"""Places of a parcel on which the quick criteria are measured: well spread, least grade first."""

FITS = 1 - 1e-6
"""Scale from which a pad counts as fitting: a lot that fits exactly has no room to spare."""

_CELLS_OF_A_PLACE = 800  # every cell at 1 m; at finer cells as many, those kept are measured on all
_STREETS_NEAR_M = 60.0
_GAP = 0.01  # of a scale that is far from 1, a hundredth is near enough
_AT_ONCE = 500_000


@dataclass(frozen=True)
class Taker:
    """One rule that takes land out of parcels: shapes of the whole town, and how far around them."""

    rule: str
    shapes: gpd.GeoSeries
    around_m: float
    source: str

    def removal(self, parcel: BaseGeometry) -> Removal | None:
        """What this rule takes near a parcel; None where nothing of it is near."""
        near = self.shapes.sindex.query(parcel, predicate="dwithin", distance=self.around_m + 1e-6)
        if not len(near):
            return None
        own = self.shapes.to_numpy()[np.sort(near)]
        least_m = np.where(shapely.get_dimensions(own) == 2, self.around_m, LINE_HALF_M)
        shapes = shapely.buffer(own, np.maximum(least_m, self.around_m))
        return Removal(self.rule, shapely.union_all(shapes), self.source, "m", self.around_m)


@dataclass(frozen=True)
class ParcelSearch:
    """What the search found on one parcel.

    Parameters
    ----------
    parcel_id
        The parcel.
    ledger
        What each rule took.
    largest
        Greatest scale of the pad, and where.
    places
        (n, 3) legal places kept: easting, northing, rotation_deg; empty where the pad doesn't fit.
    slack_m
        (n,) least distance from each place's pad to the edge of the buildable land.
    """

    parcel_id: str
    ledger: tuple[LedgerRow, ...]
    largest: LargestScale
    places: npt.NDArray[np.float64]
    slack_m: npt.NDArray[np.float64]


def takers(site: Site, setbacks: Setbacks) -> list[Taker]:
    """Rules that take land, in the order of the ledger: street, buildings, water, easements, the study."""
    building_m, water_m, easement_m = setbacks.building_m, setbacks.water_m, setbacks.easement_m
    given = [
        ("street land", site.pavement, 0.0),
        (_with("buildings", building_m), site.layer("buildings"), building_m),
        (_with("water", water_m), site.layer("water"), water_m),
        (_with("easements", easement_m), site.layer("easements"), easement_m),
        ("off limits by the study", site.layer("off_limits"), 0.0),
    ]
    kinds = ("streets", "buildings", "water", "easements", "off_limits")
    return [
        Taker(rule, frame.geometry.reset_index(drop=True), around_m, site.layers.label_of(kind))
        for (rule, frame, around_m), kind in zip(given, kinds, strict=True)
        if len(frame)
    ]


def _with(what: str, around_m: float) -> str:
    return f"{what} and {around_m:.4g} m around them" if around_m else what


def search_parcel(
    parcel_id: str,
    parcel: BaseGeometry,
    *,
    pad: RequiredPad,
    site: Site,
    setbacks: Setbacks,
    taken: Sequence[Taker],
    keep: int = KEEP,
) -> ParcelSearch:
    """Search one parcel for every place where the pad fits, and keep a bounded, well spread set."""
    removals = [_setback(parcel, site, setbacks), *(taker.removal(parcel) for taker in taken)]
    built = buildable_land(
        parcel, [each for each in removals if each is not None], line_error_m=setbacks.line_error_m
    )
    sides: Mapping[str, float] = {"length_m": pad.length_m, "width_m": pad.width_m}
    largest = largest_scale(built.land, **sides, gap=_GAP)
    if largest.scale < FITS <= largest.at_most:
        largest = largest_scale(built.land, **sides)  # a near thing is searched to the last
    places = np.empty((0, 3))
    if largest.scale >= FITS:
        places = _kept(iterate_legal_places(built.land, **sides), pad, site, keep)
        if not len(places):
            places = np.array([[largest.easting, largest.northing, largest.rotation_deg]])
    slack_m = shapely.distance(pad_polygons(places, **sides), shapely.boundary(built.land))
    return ParcelSearch(parcel_id, tuple(built.ledger), largest, places, slack_m)


def _setback(parcel: BaseGeometry, site: Site, setbacks: Setbacks) -> Removal | None:
    if setbacks.by_side:
        near = site.pavement.sindex.query(parcel, predicate="dwithin", distance=_STREETS_NEAR_M)
        strip = setback_land(
            parcel,
            front_m=_first(setbacks.front_m, setbacks.parcel_line_m),
            side_m=_first(setbacks.side_m, setbacks.parcel_line_m),
            rear_m=_first(setbacks.rear_m, setbacks.parcel_line_m),
            streets=shapely.union_all(site.pavement.geometry.to_numpy()[np.sort(near)]),
        )
        widest = max(
            _first(side, 0.0) for side in (setbacks.front_m, setbacks.side_m, setbacks.rear_m)
        )
    elif setbacks.parcel_line_m:
        widest = setbacks.parcel_line_m
        strip = setback_land(parcel, all_m=widest)
    else:
        return None
    return Removal("setback from the parcel line", strip, "the study", "m", widest)


def _first(given: float | None, otherwise: float | None) -> float:
    return given if given is not None else (otherwise or 0.0)


def _kept(
    blocks: Iterator[npt.NDArray[np.float64]], pad: RequiredPad, site: Site, keep: int
) -> npt.NDArray[np.float64]:
    """Bound all legal places by grade, block by block: every one is looked at, few are held."""
    held = np.empty((0, 3))
    waiting: list[npt.NDArray[np.float64]] = []
    for block in blocks:
        waiting.append(block)
        if sum(len(each) for each in waiting) > _AT_ONCE:
            held = _bounded(np.concatenate([held, *waiting]), pad, site, 8 * keep)
            waiting = []
    return _bounded(np.concatenate([held, *waiting]), pad, site, keep)


def _bounded(
    places: npt.NDArray[np.float64], pad: RequiredPad, site: Site, keep: int
) -> npt.NDArray[np.float64]:
    quality = np.zeros(len(places))
    if site.ground is not None and len(places):
        plane = pad_grade(
            site.ground.elevation,
            site.ground.transform,
            places,
            length_m=pad.length_m,
            width_m=pad.width_m,
            most_cells=_CELLS_OF_A_PLACE,
        )
        # Uneven ground counts as if it sloped by its departure over half the pad's width.
        quality = plane.grade_pct + 200 * plane.residual_rms_m / pad.width_m
    chosen = spread(places, keep, quality=quality)
    if np.isfinite(quality).any():
        # The least grade of all is never lost to the spreading.
        chosen = np.unique(np.append(chosen, np.nanargmin(quality)))
    return places[chosen]
