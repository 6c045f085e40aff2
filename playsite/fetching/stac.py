"""The raster that an address means: itself, or the data of a STAC item."""

from __future__ import annotations

import json
import urllib.parse
import urllib.request
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playsite.errors import InputError
from playsite.problems import Problem

__all__ = ["Raster", "raster_of"]

_MOST_BYTES = 5_000_000
_RASTERS = (".tif", ".tiff", ".vrt", ".img", ".asc", ".dem", ".jp2", ".nc")
_NAMES = ("dem", "dtm", "elevation", "height", "bare")
_TIMES = ("datetime", "start_datetime", "end_datetime")


@dataclass(frozen=True)
class Raster:
    """Address of a raster, and what its catalogue says of it; empty: nothing."""

    address: str
    date: str = ""
    credit: str = ""


def raster_of(source: str) -> Raster:
    """Raster that a path or an address means.

    Raises
    ------
    InputError
        If a STAC item has no GeoTIFF over http, or several that may be meant.
    """
    item = _json(source)
    if item is None:
        return Raster(source)
    if not isinstance(item, dict) or not isinstance(item.get("assets"), dict):
        what = "it is no STAC item: it lists no assets."
        _refuse(source, what, "Give the address of one item, or of a raster.")
    said = item.get("properties") or {}
    date = next((str(said[key])[:10] for key in _TIMES if said.get(key)), "")
    href = _data(item["assets"], source)
    address = urllib.parse.urljoin(source, href) if "://" in source else href
    if "://" not in address:
        address = str(Path(source).parent / address)
    elif not address.startswith(("http://", "https://")):
        what = f"its data lies at {address}: only http and https are read."
        _refuse(source, what, "Look for the same data over https.")
    return Raster(address, date, _credit(said))


def _json(source: str) -> Any:
    """Read JSON of an address or a file; None where it is something else: a raster."""
    if "://" not in source:
        path = Path(source)
        text = path.read_bytes() if path.suffix.lower() in {".json", ".geojson"} else b""
        return json.loads(text) if text else None
    if urllib.parse.urlsplit(source).path.lower().endswith(_RASTERS):
        return None
    with urllib.request.urlopen(source, timeout=60) as answer:  # noqa: S310  # http, as checked
        start = answer.read(64)
        if not start.lstrip().startswith(b"{"):
            return None
        text = start + answer.read(_MOST_BYTES)
    return json.loads(text)


def _data(assets: dict[str, Any], source: str) -> str:
    """Address of the one asset that is elevation: a GeoTIFF, in the role of data."""
    tiffs = {name: own for name, own in assets.items() if _is_tiff(own)}
    of_data = {n: own for n, own in tiffs.items() if "data" in (own.get("roles") or ())} or tiffs
    named = {
        name: own
        for name, own in of_data.items()
        if any(word in f"{name} {own.get('title', '')}".lower() for word in _NAMES)
    }
    chosen = named if len(of_data) > 1 and named else of_data
    if len(chosen) != 1:
        held = ", ".join(f"{name} ({own['href']})" for name, own in of_data.items())
        what = f"this STAC item has several GeoTIFFs: {held}."
        if not of_data:
            what = f"this STAC item has no GeoTIFF; its assets: {', '.join(assets) or 'none'}."
        _refuse(source, what, "Give the address of the one that holds the ground.")
    return str(next(iter(chosen.values()))["href"])


def _is_tiff(asset: Any) -> bool:
    if not isinstance(asset, dict) or not asset.get("href"):
        return False
    path = urllib.parse.urlsplit(str(asset["href"])).path.lower()
    shown = {"thumbnail", "overview", "visual", "metadata"} & set(asset.get("roles") or ())
    return not shown and ("tiff" in str(asset.get("type", "")) or path.endswith((".tif", ".tiff")))


def _credit(said: dict[str, Any]) -> str:
    """Who made it and under what licence, as the item says."""
    makers = said.get("providers") or ()
    names = ", ".join(str(m["name"]) for m in makers if isinstance(m, dict) and m.get("name"))
    return ", ".join(part for part in (names, str(said.get("license") or "")) if part)


def _refuse(source: str, what: str, remedy: str) -> Any:
    raise InputError([Problem(what, remedy, file=source)])
