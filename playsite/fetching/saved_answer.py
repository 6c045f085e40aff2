"""The saved answer of an Overpass server (JSON), as a file that the library for extracts reads."""

from __future__ import annotations

import itertools
import json
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

from playsite.errors import InputError
from playsite.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["answer_as_xml", "date_of_answer", "fault_of_answer"]

Element = dict[str, Any]
_KINDS = ("node", "way", "relation")


def answer_as_xml(source: Path, out: Path) -> tuple[str | None, list[str]]:
    """Write an answer as XML: nodes, ways, relations, in the order of their numbers.

    Ways whose points stand in the way itself (``out geom``) get nodes of their own.

    Returns
    -------
    str or None, list of str
        Date of the data, as the answer says it; what was left out.

    Raises
    ------
    InputError
        If it is no answer, the server broke it off, or no way can be drawn.
    """
    answer = json.loads(source.read_text(encoding="utf-8-sig"))
    fault = fault_of_answer(answer)
    if fault:
        raise InputError([Problem(f"{fault}.", file=str(source))])
    found: dict[str, dict[int, Element]] = {kind: {} for kind in _KINDS}
    for element in answer["elements"]:
        found.get(element["type"], {})[int(element["id"])] = element
    _draw_inner_geometry(found)
    blank = [
        way
        for way in found["way"].values()
        if way.get("tags") and sum(ref in found["node"] for ref in way.get("nodes", ())) < 2
    ]
    if blank and len(blank) == sum(bool(way.get("tags")) for way in found["way"].values()):
        what = "its ways come without their points, so none can be drawn."
        raise InputError([Problem(what, "Ask for them: out geom;", file=str(source))])
    _write(found, out)
    return date_of_answer(answer), [f"{len(blank)} ways without points: left out"] * bool(blank)


def fault_of_answer(answer: Any) -> str:
    """Why this is no whole answer, in words; empty: it is one.

    Examples
    --------
    >>> fault_of_answer({"elements": []}), fault_of_answer({"error": "no"})
    ('', 'this is no answer of an Overpass server')
    >>> fault_of_answer({"elements": [], "remark": "runtime error: Query timed out"})
    'the server broke its answer off: runtime error: Query timed out'
    """
    if not isinstance(answer, dict) or not isinstance(answer.get("elements"), list):
        return "this is no answer of an Overpass server"
    # A server that runs out of time or memory sends what it has, as if that were all.
    if "error" in str(answer.get("remark", "")).lower():
        return f"the server broke its answer off: {answer['remark']}"
    whole = all(
        isinstance(element, dict) and element.get("type") in (*_KINDS, "area") and "id" in element
        for element in answer["elements"]
    )
    return "" if whole else "this is no answer of an Overpass server"


def date_of_answer(answer: Any) -> str | None:
    """Date of the data that a server answered from; None: it doesn't say."""
    said = (answer.get("osm3s") or {}).get("timestamp_osm_base")
    return said[:10] if isinstance(said, str) and len(said) >= 10 else None


def _draw_inner_geometry(found: dict[str, dict[int, Element]]) -> None:
    """Give nodes to ways, and ways to relations, whose points stand in the element itself."""
    numbers = itertools.count(1 + max((n for kind in found.values() for n in kind), default=0))
    at: dict[tuple[float, float], int] = {}

    def refs(points: list[Any]) -> Iterator[int]:
        for point in filter(None, points):  # a point beyond the asked bounds is null
            place = (point["lon"], point["lat"])
            if place not in at:
                at[place] = next(numbers)
                found["node"][at[place]] = {"lon": place[0], "lat": place[1]}
            yield at[place]

    for way in found["way"].values():
        if "geometry" in way:
            way["nodes"] = list(refs(way["geometry"]))
    for relation in found["relation"].values():
        for member in relation.get("members", ()):
            if member["type"] == "way" and "geometry" in member:
                number = next(numbers)
                found["way"][number] = {"nodes": list(refs(member["geometry"]))}
                member["ref"] = number


def _write(found: dict[str, dict[int, Element]], out: Path) -> None:
    root = ET.Element("osm", version="0.6")
    for kind in _KINDS:
        for number, element in sorted(found[kind].items()):
            place = {key: repr(float(element[key])) for key in ("lat", "lon") if kind == "node"}
            drawn = ET.SubElement(root, kind, {"id": str(number), **place})
            for ref in element.get("nodes", ()):
                ET.SubElement(drawn, "nd", ref=str(ref))
            for member in element.get("members", ()):
                own = {key: str(member.get(key, "")) for key in ("type", "ref", "role")}
                ET.SubElement(drawn, "member", own)
            for key, value in (element.get("tags") or {}).items():
                ET.SubElement(drawn, "tag", k=str(key), v=str(value))
    ET.ElementTree(root).write(out, encoding="utf-8", xml_declaration=True)
