"""Which tags of OpenStreetMap make which kind of layer, and which columns they give."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from playsite.fetching._hazard_tags import HAZARD_TAGS
from playsite.fetching._place_tags import PLACE_TAGS
from playsite.fetching._tag_rules import (
    NAME,
    WHEELCHAIR,
    ColumnRule,
    TagKind,
    Tags,
    access_of,
    length,
    length_m,
    number,
    our_words,
    text,
    tonnes,
)
from playsite.units import LENGTHS_M

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["TAGS", "is_walkable", "table_lines"]


def is_walkable(tags: Tags) -> bool:
    """Whether people may walk there: an own rule, since shared paths are footways too.

    Examples
    --------
    >>> is_walkable({"highway": "cycleway"}), is_walkable({"highway": "path", "foot": "no"})
    (True, False)
    """
    allowed = tags.get("foot") or tags.get("access")
    return allowed not in {"no", "private"}


_CLASSES, _ = our_words("streets", "class")
_DWELLINGS, _NO_DWELLING = our_words("buildings", "kind")
_CONTROLS, _ = our_words("crossings", "control")
_MOTOR = tuple(word for word in _CLASSES if word not in set(_CLASSES.values()))
_WALKED = ("footway", "path", "pedestrian", "steps", "cycleway", "track", "bridleway")
_WET = ("water", "waterway", "natural", "landuse", "leisure")
_STREAMS = ("stream", "ditch", "drain", "river", "canal", "tidal_channel")
_BARRIERS = ("fence", "wall", "city_wall", "hedge", "retaining_wall")
_GATES = ("gate", "kissing_gate", "swing_gate", "turnstile", "stile", "entrance")
_SHUT = ("no", "private")


def _is_street(tags: Tags) -> bool:
    """Whether its traffic is met on the ground: nobody runs into a highway in a tunnel."""
    return tags.get("tunnel") != "yes" or _CLASSES.get(tags["highway"]) in {"local", "collector"}


def _is_bank_or_stream(tags: Tags) -> bool:
    """Whether a closed way is water's edge or a stream: inside lies an island, not a pond."""
    if tags.get("natural") in {"water", "wetland"}:
        return False
    return tags.get("natural") == "coastline" or tags.get("waterway") in _STREAMS


def _walked_by(tags: Tags) -> str | None:
    return access_of({"access": tags.get("foot") or tags.get("access", "")})


def _above_or_below(tags: Tags) -> str:
    crosses = any(tags.get(key, "no") != "no" for key in ("bridge", "tunnel"))
    return "yes" if crosses else "no"


def _speed_mph(tags: Tags) -> float | None:
    """Speed limit: a bare number is km/h, others say mph.

    Examples
    --------
    >>> _speed_mph({"maxspeed": "25 mph"}), _speed_mph({"maxspeed": "walk"})
    (25.0, None)
    """
    said = tags.get("maxspeed", "")
    limit = number(said.removesuffix("mph").strip())
    if limit is None or said.endswith("mph"):
        return limit
    return limit * LENGTHS_M["km"] / LENGTHS_M["mi"]


def _sidewalk(tags: Tags) -> str | None:
    """Which sides have a sidewalk: said at once, or side by side.

    Examples
    --------
    >>> _sidewalk({"sidewalk:left": "yes", "sidewalk:right": "no"}), _sidewalk({})
    ('left', None)
    """
    whole = tags.get("sidewalk") or tags.get("sidewalk:both")
    sides = {side: tags.get(f"sidewalk:{side}") for side in ("left", "right")}
    if whole or not all(sides.values()):
        return whole
    there = [side for side, said in sides.items() if said != "no"]
    return {0: "no", 1: there[0] if there else "", 2: "both"}[len(there)]


def _on_foot(tags: Tags) -> str | None:
    """Whether people on foot are let in or kept out; None: the usual rule holds."""
    said = tags.get("foot") or ""
    return {"designated": "yes", "permissive": "yes", "private": "no"}.get(said) or (
        said if said in {"yes", "no"} else None
    )


def _for_trucks(tags: Tags) -> str | None:
    """Whether trucks are let in or kept out; None: the usual rule holds."""
    said = tags.get("hgv") or tags.get("goods") or ""
    kept_in = {"designated", "permissive", "destination", "delivery", "yes"}
    return "yes" if said in kept_in else "no" if said in {"no", "private"} else None


