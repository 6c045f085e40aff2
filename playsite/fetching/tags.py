"""Which tags of OpenStreetMap make which kind of layer, and which columns they give."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

__all__ = ["TAGS", "TagKind", "is_walkable"]

Tags = Mapping[str, str]

_STREETS = ("motorway", "trunk", "primary", "secondary", "tertiary")
_STREETS_ALL = (
    *_STREETS,
    *(f"{name}_link" for name in _STREETS),
    *("unclassified", "residential", "living_street", "service"),
)
_WALKED = ("footway", "path", "pedestrian", "steps", "cycleway", "track", "bridleway", "corridor")


def is_walkable(tags: Tags) -> bool:
    """Whether people may walk there: an own rule, since shared paths are footways too.

    Examples
    --------
    >>> is_walkable({"highway": "cycleway"}), is_walkable({"highway": "path", "foot": "no"})
    (True, False)
    """
    if tags.get("foot") in {"yes", "designated", "permissive"}:
        return True
    return tags.get("foot") not in {"no", "private"} and tags.get("access") not in {"no", "private"}


def _is_open_water(tags: Tags) -> bool:
    return tags.get("tunnel") not in {"culvert", "yes"} and tags.get("location") != "underground"


def _flag(tags: Tags) -> str:
    crossed = any(tags.get(key, "no") != "no" for key in ("bridge", "tunnel"))
    return "yes" if crossed else "no"


def _half(text: str | None) -> float | None:
    number = _number(text)
    return None if number is None else number / 2


def _number(text: str | None) -> float | None:
    """Metres of a text such as ``3.5`` or ``3.5 m``; None for anything else."""
    try:
        return float((text or "").removesuffix("m").strip())
    except ValueError:
        return None


@dataclass(frozen=True)
class TagKind:
    """How one kind of layer is read out of tags.

    Parameters
    ----------
    tags
        Key to values; an empty tuple: any value.
    shapes
        Geometries that are kept.
    columns
        Our columns, and how each comes from the tags.
    keeps
        A further condition.
    """

    tags: Mapping[str, tuple[str, ...]]
    shapes: tuple[str, ...]
    columns: Mapping[str, Callable[[Tags], Any]]
    keeps: Callable[[Tags], bool] = lambda tags: True  # noqa: ARG005

    def holds(self, tags: Tags) -> bool:
        """Whether a feature with these tags is of this kind."""
        named = any(
            key in tags and tags[key] != "no" and (not values or tags[key] in values)
            for key, values in self.tags.items()
        )
        return named and self.keeps(tags)


def _text(key: str) -> Callable[[Tags], Any]:
    return lambda tags: tags.get(key)


_NAME = {"name": _text("name")}
_PLACE = {**_NAME, "access": lambda tags: tags.get("access", "yes")}

TAGS: Mapping[str, TagKind] = {
    "streets": TagKind(
        {"highway": _STREETS_ALL},
        ("line",),
        {
            **_NAME,
            "class": _text("highway"),
            "lanes": lambda tags: _number(tags.get("lanes")),
            "width_m": lambda tags: _number(tags.get("width")),
            "bridge": _flag,
        },
    ),
    "paths": TagKind(
        {"highway": _WALKED}, ("line",), {**_NAME, "bridge": _flag}, keeps=is_walkable
    ),
    "water": TagKind(
        {
            "natural": ("water",),
            "landuse": ("basin", "reservoir"),
            "waterway": ("stream", "ditch", "drain", "river", "canal"),
        },
        ("polygon", "line"),
        {**_NAME, "kind": lambda tags: tags.get("water") or tags.get("waterway") or "water"},
        keeps=_is_open_water,
    ),
    "restrooms": TagKind({"amenity": ("toilets",)}, ("point", "polygon"), _PLACE),
    "parking": TagKind({"amenity": ("parking",)}, ("point", "polygon"), _PLACE),
    "picnic": TagKind(
        {"leisure": ("picnic_table",), "tourism": ("picnic_site",), "amenity": ("shelter",)},
        ("point", "polygon"),
        _PLACE,
    ),
    "buildings": TagKind(
        {"building": ()},
        ("polygon",),
        {**_NAME, "kind": _text("building"), "height_m": lambda tags: _number(tags.get("height"))},
    ),
    "trees": TagKind(
        {"natural": ("tree",)},
        ("point",),
        {
            "height_m": lambda tags: _number(tags.get("height")),
            "crown_m": lambda tags: _half(tags.get("diameter_crown")),
        },
    ),
    "fences": TagKind(
        {"barrier": ("fence", "wall", "hedge", "retaining_wall")},
        ("line",),
        {"kind": _text("barrier"), "height_m": lambda tags: _number(tags.get("height"))},
    ),
    "playgrounds": TagKind({"leisure": ("playground",)}, ("point", "polygon"), _PLACE),
}
"""By kind of layer; tags after the project's own wiki (from memory)."""
