"""Walk from the pad to the nearest public place of a kind: shared by restroom and parking."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from playsite.criteria._contract import Measured
from playsite.proximity.walking import walk_m

if TYPE_CHECKING:
    from playsite.site import Site

__all__ = ["walk_to_public"]


def walk_to_public(pads: gpd.GeoDataFrame, site: Site, kind: str, what: str) -> Measured:
    """Walk along streets and paths to the nearest public place of a kind.

    Parameters
    ----------
    pads, site
        As every criterion has them.
    kind
        Kind of layer.
    what
        The place in words: "restroom".
    """
    network = site.network
    if network is None:
        nowhere = "unknown: the study has neither streets nor paths to walk along"
        said = pd.Series(nowhere, index=pads.index)
        return Measured(pd.Series(np.nan, index=pads.index), note=said)
    places = site.layer(kind)
    public = places[places["is_public"].astype(bool)] if len(places) else places
    if not len(public):
        none = pd.Series(f"no public {what} in the {kind} layer", index=pads.index)
        return Measured(pd.Series(np.inf, index=pads.index), note=none)
    found = walk_m(pads.geometry, public.geometry, network, blocked=site.link_blocks)
    reached = np.isfinite(found["walk_m"])
    names = found["target"].map(public["name"]).where(reached)
    straight = found["straight_m"].map(lambda m: f"{m:.0f} m in a straight line")
    note = (names.fillna("").astype(str) + "; " + straight).str.removeprefix("; ")
    note = note.where(reached, found["note"].fillna("") + "; " + straight)
    with_path = found.index[reached]
    evidence = gpd.GeoDataFrame(
        {"pad_id": with_path, "label": f"walk to the nearest public {what}"},
        geometry=list(found.loc[with_path, "path"]),
        crs=pads.crs,
    )
    return Measured(found["walk_m"], note=note, evidence=evidence)
