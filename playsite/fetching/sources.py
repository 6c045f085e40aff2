"""Features with their tags from a file of OpenStreetMap, a saved answer or a server."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tempfile
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import shapely

from playsite.errors import InputError
from playsite.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["features_from"]

Bounds = tuple[float, float, float, float]
_PAIR = re.compile(r'"((?:[^"\\]|\\.)*)"=>"((?:[^"\\]|\\.)*)"')
_LAYERS = ("points", "lines", "multipolygons")


def features_from(
    source: str,
    bounds: Bounds,
    tags: Mapping[str, tuple[str, ...]],
    *,
    most_minutes: float,
    most_megabytes: float,
) -> gpd.GeoDataFrame:
    """Read features in degrees, each with its ``tags`` as a dictionary.

    Parameters
    ----------
    source
        A ``.osm`` or ``.osm.pbf`` file, a saved answer of a server (``.json``), or a server's
        address.
    bounds
        West, south, east, north, degrees.
    tags
        Key to values that are asked for; empty: any.
    most_minutes, most_megabytes
        No more time and data than this is spent on a server.

    Raises
    ------
    InputError
        If it can't be read, or the server doesn't answer within the bounds.
    """
    if "://" in source:
        return _from_server(source, bounds, tags, most_minutes, most_megabytes)
    path = Path(source)
    if not path.exists():
        raise InputError(
            [Problem("there is no such file.", "Give a file or an address.", file=source)]
        )
    try:
        if path.suffix.lower() == ".json":
            return _from_answer(json.loads(path.read_text(encoding="utf-8")))
        return _from_file(path, bounds)
    except Exception as error:
        said = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise InputError([Problem(f"can't be read: {said}.", file=source)]) from error


def _from_file(path: Path, bounds: Bounds) -> gpd.GeoDataFrame:
    tables = []
    for layer in _LAYERS:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # broken shapes of an extract's edge are left out
            read = pyogrio.read_dataframe(path, layer=layer, bbox=bounds, on_invalid="ignore")
        read = read[read.geometry.notna()]
        columns = [name for name in read.columns if name not in {"geometry", "other_tags"}]
        rows = read[columns].to_dict("records")
        others = read["other_tags"] if "other_tags" in read else [None] * len(read)
        tags = [_tags(row, more) for row, more in zip(rows, others, strict=True)]
        tables.append(gpd.GeoDataFrame({"tags": tags}, geometry=read.geometry.to_numpy(), crs=4326))
    return gpd.GeoDataFrame(pd.concat(tables, ignore_index=True), crs=4326)


def _tags(row: Mapping[Any, Any], more: Any) -> dict[str, str]:
    own = {str(key): value for key, value in row.items() if isinstance(value, str)}
    if isinstance(more, str):
        own |= {_plain(key): _plain(value) for key, value in _PAIR.findall(more)}
    return own


def _plain(text: str) -> str:
    return text.replace('\\"', '"').replace("\\\\", "\\")


def _from_answer(answer: Mapping[str, Any]) -> gpd.GeoDataFrame:
    """Read an answer of an Overpass server: nodes, ways, and relations of ways."""
    elements = answer["elements"]
    nodes = {e["id"]: (e["lon"], e["lat"]) for e in elements if e["type"] == "node"}
    ways = {e["id"]: _way(e, nodes) for e in elements if e["type"] == "way"}
    tags, shapes = [], []
    for element in elements:
        if not element.get("tags"):
            continue
        shape = _shape(element, nodes, ways)
        if shape is not None and not shape.is_empty:
            tags.append({str(k): str(v) for k, v in element["tags"].items()})
            shapes.append(shape)
    return gpd.GeoDataFrame({"tags": tags}, geometry=shapes, crs=4326)


def _way(element: Mapping[str, Any], nodes: Mapping[int, tuple[float, float]]) -> list[Any]:
    if "geometry" in element:
        return [(point["lon"], point["lat"]) for point in element["geometry"] if point]
    return [nodes[node] for node in element.get("nodes", []) if node in nodes]


def _shape(element: Mapping[str, Any], nodes: Mapping[int, Any], ways: Mapping[int, Any]) -> Any:
    if element["type"] == "node":
        return shapely.Point(nodes[element["id"]])
    if element["type"] == "way":
        points = ways[element["id"]]
        area = len(points) > 3 and points[0] == points[-1] and "highway" not in element["tags"]
        area = area and "barrier" not in element["tags"]
        return shapely.Polygon(points) if area else _line(points)
    rings: dict[str, list[Any]] = {"outer": [], "inner": []}
    for member in element.get("members", []):
        points = _way(member, nodes) or ways.get(member.get("ref"), [])
        if len(points) > 1:
            rings["inner" if member.get("role") == "inner" else "outer"].append(
                shapely.LineString(points)
            )
    outer, inner = (
        shapely.union_all(shapely.polygonize(rings[role]).geoms or []) for role in rings
    )
    return shapely.difference(outer, inner)


def _line(points: list[Any]) -> Any:
    return shapely.LineString(points) if len(points) > 1 else None


def _from_server(
    address: str,
    bounds: Bounds,
    tags: Mapping[str, tuple[str, ...]],
    most_minutes: float,
    most_megabytes: float,
) -> gpd.GeoDataFrame:
    """Ask a server in a process of its own, which is ended when its time is up.

    The library that asks waits and tries again without end when a server is busy.
    """
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "answer.json"
        asked = {
            "address": address,
            "bounds": bounds,
            "tags": {key: list(values) for key, values in tags.items()},
            "most_bytes": int(most_megabytes * 1e6),
            "out": str(out),
        }
        command = [sys.executable, "-m", "playsite.fetching.ask_server"]
        try:
            done = subprocess.run(  # noqa: S603  # the project's own module
                command,
                input=json.dumps(asked),
                text=True,
                capture_output=True,
                timeout=60 * most_minutes,
                check=False,
            )
        except subprocess.TimeoutExpired as error:
            what = f"{address} did not answer within {most_minutes:g} minutes."
            raise InputError([Problem(what, "Try again later, or give --most-minutes.")]) from error
        if done.returncode != 0:
            said = (done.stderr.strip().splitlines() or ["no answer"])[-1]
            raise InputError(
                [Problem(f"{address}: {said}", "Look at the address, or give a file.")]
            )
        rows = json.loads(out.read_text(encoding="utf-8"))
    shapes = shapely.from_wkt(np.array([row["wkt"] for row in rows], dtype=object))
    return gpd.GeoDataFrame({"tags": [row["tags"] for row in rows]}, geometry=shapes, crs=4326)
