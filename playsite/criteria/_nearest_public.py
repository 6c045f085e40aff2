"""Walk from the pad to the nearest public place of a kind: shared by all criteria of walks."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.criteria._contract import Measured
from playsite.layers.opening_hours import open_pct, play_times
from playsite.proximity.clearance import clearance_m
from playsite.proximity.detours import detour_reasons
from playsite.proximity.town_ways import BUSY
from playsite.proximity.walking import Land, walk_m

if TYPE_CHECKING:
    from playsite._way_settings import PlayTable
    from playsite.site import Site

__all__ = ["OPEN_PCT", "in_use", "walk_rules", "walk_to_public", "walk_to_usable"]

OPEN_PCT = 75.0
"""A place counts where it is open in this share of play hours on each day of the week; common
practice, no source."""

OFF_LAND_M = 30.0
"""How far a walk leads over open ground off the pad's own parcel, or from a place, before it comes to
a street or path; common practice, no source. Where one lies apart from all of them, so much more."""

_SNAP_M = 10.0  # a link over open ground that is longer is told


def in_use(places: gpd.GeoDataFrame, play: PlayTable) -> tuple[pd.Series[bool], pd.Series[Any]]:
    """Which places people can use when children play, and why not, or what isn't known.

    Parameters
    ----------
    places
        Features with ``is_public``; ``opening_hours`` and ``wheelchair`` where the kind has them.
    play
        When children play.
    """
    why: pd.Series[Any] = pd.Series("", index=places.index, dtype=object)
    usable = pd.Series(data=True, index=places.index)

    def refuse(which: pd.Series[bool], reason: str) -> None:
        why[which & usable] = reason
        usable[which] = False

    refuse(~places["is_public"].astype(bool), "not public")
    if "opening_hours" in places:
        open_share = open_pct(places, times=play_times(play))
        refuse(open_share < OPEN_PCT, "not open whenever children play")
        known = usable & open_share.notna()
        why[known] = "open " + places["opening_hours"][known].astype(str)
        why[usable & open_share.isna()] = "hours not known"
    if "wheelchair" in places:
        refuse(places["wheelchair"].eq("no").fillna(value=False), "not accessible")
        silent = usable & places["wheelchair"].isna()
        why[silent] = why[silent].map(lambda said: f"{said}, " if said else "")
        why[silent] += "not known whether accessible"
    return usable, why


def walk_to_usable(pads: gpd.GeoDataFrame, site: Site, kind: str, what: str) -> Measured:
    """Walk to the nearest place of a kind that is public, open when children play, and accessible.

    What is not known of a place doesn't shut it out, and is told.
    """
    places = site.layer(kind)
    if not len(places):
        return walk_to_public(pads, site, kind, what, places=places)
    usable, why = in_use(places, site.play)
    named = places[usable].assign(remark=why[usable])
    got = walk_to_public(pads, site, kind, what, places=named)
    shut = places[~usable]
    if not len(shut) or got.note is None:
        return got
    near = shapely.STRtree(shut.geometry.to_numpy()).nearest(pads.geometry.to_numpy())
    straight_m = shapely.distance(shut.geometry.to_numpy()[near], pads.geometry.to_numpy())
    told = [
        f"; a {what} {far:.1f} m off in a straight line doesn't count: {why[shut.index[k]]}"
        for far, k in zip(straight_m, near, strict=True)
    ]
    closer = straight_m < got.value.to_numpy()
    notes = [
        said + (more if near_by else "")
        for said, more, near_by in zip(got.note, told, closer, strict=True)
    ]
    return replace(got, note=pd.Series(notes, index=pads.index, dtype=object))


def walk_to_public(
    pads: gpd.GeoDataFrame,
    site: Site,
    kind: str,
    what: str,
    *,
    places: gpd.GeoDataFrame | None = None,
) -> Measured:
    """Walk along streets and paths to the nearest public place of a kind.

    Parameters
    ----------
    pads, site
        As every criterion has them.
    kind
        Kind of layer.
    what
        The place in words: "restroom".
    places
        Those that count, with a ``remark`` where there is something to say; absent: the public ones.
    """
    ways = site.ways
    if ways is None:
        nowhere = "unknown: the study has neither streets nor paths to walk along"
        said = pd.Series(nowhere, index=pads.index)
        return Measured(pd.Series(np.nan, index=pads.index), note=said)
    if places is None:
        places = site.layer(kind)
        places = places[places["is_public"].astype(bool)] if "is_public" in places else places
    if not len(places):
        none = pd.Series(f"no {what} that counts in the layer of {kind}", index=pads.index)
        return Measured(pd.Series(np.inf, index=pads.index), note=none)
    options = walk_rules(pads, places, site) | {"reach_m": site.walks.reach_m}
    found = walk_m(pads.geometry, places.geometry, ways, **options)
    notes = _notes(found, places, pads, site) + _without_steps(found, places, pads, site)
    fenced = _closed_off(found, places, pads, site)
    notes[fenced] = (
        "unknown: fences close off every straight way to a street or path, and no gate is mapped there"
    )
    return Measured(
        found["walk_m"].mask(pads.index.isin(fenced)),
        note=notes,
        evidence=_evidence(found, what, pads.crs),
        also={"straight_m": found["straight_m"]},
    )


def walk_rules(pads: gpd.GeoDataFrame, places: gpd.GeoDataFrame, site: Site) -> dict[str, Any]:
    """What a walk from a pad may cross: not fences, and not far over other people's land."""
    parcels = site.layers.parcels.geometry
    if site.ways is None or not pads["parcel_id"].isin(parcels.index).all():
        return {"blocked": site.walk_blocks}
    ground = site.ways.edges[~site.on_bridges]
    own = parcels.loc[pads["parcel_id"]].to_numpy()
    pad_m, place_m = (
        OFF_LAND_M + np.asarray(clearance_m(shapes, ground).fillna(np.inf), dtype=np.float64)
        for shapes in (own, places.geometry.to_numpy())
    )
    return {"blocked": site.walk_blocks, "land": Land(own, pad_m, place_m)}


