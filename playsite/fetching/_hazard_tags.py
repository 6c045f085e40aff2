"""Tags of OpenStreetMap for hazards, wires and culverts.

Wetlands, inlets and what lies below are left to inventories: a study takes such a layer for a search of
the whole ground, which the few that volunteers have mapped are not.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.fetching._tag_rules import NAME, ColumnRule, TagKind, Tags, number

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["HAZARD_TAGS"]

_RAILS = ("rail", "light_rail", "narrow_gauge", "subway")
_BURNS = ("gas", "cng", "lpg", "lng", "oil", "fuel", "propane", "petroleum", "gasoline", "diesel")
_NO_BALL = ("chess", "table_tennis", "boules", "skateboard", "climbing", "bouldering")
_AISLES = ("parking_aisle", "drive-through")
_DIRTY = ("landfill", "brownfield")


def _hazard(tags: Tags) -> str | None:  # noqa: PLR0911  # a word a line
    """Kind of hazard, in the layer's words; None: it is none."""
    if tags.get("railway") in _RAILS and tags.get("tunnel", "no") == "no":
        return "rail"
    held = tags.get("substance") or tags.get("content") or tags.get("type") or ""
    burns = any(word in held.lower().split("_") for word in _BURNS) or held in _BURNS
    if tags.get("man_made") == "pipeline":
        return "pipeline" if burns else None
    if tags.get("amenity") == "fuel" or (tags.get("man_made") == "storage_tank" and burns):
        return "fuel"
    if tags.get("landuse") in _DIRTY:
        return "contamination"
    if tags.get("landuse") in {"industrial", "quarry"} or tags.get("power") in {
        "substation",
        "plant",
    }:
        return "industry"
    if tags.get("leisure") == "dog_park":
        return "dog area"
    if tags.get("leisure") in {"pitch", "golf_course"}:
        return None if tags.get("sport") in _NO_BALL else "ball field"
    return "drive" if tags.get("service") in _AISLES else None


def _voltage_kv(tags: Tags) -> float | None:
    """Highest voltage of a line, kV: OpenStreetMap gives volts, several circuits apart by ``;``.

    Examples
    --------
    >>> _voltage_kv({"voltage": "110000;20000"}), _voltage_kv({"voltage": "high"})
    (110.0, None)
    """
    volts = [number(part.strip()) for part in tags.get("voltage", "").split(";")]
    known = [each for each in volts if each is not None]
    return max(known) / 1000 if known else None


def _is_line(tags: Tags) -> bool:
    """Whether a closed way is a track, a pipe or a wire, not the ground inside it."""
    return tags.get("railway") in _RAILS or tags.get("man_made") == "pipeline" or "service" in tags


HAZARD_TAGS: Mapping[str, TagKind] = {
    "hazards": TagKind(
        {
            "railway": _RAILS,
            "man_made": ("pipeline", "storage_tank"),
            "amenity": ("fuel",),
            "landuse": (*_DIRTY, "industrial", "quarry"),
            "power": ("substation", "plant"),
            "leisure": ("pitch", "golf_course", "dog_park"),
            "service": _AISLES,
        },
        ("point", "line", "polygon"),
        (
            NAME,
            ColumnRule(
                "kind",
                ("railway", "man_made", "amenity", "landuse", "power", "leisure", "service"),
                _hazard,
            ),
        ),
        lambda tags: _hazard(tags) is not None,
        "no rail in a tunnel, no pipeline or tank of water, no pitch without balls",
        is_line=_is_line,
    ),
    "overhead_lines": TagKind(
        {"power": ("line", "minor_line")},
        ("line",),
        (NAME, ColumnRule("voltage_kv", ("voltage",), _voltage_kv)),
        lambda tags: tags.get("location") not in {"underground", "underwater"},
        "not underground",
        is_line=lambda tags: True,  # noqa: ARG005
    ),
    "culverts": TagKind(
        {"tunnel": ("culvert",)},
        ("line",),
        (NAME,),
        lambda tags: "waterway" in tags,
        "of a waterway",
        is_line=lambda tags: True,  # noqa: ARG005
    ),
}
"""By kind of layer; the tags are those of OpenStreetMap's own wiki (from memory)."""
