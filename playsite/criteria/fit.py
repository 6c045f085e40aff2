"""Fit: the largest scale at which the play area fits on the parcel's buildable land."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve
from playsite.criteria._spoken import Spoken
from playsite.units import Unit

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.site import Site

__all__ = ["CRITERION"]


def largest_scale_ratio(pads: gpd.GeoDataFrame, site: Site) -> Measured:  # noqa: ARG001
    """Largest scale of the pad that fits on the buildable land at any place and rotation.

    The search has found it with the pad's place: 1.2 means that a pad a fifth longer and wider
    would still fit somewhere on this parcel. Of a shape in several parts only its own size is
    looked for: 1.
    """
    other = pads["shape"].astype(str)
    note = ("fits as " + other + ", not as the shape that is looked for first").where(
        other != "", ""
    )
    return Measured(pads["largest_scale"].astype(float), note=note)


CRITERION = Criterion(
    name="fit",
    question="Does the play area fit, and with how much room to spare?",
    plain="largest play area of its shape that fits",
    unit=Unit.RATIO,
    needs=(),
    measure=largest_scale_ratio,
    curve=Curve.rising(
        poor=1.0, acceptable=1.1, ideal=1.3, unit=Unit.RATIO, source="common practice, no source"
    ),
    weight=4,
    plausible=(0, 1000),
    group="Space and law",
    cost="quick",
    sources=(Source("fit of the true outline, turned freely", "common practice, no source"),),
    spoken=Spoken(form="{} its sides"),
    field_task="Flag the corners of the pad and walk it: does anything unmapped stand inside?",
)
