"""Tags of OpenStreetMap for places that families walk to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.fetching._tag_rules import (
    HOURS,
    NAME,
    PUBLIC,
    WHEELCHAIR,
    ColumnRule,
    TagKind,
    Tags,
    number,
    text,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["PLACE_TAGS"]

_ROOFS = ("picnic_shelter", "gazebo", "pavilion")


def _is_picnic(tags: Tags) -> bool:
    """Whether people sit there: most shelters stand at bus stops."""
    named = tags.get("leisure") == "picnic_table" or tags.get("tourism") == "picnic_site"
    return named or tags.get("shelter_type") in _ROOFS


def _picnic(tags: Tags) -> str:
    return tags.get("shelter_type") or tags.get("leisure") or tags["tourism"]


def _stop(tags: Tags) -> str:
    keys = ("highway", "railway", "amenity", "public_transport")
    return next(tags[key] for key in keys if key in tags)


PLACE_TAGS: Mapping[str, TagKind] = {
    "restrooms": TagKind(
        {"amenity": ("toilets",)},
        ("point", "polygon"),
        (NAME, PUBLIC, HOURS, WHEELCHAIR, text("fee")),
    ),
    "parking": TagKind(
        {"amenity": ("parking",)},
        ("point", "polygon"),
        (
            NAME,
            PUBLIC,
            ColumnRule("capacity", ("capacity",), lambda tags: number(tags.get("capacity"))),
            text("capacity_disabled", "capacity:disabled"),
            HOURS,
            text("kind", "parking"),
            text("fee"),
        ),
    ),
    "picnic": TagKind(
        {"leisure": ("picnic_table",), "tourism": ("picnic_site",), "amenity": ("shelter",)},
        ("point", "polygon"),
        (
            NAME,
            PUBLIC,
            ColumnRule("kind", ("leisure", "tourism", "shelter_type"), _picnic),
        ),
        _is_picnic,
        f"of shelters only shelter_type {', '.join(_ROOFS)}",
    ),
    "playgrounds": TagKind(
        {"leisure": ("playground",)}, ("point", "polygon"), (NAME, PUBLIC, text("surface"))
    ),
    "drinking_water": TagKind(
        {"amenity": ("drinking_water", "fountain"), "man_made": ("water_tap",)},
        ("point", "polygon"),
        (NAME, PUBLIC, HOURS, WHEELCHAIR),
        lambda tags: tags.get("drinking_water", tags.get("amenity")) in {"yes", "drinking_water"},
        "of fountains and taps only those with drinking_water = yes",
    ),
    "transit_stops": TagKind(
        {
            "highway": ("bus_stop",),
            "railway": ("station", "halt", "tram_stop"),
            "amenity": ("bus_station", "ferry_terminal"),
            "public_transport": ("platform",),
        },
        ("point", "polygon"),
        (
            NAME,
            ColumnRule("kind", ("highway", "railway", "amenity", "public_transport"), _stop),
            WHEELCHAIR,
        ),
    ),
}
"""By kind of layer; the tags are those of OpenStreetMap's own wiki (from memory)."""