def _closed_off(
    found: pd.DataFrame, places: gpd.GeoDataFrame, pads: gpd.GeoDataFrame, site: Site
) -> list[Any]:
    """Pads from which there is a walk but for the fences: a gate that nobody mapped may be there."""
    lost = found.index[np.isposinf(found["walk_m"])]
    if not len(lost) or not len(site.layer("fences")) or site.ways is None:
        return []
    options = walk_rules(pads.loc[lost], places, site) | {
        "blocked": site.link_blocks,
        "paths": False,
    }
    free = walk_m(
        pads.geometry.loc[lost],
        places.geometry,
        site.ways,
        reach_m=site.walks.reach_m,
        **options,
    )
    return list(free.index[np.isfinite(free["walk_m"])])


def _without_steps(
    found: pd.DataFrame, places: gpd.GeoDataFrame, pads: gpd.GeoDataFrame, site: Site
) -> pd.Series[Any]:
    """Say how far it is without steps, where that is farther."""
    told: pd.Series[Any] = pd.Series("", index=pads.index, dtype=object)
    paths, ways = site.layer("paths"), site.ways_without_steps
    if site.walks.step_free or ways is None or "is_step_free" not in paths:
        return told
    if paths["is_step_free"].all():
        return told
    level_m = walk_m(
        pads.geometry,
        places.geometry,
        ways,
        reach_m=site.walks.reach_m,
        paths=False,
        **walk_rules(pads, places, site),
    )["walk_m"]
    for pad in pads.index[level_m > found["walk_m"] + 1.0]:
        far = level_m[pad]
        told[pad] = f"; without steps {far:.1f} m" if np.isfinite(far) else "; no way without steps"
    return told


def _notes(
    found: pd.DataFrame, places: gpd.GeoDataFrame, pads: gpd.GeoDataFrame, site: Site
) -> pd.Series[Any]:
    """Name the place; why the walk is so much longer than straight, what is crossed, what isn't known."""
    reached = np.isfinite(found["walk_m"])
    reasons = detour_reasons(found, pads.geometry, places.geometry, _between(site))
    notes = []
    rows: list[Any] = list(found.assign(reached=reached, reason=reasons).itertuples())
    for row in rows:
        place = places.loc[row.target] if row.target is not None else None
        own = place is not None and isinstance(place["name"], str)
        parts = [place["name"] if own and place is not None else ""]
        parts += [] if row.reached else [row.note]
        parts += [row.reason, _crossed(row)]
        if row.reached and row.from_link_m > _SNAP_M and row.from_link_m < row.walk_m:
            parts.append(f"the first {row.from_link_m:.1f} m over open ground")
        parts.append("" if place is None else place.get("remark", ""))
        notes.append("; ".join(part for part in parts if part))
    return pd.Series(notes, index=found.index, dtype=object)


def _crossed(row: Any) -> str:
    if not row.crossings > 0:
        return ""
    count, bare = int(row.crossings), int(row.crossings - row.marked)
    times = "once" if count == 1 else f"{count} times"
    if not bare:
        return f"crosses a busy street {times}, at a mapped crossing"
    how_many = "" if bare == count else f"{bare} of them "
    return f"crosses a busy street {times}, {how_many}without a mapped crossing"


def _between(site: Site) -> dict[str, gpd.GeoSeries]:
    """What makes people go round, by its name."""
    streets = site.layer("streets")
    busy = streets[streets["class"].isin(BUSY)] if len(streets) else streets
    return {
        "open water": site.layer("water").geometry,
        "rails": site.rails,
        "a busy street": busy.geometry,
    }


def _evidence(found: pd.DataFrame, what: str, crs: object) -> gpd.GeoDataFrame:
    has = found.index[np.isfinite(found["walk_m"])]
    return gpd.GeoDataFrame(
        {"pad_id": has, "label": f"walk to the nearest {what}"},
        geometry=list(found.loc[has, "path"]),
        crs=crs,
    )
