"""Which tags of OpenStreetMap make which kind of layer, and which columns they give."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from playsite.layers import KINDS
from playsite.units import metres

__all__ = ["TAGS", "ColumnRule", "TagKind", "is_walkable", "table_lines"]

Tags = Mapping[str, str]


@dataclass(frozen=True)
class ColumnRule:
    """One of our columns, and the tags that it is read from."""

    name: str
    keys: tuple[str, ...]
    read: Callable[[Tags], Any]


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
        Our columns, in our words and units.
    keeps
        A further condition, and what it is in words.
    is_line
        Whether a closed way of these tags is the line itself, not the ground inside it.
    """

    tags: Mapping[str, tuple[str, ...]]
    shapes: tuple[str, ...]
    columns: tuple[ColumnRule, ...]
    keeps: Callable[[Tags], bool] = lambda tags: True  # noqa: ARG005
    kept: str = ""
    is_line: Callable[[Tags], bool] = lambda tags: False  # noqa: ARG005

    def holds(self, tags: Tags) -> bool:
        """Whether a feature with these tags is of this kind."""
        named = any(
            tags.get(key, "no") != "no" and (not values or tags[key] in values)
            for key, values in self.tags.items()
        )
        return named and self.keeps(tags)


def is_walkable(tags: Tags) -> bool:
    """Whether people may walk there: an own rule, since shared paths are footways too.

    Examples
    --------
    >>> is_walkable({"highway": "cycleway"}), is_walkable({"highway": "path", "foot": "no"})
    (True, False)
    """
    allowed = tags.get("foot") or tags.get("access")
    return allowed not in {"no", "private"}


def _ours(kind: str, name: str) -> tuple[Mapping[str, str], str]:
    """Words of OpenStreetMap to those of a layer's column, and the word for all others."""
    column = next(each for each in KINDS[kind].columns if each.name == name)
    return {**{word: word for word in column.words}, **column.synonyms}, column.otherwise


_CLASSES, _ = _ours("streets", "class")
_DWELLINGS, _NO_DWELLING = _ours("buildings", "kind")
_MOTOR = tuple(word for word in _CLASSES if word not in set(_CLASSES.values()))
_WALKED = ("footway", "path", "pedestrian", "steps", "cycleway", "track", "bridleway")
_STREAMS = ("stream", "ditch", "drain", "river", "canal", "tidal_channel")
_BARRIERS = ("fence", "wall", "city_wall", "hedge", "retaining_wall")
_ROOFS = ("picnic_shelter", "gazebo", "pavilion")


def _is_street(tags: Tags) -> bool:
    """Whether its traffic is met on the ground: nobody runs into a highway in a tunnel."""
    return tags.get("tunnel") != "yes" or _CLASSES.get(tags["highway"]) in {"local", "collector"}


def _is_open_water(tags: Tags) -> bool:
    return tags.get("tunnel", "no") == "no" and tags.get("location") != "underground"


def _is_bank_or_stream(tags: Tags) -> bool:
    """Whether a closed way is water's edge or a stream: inside lies an island, not a pond."""
    if tags.get("natural") in {"water", "wetland"}:
        return False
    return tags.get("natural") == "coastline" or tags.get("waterway") in _STREAMS


def _is_picnic(tags: Tags) -> bool:
    """Whether people sit there: most shelters stand at bus stops."""
    named = tags.get("leisure") == "picnic_table" or tags.get("tourism") == "picnic_site"
    return named or tags.get("shelter_type") in _ROOFS


def _access(tags: Tags) -> str | None:
    """Who may use it, the first word of several; None: it isn't said, as for most public places."""
    word = (tags.get("access") or "").split(";")[0].strip()
    return "yes" if word in {"designated", "official"} else word or None


def _walked_by(tags: Tags) -> str | None:
    return _access({"access": tags.get("foot") or tags.get("access", "")})


def _above_or_below(tags: Tags) -> str:
    crosses = any(tags.get(key, "no") != "no" for key in ("bridge", "tunnel"))
    return "yes" if crosses else "no"


def _length_m(text: str | None) -> float | None:
    """Metres of a text: OpenStreetMap's bare numbers are metres; None where it is no length.

    Examples
    --------
    >>> _length_m("3.5"), _length_m("10 ft"), _length_m("low")
    (3.5, 3.048, None)
    """
    bare = _number(text)
    if bare is not None or text is None:
        return bare
    try:
        return _positive(metres(text))
    except ValueError:
        return None


def _number(text: str | None) -> float | None:
    try:
        return _positive(float(text or ""))
    except ValueError:
        return None


def _positive(number: float) -> float | None:
    return number if math.isfinite(number) and number > 0 else None


_MILE_KM = 1.609344


def _speed_kmh(tags: Tags) -> float | None:
    """Speed limit: a bare number is km/h, others say mph.

    Examples
    --------
    >>> _speed_kmh({"maxspeed": "25 mph"}), _speed_kmh({"maxspeed": "walk"})
    (40.2336, None)
    """
    text = tags.get("maxspeed", "")
    number = _number(text.removesuffix("mph").strip())
    return number * _MILE_KM if number is not None and text.endswith("mph") else number


def _crown_m(tags: Tags) -> float | None:
    across = _length_m(tags.get("diameter_crown"))
    return None if across is None else across / 2