def _control(tags: Tags) -> str | None:
    """What stops the cars at a crossing, in the layer's words."""
    said = tags.get("crossing", "")
    if said == "traffic_signals" or tags.get("crossing:signals", "no") != "no":
        return "signals"
    marks = tags.get("crossing:markings")
    if marks:
        return "unmarked" if marks == "no" else "marked"
    return _CONTROLS.get(said)


def _barrier(tags: Tags) -> str:
    """Kind of a barrier; whatever people go through is a gate."""
    return "gate" if tags["barrier"] in _GATES else tags["barrier"]


def _is_kept_shut(tags: Tags) -> str | None:
    """Whether a gate stands open: only what is locked or private is surely shut."""
    if tags["barrier"] not in _GATES:
        return None
    shut = tags.get("locked") == "yes" or tags.get("access") in _SHUT
    return "no" if shut else None


def _is_met_outside(tags: Tags) -> bool:
    indoors = tags.get("indoor", "no") != "no" or tags.get("location") in {"indoor", "underground"}
    return not indoors and tags.get("tunnel", "no") == "no"


def _crown_m(tags: Tags) -> float | None:
    across = length_m(tags.get("diameter_crown"))
    return None if across is None else across / 2


def _stem_m(tags: Tags) -> float | None:
    around = length_m(tags.get("circumference"))
    return None if around is None else around / math.pi


def _building(tags: Tags) -> str | None:
    return _DWELLINGS.get(tags["building"], _NO_DWELLING) or None


def _water(tags: Tags) -> str | None:
    return next(tags[key] for key in _WET if key in tags)


_BRIDGE = ColumnRule("bridge", ("bridge", "tunnel"), _above_or_below)
_HEIGHT = length("height_m", "height")

TAGS: Mapping[str, TagKind] = {
    "streets": TagKind(
        {"highway": (*_MOTOR, "road")},
        ("line", "polygon"),
        (
            NAME,
            ColumnRule("class", ("highway",), lambda tags: _CLASSES.get(tags["highway"])),
            ColumnRule("lanes", ("lanes",), lambda tags: number(tags.get("lanes"))),
            length("width_m", "width"),
            _BRIDGE,
            ColumnRule("speed_mph", ("maxspeed",), _speed_mph),
            ColumnRule(
                "sidewalk",
                ("sidewalk", "sidewalk:both", "sidewalk:left", "sidewalk:right"),
                _sidewalk,
            ),
            ColumnRule("foot", ("foot",), _on_foot),
            ColumnRule("trucks", ("hgv", "goods"), _for_trucks),
            ColumnRule("max_weight_t", ("maxweight",), lambda tags: tonnes(tags.get("maxweight"))),
            length("max_height_m", "maxheight"),
        ),
        _is_street,
        "no highway or arterial in a tunnel",
    ),
    "paths": TagKind(
        {"highway": _WALKED},
        ("line", "polygon"),
        (
            NAME,
            text("kind", "highway"),
            _BRIDGE,
            ColumnRule("access", ("foot", "access"), _walked_by),
            text("surface"),
            text("incline"),
            WHEELCHAIR,
        ),
        is_walkable,
        "foot, else access, is neither no nor private",
    ),
    "water": TagKind(
        {
            "natural": ("water", "wetland", "coastline"),
            "landuse": ("basin", "reservoir"),
            "waterway": (*_STREAMS, "riverbank", "dock"),
            "leisure": ("swimming_pool",),
        },
        ("polygon", "line"),
        (
            NAME,
            ColumnRule("kind", _WET, _water),
            length("width_m", "width"),
            text("intermittent"),
        ),
        _is_met_outside,
        "not in a culvert, tunnel, building or underground",
        is_line=_is_bank_or_stream,
    ),
    "buildings": TagKind(
        {"building": ()},
        ("polygon",),
        (
            NAME,
            ColumnRule("kind", ("building",), _building),
            _HEIGHT,
            text("building"),
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
            text("name", "species"),
        ),
    ),
    "fences": TagKind(
        {"barrier": (*_BARRIERS, *_GATES)},
        ("line", "point"),
        (
            NAME,
            ColumnRule("kind", ("barrier",), _barrier),
            _HEIGHT,
            length("width_m", "width"),
            ColumnRule("open", ("locked", "access"), _is_kept_shut),
        ),
        is_line=lambda tags: True,  # noqa: ARG005  # a closed fence is no area
    ),
    "crossings": TagKind(
        {"highway": ("crossing",), "footway": ("crossing",)},
        ("point", "line"),
        (
            NAME,
            ColumnRule("control", ("crossing", "crossing:signals", "crossing:markings"), _control),
        ),
    ),
    **PLACE_TAGS,
    **HAZARD_TAGS,
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
