"""Which kind of layer a found one is likely to be, and why."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from playsite.layers import KINDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from playsite.drafting.look import FoundLayer

__all__ = ["LIKELY", "Guess", "guesses", "hazard_of"]

LIKELY = 3
"""Points from which a guess is written into the study; below, it is only mentioned."""

_HAZARDS = {
    "railroad": "rail",
    "railway": "rail",
    "raillines": "rail",
    "pipeline": "pipeline",
    "gasmain": "pipeline",
    "gasstation": "fuel",
    "fillingstation": "fuel",
    "fuel": "fuel",
    "propane": "fuel",
    "brownfield": "contamination",
    "contamin": "contamination",
    "superfund": "contamination",
    "cleanup": "contamination",
    "landfill": "contamination",
    "industrial": "industry",
    "substation": "industry",
    "ballfield": "ball field",
    "athleticfield": "ball field",
    "sportsfield": "ball field",
    "golf": "ball field",
    "dogpark": "dog area",
    "dogrun": "dog area",
    "offleash": "dog area",
}
"""Parts of names of hazards, and which each is."""

_NAMES = {
    "parcels": ("parcel", "cadastr", "assess", "property", "taxlot", "lots"),
    "streets": ("street", "road", "centerline", "centreline"),
    "paths": ("path", "sidewalk", "trail", "footway", "bikeway", "walkway"),
    "water": ("waterbod", "water", "pond", "lake", "stream", "river", "creek", "hydro"),
    "restrooms": ("restroom", "toilet", "washroom", "bathroom"),
    "parking": ("parking", "carpark"),
    "picnic": ("picnic", "shelter"),
    "drinking_water": ("drinkingwater", "drinkingfountain", "waterfountain", "bottlefill"),
    "transit_stops": ("busstop", "transitstop", "tramstop", "railstation", "trainstation"),
    "crossings": ("crosswalk", "pedestriancrossing", "pedcrossing"),
    "culverts": ("culvert",),
    "inlets": ("catchbasin", "storminlet", "draininlet", "inlet", "manhole"),
    "overhead_lines": ("overheadline", "overheadelectric", "powerline", "transmission"),
    "hazards": tuple(_HAZARDS),
    "soils": ("soil", "ssurgo", "mupolygon"),
    "flood_zones": ("floodzone", "floodplain", "floodhaz", "fldhaz", "femaflood", "nfhl"),
    "wetlands": ("wetland",),
    "below": ("demolished", "razed", "filledpond", "filledland", "historicfill", "urbanfill"),
    "playgrounds": ("playground",),
    "population": ("census", "blockgroup", "population", "demographic", "tracts"),
    "districts": ("district", "ward", "precinct"),
    "buildings": ("building", "footprint", "structure", "bldg"),
    "trees": ("tree",),
    "fences": ("fence",),
    "easements": ("easement", "rightofway"),
    "off_limits": ("offlimits", "excluded"),
    "lots": (),
    "elevation": ("dem", "elev", "dtm", "lidar", "ground", "terrain", "height"),
    "surface": ("dsm", "surfacemodel", "firstreturn"),
}
"""Parts of names; three points. A kind whose first shape is another gets none."""

_SPEAK_AGAINST = {
    "parcels": ("flood", "zoning", "history", "parking"),
    "streets": ("major", "light", "sign", "tree", "parking", "furniture", "furn", "rail"),
    "water": (
        *("shed", "main", "meter", "wetland", "valve", "quality", "hydrant"),
        *("drinking", "fountain", "flood"),
    ),
    "inlets": ("sewer", "sanitary", "electric", "telecom", "communication"),
    "soils": ("boring", "sample", "lead"),
    "hazards": ("trail", "crossing", "zoning", "boundary"),
    "flood_zones": ("parcel",),
    "wetlands": ("buffer", "parcel"),
    "parking": ("meter", "handicap", "accessible", "space", "permit", "sign"),
    "buildings": ("permit", "zone", "demolished", "razed"),
    "trees": ("street_tree_pit", "canopy_loss"),
    "elevation": ("dsm", "surface", "slope", "aspect", "hillshade", "canopy"),
    "surface": ("canopyheight", "ndsm", "chm", "slope", "aspect", "hillshade"),
    "playgrounds": ("plan",),
    "population": ("animal", "tree", "park"),
    "districts": (
        *("school", "fire", "police", "historic", "zoning", "overlay", "water", "sewer", "flood"),
        *("soil", "tax", "utility", "lighting", "conservation", "steward", "forward", "award"),
    ),
    "restrooms": (),
}
"""Parts of names that make it less likely; two points less."""

_SPEAK_FOR = {"parking": ("public", "municipal"), "paths": ("public", "foot"), "water": ("bod",)}

_COLUMNS = {
    "parcels": ("parcel", "apn", "maplot", "taxid", "pid", "locid", "owner", "siteid", "taxcoord"),
    "streets": ("lanes", "speed", "func", "class", "streetuse", "streetname", "surface"),
    "trees": ("dbh", "diameter", "species", "genus", "crown", "canopy"),
    "buildings": ("storeys", "stories", "roof", "footprint", "yearbuilt"),
    "restrooms": ("opening", "wheelchair", "gender"),
    "parking": ("spaces", "capacity", "stalls"),
    "fences": ("height",),
    "inlets": ("invert", "rim"),
    "overhead_lines": ("voltage", "kv"),
    "soils": ("musym", "mukey", "hydgrp", "hydrologic"),
    "flood_zones": ("fldzone", "zonesubty", "floodzone"),
    "transit_stops": ("stopid", "routes"),
    "population": ("under5", "b01001", "children", "age0", "geoid"),
    "districts": ("councilm", "wardno", "wardnum"),
}
"""Parts of column names; one point each, two at most."""


@dataclass(frozen=True)
class Guess:
    """A found layer, a kind, and what speaks for it."""

    found: FoundLayer
    kind: str
    points: int
    reasons: tuple[str, ...]


def guesses(found: Sequence[FoundLayer]) -> dict[str, list[Guess]]:
    """Give what each kind of layer could be, the likeliest first; each found layer counts once.

    A found layer goes to the kind for which most speaks; of equals, the one with more features
    comes first.
    """
    by_kind: dict[str, list[Guess]] = {}
    for layer in found:
        own = [guess for kind in KINDS if (guess := _guess(layer, kind)).points > 0]
        if own:
            best = max(own, key=lambda guess: guess.points)
            by_kind.setdefault(best.kind, []).append(best)
    return {
        kind: sorted(
            own, key=lambda guess: (-guess.points, -guess.found.features, guess.found.path)
        )
        for kind, own in by_kind.items()
    }


def hazard_of(layer: FoundLayer) -> str:
    """Which hazard a layer holds, by its name; empty: nobody can tell."""
    words = _plain(layer.words)
    return next((word for part, word in _HAZARDS.items() if part in words), "")


def _guess(layer: FoundLayer, kind: str) -> Guess:
    if kind in {"elevation", "surface"}:
        return _heights(layer, kind)
    shapes = KINDS[kind].shapes
    if layer.shape not in shapes and layer.shape != "mixed":
        return Guess(layer, kind, 0, ())
    words = _plain(layer.words)
    reasons: list[str] = []
    points = 0
    named = _held(_NAMES.get(kind, ()), words)
    if named:
        points += 3
        reasons.append(f'its name holds "{named[0]}"')
        points += len(_held(_SPEAK_FOR.get(kind, ()), words))
    against = _held(_SPEAK_AGAINST.get(kind, ()), words)
    points -= 2 * len(against[:1])
    hints = [f for f in layer.fields for part in _COLUMNS.get(kind, ()) if part in _plain(f)]
    if hints and (named or len(set(hints)) > 1):
        points += min(2, len(set(hints)))
        reasons.append(f"it has the column {hints[0]}")
    if reasons:
        reasons.append(f"it holds {layer.features:,} {layer.shape}s")
    return Guess(layer, kind, points, tuple(reasons))


def _heights(layer: FoundLayer, kind: str) -> Guess:
    """A raster of heights is the ground, unless its name says that it is a surface model."""
    facts = layer.raster
    if not facts or facts["bands"] != 1 or facts["dtype"] == "uint8":
        return Guess(layer, kind, 0, ())
    reasons = [f"it is a raster of one band of {facts['dtype']}"]
    words = _plain(layer.words)
    named = [part for part in _NAMES[kind] if part in words]
    points = 3 if named or kind == "elevation" else 0
    if named:
        points += 1
        reasons.append(f'its name holds "{named[0]}"')
    if any(part in words for part in _SPEAK_AGAINST[kind]):
        points -= 3
    return Guess(layer, kind, points, tuple(reasons))


def _held(parts: Sequence[str], words: str) -> list[str]:
    """Parts that stand in a name; the "tree" of a street is none."""
    return [
        part
        for part in parts
        if part in words.replace("street", "str" if part == "tree" else "street")
    ]


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9]", "", text.lower())
