"""Which column of a found layer is which of ours, with units and words, and why."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import pyogrio

from playsite.layers import KINDS
from playsite.units import LENGTHS_M

if TYPE_CHECKING:
    from playsite.drafting.look import FoundLayer
    from playsite.layers import ColumnKind

__all__ = ["Mapping", "map_columns"]

_NAMES: dict[str, tuple[str, ...]] = {
    "parcel_id": (
        *("parcelid", "parcelno", "parcelnum", "apn", "maplot", "mapparid", "ml", "pin", "pid"),
        *(
            "locid",
            "siteid",
            "taxid",
            "taxcoord",
            "gisid",
            "propid",
            "lotid",
            "id",
            "objectid",
            "fid",
        ),
    ),
    "name": (
        "name",
        "district",
        "ward",
        "parkname",
        "sitename",
        "streetname",
        "stname",
        "label",
        "hblock",
        "fullname",
        "title",
    ),
    "owner": ("owner", "ownname", "ownername", "owner1"),
    "class": (
        *("class", "roadclass", "func", "functional", "functionalclass", "funcclass", "fclass"),
        *("highway", "streetuse", "roadtype", "streettype", "type"),
    ),
    "lanes": ("lanes", "numlanes", "lanecount", "nolanes"),
    "width": ("width", "pavewidth", "pavementwidth", "roadwidth", "stwidth"),
    "diameter": ("diameter", "dbh", "trunkdiameter", "diam"),
    "height": ("height", "treeheight", "ht", "bldgheight", "bldghght"),
    "crown": ("crown", "crownradius"),
    "access": ("access", "public"),
    "opening_hours": ("openinghours", "hours", "opening", "hoursopen", "hoursofoperation"),
    "wheelchair": ("wheelchair", "ada", "adaaccess", "accessible"),
    "capacity": ("capacity", "spaces", "stalls", "numspaces", "totalspaces", "parkingspaces"),
    "capacity_disabled": ("capacitydisabled", "adaspaces", "accessiblespaces", "hcspaces"),
    "speed_mph": ("speedmph", "speedlimitmph", "postedmph", "mph"),
    "volume": ("volume", "aadt", "adt", "trafficvolume"),
    "sidewalk": ("sidewalk", "sidewalks"),
    "voltage_kv": ("voltagekv", "kv", "voltage"),
    "control": ("control", "crossing", "crossingtype"),
    "under_5": ("under5", "under5years", "age0to4", "age04", "ages0to4"),
    "from_5_to_9": ("from5to9", "age5to9", "age59", "ages5to9", "5to9", "5to9years"),
    "from_10_to_14": ("from10to14", "age10to14", "age1014", "ages10to14", "10to14", "10to14years"),
    "children": ("children", "childcount", "kids", "age0to12"),
    "low_income_pct": ("lowincomepct", "pctlowincome", "povertypct", "pctpoverty"),
    "disability_pct": ("disabilitypct", "pctdisability", "pctdisabled"),
    "no_yard_pct": ("noyardpct", "pctnoyard"),
    "condition": ("condition", "treecondition", "health"),
    "intermittent": ("intermittent", "seasonal"),
    "open": ("open", "isopen"),
    "invert": ("invert", "invertelev", "invertelevation", "inv"),
    "depth": ("depth", "structuredepth", "mhdepth"),
    "bridge": ("bridge", "structure"),
    "kind": ("kind", "type", "use", "bldgtype", "buildingtype", "building", "easementtype"),
}
"""Names that people give, without signs and units, the surest first."""

_UNITS = {
    "m": "m",
    "ft": "ft",
    "feet": "ft",
    "in": "in",
    "inches": "in",
    "cm": "cm",
    "metres": "m",
    "meters": "m",
}
_CLASS_WORDS = (
    ("highway", ("highway", "freeway", "interstate", "motorway", "expressway")),
    ("arterial", ("arterial", "primary", "major", "principal")),
    ("collector", ("collector", "secondary", "tertiary")),
    ("local", ("local", "residential", "minor", "lane", "alley", "service", "private")),
)
_MOST_WORDS = 40


@dataclass
class Mapping:
    """Columns, words and filter of one layer, each with its reason.

    Parameters
    ----------
    columns
        Ours to theirs, or to ``{ column, unit }``.
    words
        Our column to their words to ours.
    where
        Filter that is needed, in OGR SQL; empty: none.
    reasons
        A sentence a guess.
    lacks
        Lines that are left commented: what is still to be said.
    """

    columns: dict[str, str | tuple[str, str]] = field(default_factory=dict)
    words: dict[str, dict[str, str]] = field(default_factory=dict)
    where: str = ""
    reasons: list[str] = field(default_factory=list)
    lacks: list[str] = field(default_factory=list)


def map_columns(found: FoundLayer, kind: str) -> Mapping:
    """Map the columns of a found layer to those of its kind."""
    mapping = Mapping()
    taken: set[str] = set()
    for column in KINDS[kind].columns:
        if kind == "parcels" and column.name == "parcel_id":
            theirs = _identifier(found, mapping)
        else:
            theirs = _by_name(column, found, taken)
        if theirs is None:
            if column.needed:
                mapping.lacks.append(
                    f'columns.{column.name} = "..."   # needed: one of its columns'
                )
            continue
        taken.add(theirs)
        _take(column, theirs, found, mapping)
    return mapping


def _take(column: ColumnKind, theirs: str, found: FoundLayer, mapping: Mapping) -> None:
    if theirs in {column.name, column.column} and not column.words:
        return  # our own name needs no mapping
    if column.unit:
        unit = _unit_in(theirs)
        if unit is None:
            line = f'columns.{column.name} = {{ column = "{theirs}", unit = "..." }}'
            mapping.lacks.append(f"{line}   # say its unit: {', '.join(LENGTHS_M)}")
            return
        mapping.columns[column.name] = (theirs, unit)
    elif theirs != column.name:
        mapping.columns[column.name] = theirs
    mapping.reasons.append(f"{theirs} reads like {column.name}")
    if _is_of_streets(column):
        _classes(theirs, found, mapping)


def _is_of_streets(column: ColumnKind) -> bool:
    """Whether it is the class of a street: flood zones have one too."""
    return column.name == "class" and "arterial" in column.words


def _by_name(column: ColumnKind, found: FoundLayer, taken: set[str]) -> str | None:
    for exact in (column.name, column.column):
        if exact in found.fields:
            return exact
    plain = {field: _bare(field) for field in found.fields if field not in taken}
    for name in _NAMES.get(column.name, ()):
        for theirs, bare in plain.items():
            if bare == name and _fits(column, theirs, found):
                return theirs
    return None


def _fits(column: ColumnKind, theirs: str, found: FoundLayer) -> bool:
    """Whether a column of words holds words that can be read; others fit by name alone."""
    if not column.words or column.type == "flag":
        return True
    known = {word.lower() for word in (*column.words, *column.synonyms)}
    held = [word.lower() for word in _words(found, theirs)]
    if _is_of_streets(column):
        return any(_class_of(word) for word in held)
    return any(word in known for word in held)


def _identifier(found: FoundLayer, mapping: Mapping) -> str | None:
    """Column that names parcels: by name, nearly always filled, nearly always different."""
    for name in _NAMES["parcel_id"]:
        for theirs in found.fields:
            if _bare(theirs) != name:
                continue
            values = _values(found, theirs)
            filled = values.notna() & (values.astype(str).str.strip() != "")
            if filled.mean() < 0.98 or values[filled].nunique() < 0.95 * filled.sum():
                continue
            if not filled.all():
                mapping.where = f'"{theirs}" IS NOT NULL'
                mapping.reasons.append(
                    f"{int((~filled).sum())} rows have no {theirs} and are left out"
                )
            share = 100 * values[filled].nunique() / max(filled.sum(), 1)
            mapping.reasons.append(f"{theirs} differs in {share:.0f} % of the rows")
            return theirs
    return None


def _classes(theirs: str, found: FoundLayer, mapping: Mapping) -> None:
    words = _words(found, theirs)
    known = {word: ours for word in words if (ours := _class_of(word)) and ours != word}
    mapping.words["class"] = known
    unknown = [word for word in words if not _class_of(word)]
    if unknown:
        mapping.lacks.append(
            f"values.class: nobody can tell what these mean: {', '.join(unknown[:8])}"
        )


def _class_of(word: str) -> str | None:
    low = word.lower()
    if low.startswith("secondary arterial"):
        return "arterial"
    return next((ours for ours, parts in _CLASS_WORDS if any(part in low for part in parts)), None)


def _values(found: FoundLayer, column: str) -> Any:
    table = pyogrio.read_dataframe(
        found.opened, layer=found.layer or None, columns=[column], read_geometry=False
    )
    return table[column]


def _words(found: FoundLayer, column: str) -> list[str]:
    values = _values(found, column).dropna().astype(str)
    return [str(word) for word in values.value_counts().index[:_MOST_WORDS] if str(word).strip()]


def _bare(name: str) -> str:
    """Name without signs and without the unit at its end."""
    parts = [part for part in re.split(r"[^A-Za-z0-9]+", name.lower()) if part]
    if len(parts) > 1 and parts[-1] in _UNITS:
        parts.pop()
    return "".join(parts)


def _unit_in(name: str) -> str | None:
    return _UNITS.get(re.split(r"[^A-Za-z0-9]+", name.lower())[-1]) if "_" in name else None
