"""Shade: the share of the pad in the shade of crowns and buildings when children play."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.criteria._contract import Criterion, Measured, Source
from playsite.criteria._curve import Curve, Knot
from playsite.engine import in_threads
from playsite.sun.pad_shade import FAR_M, pad_shade, scene_of
from playsite.sun.seasons import HOURS, SHOWN_HOURS, places_on_earth, season_suns, shown_months
from playsite.units import Unit

if TYPE_CHECKING:
    import numpy.typing as npt

    from playsite.site import Site
    from playsite.sun.casters import Crowns
    from playsite.sun.pad_shade import PadShade, Scene

    Found = tuple[Scene, PadShade]

__all__ = ["CRITERION"]

_PRACTICE = "common practice, no source"
_MONTHS = {3: "March", 6: "June", 9: "September", 12: "December"}
_SIDES = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
_TOLD_PCT = 1.0
_NO_TOPS = (
    "unknown: the surface model or the ground isn't known here, and there is no layer of trees"
)


def shaded_pct(pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Share of the pad in shade from 10 to 16 o'clock by the sun, in the six warm months.

    Crowns as spheroids, buildings as prisms, on a level pad, under a clear sky, trees in leaf and
    as dense as a roof; or tops of a surface model, where there is one, solid down to the ground.
    Trees that stand on the pad or within 3 m of it are taken out. The interval comes from heights
    that were estimated and from trees of unknown size.
    """
    centres = np.column_stack([pads["easting"], pads["northing"]]).astype(float)
    latitude, north = places_on_earth(centres, pads.crs)

    def of_one(row: int) -> Found:
        pad = pads.geometry.iloc[row]
        suns = season_suns(latitude[row], north[row])
        level_m = site.level_of(pad)
        # Without the ground below it a surface model says nothing.
        tops = None if np.isnan(level_m) else site.tops_near(pad, far_m=FAR_M)
        scene = scene_of(pad, site.bodies, suns, level_m=level_m, tops=tops)
        return scene, pad_shade(scene, suns)

    found: list[Found] = list(in_threads(of_one, list(range(len(pads)))))

    # Without trees only the surface model tells, and only where it is known.
    dark = [scene.tops is None and not site.has("trees") for scene, _ in found]

    def column(name: str) -> pd.Series[float]:
        own = [getattr(each, name) for _, each in found]
        return pd.Series(own, pads.index, dtype=float).mask(np.array(dark, dtype=bool))

    has_walls = site.has("buildings")
    notes = [
        _NO_TOPS
        if is_dark
        else _told(*one, month=shown_months(south_or_north), has_walls=has_walls)
        for one, south_or_north, is_dark in zip(found, latitude, dark, strict=True)
    ]
    return Measured(
        column("mean_pct"),
        low=column("low_pct"),
        high=column("high_pct"),
        note=pd.Series(notes, index=pads.index, dtype=object),
        evidence=_gone(pads, [scene.taken for scene, _ in found]),
    )


def _told(scene: Scene, shade: PadShade, *, month: tuple[int, int], has_walls: bool) -> str:
    """Say the hours, the side for seats, what was taken out, and what was estimated."""
    parts = [_hours(shade, month), _seats(shade)]
    if scene.tops is not None:
        parts.append("from the surface model: crowns as solid down to the ground")
        lost_pct = shade.with_taken_pct - shade.mean_pct
        if lost_pct > _TOLD_PCT:
            parts.append(
                "what stands on the play area or within 3 m would have to go and is left out; "
                f"with it {shade.with_taken_pct:.0f} %"
            )
        return "; ".join(parts)
    if len(scene.taken.xy):
        parts.append(
            f"trees on the play area or within 3 m that would have to go and are left out: "
            f"{len(scene.taken.xy)}; with them {shade.with_taken_pct:.0f} %"
        )
    unsized = int((~scene.crowns.is_sized).sum())
    if unsized and shade.high_pct - shade.mean_pct > _TOLD_PCT:
        parts.append(f"trees near of unknown size, left out of the value: {unsized}")
    if shade.high_pct - shade.low_pct > _TOLD_PCT:
        parts.append("some heights are estimated")
    if not has_walls:
        parts.append("the shade of buildings is not known")
    return "; ".join(parts)


def _hours(shade: PadShade, month: tuple[int, int]) -> str:
    columns = [HOURS.index(hour) for hour in SHOWN_HOURS]
    # The third month of the six is that of the highest sun, the sixth the last warm one.
    rows = zip(month, shade.by_sun_pct[[2, 5]][:, columns], strict=True)
    texts = [
        f"{_MONTHS[number]} " + ", ".join("?" if np.isnan(v) else f"{v:.0f} %" for v in values)
        for number, values in rows
    ]
    return f"at 10, 13 and 16 o'clock by the sun: {'; '.join(texts)}"


def _seats(shade: PadShade) -> str:
    if not np.isfinite(shade.sides_pct).any():
        return "no side known"
    best = int(np.nanargmax(shade.sides_pct))
    if shade.sides_pct[best] < _TOLD_PCT:
        return "no side has shade for seats"
    side = _SIDES[int((shade.sides_at[best] + 22.5) // 45) % 8]
    return f"seats have most shade along the {side} side: {shade.sides_pct[best]:.0f} %"


def _gone(pads: gpd.GeoDataFrame, taken: list[Crowns]) -> gpd.GeoDataFrame:
    counts = [len(each.xy) for each in taken]
    places: npt.NDArray[np.float64] = np.concatenate([np.empty((0, 2)), *(t.xy for t in taken)])
    return gpd.GeoDataFrame(
        {"pad_id": np.repeat(pads.index, counts), "label": "a tree that would have to go"},
        geometry=shapely.points(places),
        crs=pads.crs,
    )


CRITERION = Criterion(
    name="shade",
    question="Is enough of the play area in shade when children play?",
    plain="share of the play area in shade on warm days",
    unit=Unit.PERCENT,
    needs=("trees",),
    instead={"trees": "surface"},
    measure=shaded_pct,
    curve=Curve(
        (
            Knot("poor", 5.0, 0.0, _PRACTICE),
            Knot("acceptable", 15.0, 0.5, _PRACTICE),
            Knot("ideal", 30.0, 1.0, _PRACTICE),
            Knot("still_ideal", 60.0, 1.0, _PRACTICE),
            Knot("too_much", 85.0, 0.5, _PRACTICE),
        ),
        Unit.PERCENT,
    ),
    weight=6,
    plausible=(0, 100),
    # heights and crowns that nobody tells are wrong in the same way at every site (common practice)
    shared_error=0.5,
    group="Sun and trees",
    # A pad must not be drawn under trees that would have to go for it.
    cost="best",
    sources=(
        Source("Pub. 325, 2.1: sun exposure is a siting factor, no figure given"),
        Source("sun: Meeus 1998, checked against NREL/TP-560-34302, app. A.5", "from memory"),
        Source("heights and crowns that nobody tells", "common practice"),
    ),
    field_task="Photograph the shade at 10, 13 and 16 o'clock; note trees that would have to go.",
)
