"""Each parcel's buildable land, whether the pad fits on it, and a bounded set of legal places."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import shapely

from playsite.pads.buildable import buildable_land
from playsite.pads.search import LargestScale, find_place, iterate_legal_places, largest_scale
from playsite.study.bounding import KEEP, bounded, kept
from playsite.study.shapes import Placing, outlines, places_apart, places_together, shapes_of
from playsite.study.taking import removals_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy.typing as npt
    from shapely.geometry.base import BaseGeometry

    from playsite.pads.buildable import LedgerRow
    from playsite.program import RequiredPad
    from playsite.program.pad_shapes import PadShape
    from playsite.settings import Setbacks
    from playsite.site import Site
    from playsite.study.taking import Taker

__all__ = ["FITS", "ParcelSearch", "search_parcel"]

FITS = 1 - 1e-6
"""Scale from which a pad counts as fitting: a lot that fits exactly has no room to spare."""

_GAP = 0.01  # of a scale that is far from 1, a hundredth is near enough
_NOWHERE = Placing(np.empty((0, 3)), np.empty(0, dtype=object))


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
    shape
        Which of the pad's shapes was placed: 0, the rectangle looked for first, wherever it fits.
    placing
        Legal places kept, with their outlines; empty where no shape fits.
    slack_m
        (n,) least distance from each place's pad to the edge of the buildable land.
    taken
        What each row of the ledger took, in its order.
    beside
        Whether each program beside the study's own fits here, by its name.
    """

    parcel_id: str
    ledger: tuple[LedgerRow, ...]
    largest: LargestScale
    shape: int
    placing: Placing
    slack_m: npt.NDArray[np.float64]
    taken: tuple[BaseGeometry, ...] = ()
    beside: Mapping[str, bool] = field(default_factory=dict)

    @property
    def is_placed(self) -> bool:
        """Whether any of the pad's shapes fits."""
        return len(self.placing.places) > 0


def search_parcel(
    parcel_id: str,
    parcel: BaseGeometry,
    *,
    pad: RequiredPad,
    site: Site,
    setbacks: Setbacks,
    taken: Sequence[Taker],
    keep: int = KEEP,
    beside: Mapping[str, RequiredPad] | None = None,
) -> ParcelSearch:
    """Search one parcel for every place where the pad fits, and keep a bounded, well spread set.

    Of programs ``beside`` the study's own it is only asked whether one of their shapes fits.
    """
    removals = removals_of(parcel, site, setbacks, taken)
    built = buildable_land(parcel, removals, line_error_m=setbacks.line_error_m)
    number, largest, placing = 0, LargestScale(0.0, 0.0, 0.0, 0.0, 0.0), _NOWHERE
    for number, shape in enumerate(shapes_of(pad)):
        if number and not _may_fit(shape, built.land):
            continue
        scale, placing = _placed(shape, built.land, site, keep)
        if number == 0 or len(placing.places):
            largest = scale
        if len(placing.places):
            break
    slack_m = shapely.distance(placing.outlines, shapely.boundary(built.land))
    fits = {name: _fits(other, built.land) for name, other in (beside or {}).items()}
    return ParcelSearch(
        parcel_id, tuple(built.ledger), largest, number, placing, slack_m, tuple(built.taken), fits
    )


def _fits(pad: RequiredPad, land: BaseGeometry) -> bool:
    """Whether one of a pad's shapes fits."""
    for shape in shapes_of(pad):
        if len(shape.parts) > 1:
            some = (
                places_apart(shape, land)
                if shape.is_loose
                else places_together(shape, land, enough=1)
            )
            found = len(some.places) > 0
        else:
            long_m, short_m = shape.sides_m
            found = find_place(land, length_m=long_m, width_m=short_m) is not None
        if found:
            return True
    return False


def _may_fit(shape: PadShape, land: BaseGeometry) -> bool:
    """A quick refusal of a shape that isn't looked for first: its scale is nobody's question."""
    if shape.area_m2 > land.area:
        return False
    long_m, short_m = shape.sides_m
    return len(shape.parts) > 1 or find_place(land, length_m=long_m, width_m=short_m) is not None


def _placed(
    shape: PadShape, land: BaseGeometry, site: Site, keep: int
) -> tuple[LargestScale, Placing]:
    """Greatest scale of one shape, and a bounded set of its legal places."""
    if len(shape.parts) > 1:
        placing = places_apart(shape, land) if shape.is_loose else places_together(shape, land)
        if not len(placing.places):
            return LargestScale(0.0, np.nan, np.nan, np.nan, 0.0), _NOWHERE
        east, north, turned = placing.places[0].tolist()
        return LargestScale(1.0, east, north, turned, 1.0), bounded(placing, site, keep)
    sides = dict(zip(("length_m", "width_m"), shape.sides_m, strict=True))
    largest = largest_scale(land, **sides, gap=_GAP)
    if largest.scale < FITS <= largest.at_most:
        largest = largest_scale(land, **sides)  # a near thing is searched to the last
    if largest.scale < FITS:
        return largest, _NOWHERE
    placing = kept(shape, iterate_legal_places(land, **sides), site, keep)
    if not len(placing.places):
        place = np.array([[largest.easting, largest.northing, largest.rotation_deg]])
        placing = Placing(place, outlines(shape, place))
    return largest, placing