def _stem_m(tags: Tags) -> float | None:
    around = _length_m(tags.get("circumference"))
    return None if around is None else around / math.pi


def _building(tags: Tags) -> str | None:
    return _DWELLINGS.get(tags["building"], _NO_DWELLING) or None


def _water(tags: Tags) -> str | None:
    return next(tags[key] for key in ("water", "waterway", "natural", "landuse") if key in tags)


def _text(name: str, key: str = "") -> ColumnRule:
    return ColumnRule(name, (key or name,), lambda tags: tags.get(key or name))


def _length(name: str, key: str) -> ColumnRule:
    return ColumnRule(name, (key,), lambda tags: _length_m(tags.get(key)))


_NAME = _text("name")
_PUBLIC = ColumnRule("access", ("access",), _access)
_BRIDGE = ColumnRule("bridge", ("bridge", "tunnel"), _above_or_below)
_HEIGHT = _length("height_m", "height")

TAGS: Mapping[str, TagKind] = {
    "streets": TagKind(
        {"highway": (*_MOTOR, "road")},
        ("line", "polygon"),
        (
            _NAME,
            ColumnRule("class", ("highway",), lambda tags: _CLASSES.get(tags["highway"])),
            ColumnRule("lanes", ("lanes",), lambda tags: _number(tags.get("lanes"))),
            _length("width_m", "width"),
            _BRIDGE,
            ColumnRule("maxspeed_kmh", ("maxspeed",), _speed_kmh),
            _text("sidewalk"),
        ),
        _is_street,
        "no highway or arterial in a tunnel",
    ),
    "paths": TagKind(
        {"highway": _WALKED},
        ("line", "polygon"),
        (
            _NAME,
            _text("kind", "highway"),
            _BRIDGE,
            ColumnRule("access", ("foot", "access"), _walked_by),
            _text("surface"),
            _text("incline"),
            _text("wheelchair"),
        ),
        is_walkable,
        "foot, else access, is neither no nor private",
    ),
    "water": TagKind(
        {
            "natural": ("water", "wetland", "coastline"),
            "landuse": ("basin", "reservoir"),
            "waterway": (*_STREAMS, "riverbank", "dock"),
        },
        ("polygon", "line"),
        (
            _NAME,
            ColumnRule("kind", ("water", "waterway", "natural", "landuse"), _water),
            _length("width_m", "width"),
            _text("intermittent"),
        ),
        _is_open_water,
        "not in a culvert, tunnel or underground",
        is_line=_is_bank_or_stream,
    ),
    "restrooms": TagKind(
        {"amenity": ("toilets",)},
        ("point", "polygon"),
        (_NAME, _PUBLIC, _text("opening_hours"), _text("wheelchair"), _text("fee")),
    ),
    "parking": TagKind(
        {"amenity": ("parking",)},
        ("point", "polygon"),
        (
            _NAME,
            _PUBLIC,
            ColumnRule("capacity", ("capacity",), lambda tags: _number(tags.get("capacity"))),
            _text("capacity_disabled", "capacity:disabled"),
            _text("kind", "parking"),
            _text("fee"),
        ),
    ),
    "picnic": TagKind(
        {"leisure": ("picnic_table",), "tourism": ("picnic_site",), "amenity": ("shelter",)},
        ("point", "polygon"),
        (_NAME, _PUBLIC),
        _is_picnic,
        f"of shelters only shelter_type {', '.join(_ROOFS)}",
    ),
    "buildings": TagKind(
        {"building": ()},
        ("polygon",),
        (
            _NAME,
            ColumnRule("kind", ("building",), _building),
            _HEIGHT,
            _text("building"),
        ),
        lambda tags: tags.get("location") != "underground",
        "not underground",
    ),
    "trees": TagKind(
        {"natural": ("tree",)},
        ("point",),
        (
            _HEIGHT,
            ColumnRule("crown_m", ("diameter_crown",), _crown_m),
            ColumnRule("diameter_m", ("circumference",), _stem_m),
            _text("name", "species"),
        ),
    ),
    "fences": TagKind(
        {"barrier": _BARRIERS},
        ("line",),
        (_text("kind", "barrier"), _HEIGHT),
        is_line=lambda tags: True,  # noqa: ARG005  # a closed fence is no area
    ),
    "playgrounds": TagKind(
        {"leisure": ("playground",)}, ("point", "polygon"), (_NAME, _PUBLIC, _text("surface"))
    ),
}
"""By kind of layer; the tags are those of OpenStreetMap's own wiki (from memory)."""


def table_lines() -> list[str]:
    """Table of all this for the documentation, in Markdown."""
    lines = [
        "| layer | tags | shapes | columns, and the tags they come from |",
        "|---|---|---|---|",
    ]
    for kind, rule in TAGS.items():
        tags = "; ".join(
            f"`{key}` = {', '.join(values) if values else 'any but no'}"
            for key, values in rule.tags.items()
        )
        tags += f"; {rule.kept}" if rule.kept else ""
        columns = ", ".join(f"`{column.name}`" + _from(column) for column in rule.columns)
        lines.append(f"| {kind} | {tags} | {', '.join(rule.shapes)} | {columns} |")
    return lines


def _from(column: ColumnRule) -> str:
    return "" if column.keys == (column.name,) else f" ({', '.join(column.keys)})"
