"""Features of OpenStreetMap out of a file: an extract, or the saved answer of a server."""

from __future__ import annotations

import json
import warnings
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import shapely

from playsite.errors import InputError
from playsite.fetching.saved_answer import answer_as_xml
from playsite.fetching.tags import TAGS
from playsite.problems import Problem

__all__ = ["keep_features", "read_file"]

_LAYERS = ("points", "lines", "multipolygons")
_AREAS = (
    "aeroway,amenity,boundary,building,craft,geological,historic,landuse,leisure,military,natural,"
    "office,place,shop,sport,tourism,area=yes,highway=platform,public_transport=platform,"
    "man_made=storage_tank,power=substation,power=plant,demolished:building,razed:building"
)
_CONFIG = f"closed_ways_are_polygons={_AREAS}\ntags_format=json\n" + "\n".join(
    f"[{layer}]\nosm_id=no\nosm_timestamp=yes\nall_tags=yes" for layer in _LAYERS
)
_NO_TIME = "1971"  # an extract without times gives the first second of 1970


def read_file(asked: dict[str, Any]) -> dict[str, Any]:
    """Read what lies near out of a file, and keep it.

    Parameters
    ----------
    asked
        ``source`` (file), ``bounds`` (west, south, east, north, degrees), ``kinds``,
        ``most_bytes``, ``out``.

    Returns
    -------
    dict
        ``date`` of the newest edit in the file, None where it gives none; ``notes``.

    Raises
    ------
    InputError
        If it is too large, broken, or doesn't reach the bounds.
    """
    source = Path(asked["source"])
    size = source.stat().st_size
    if size > asked["most_bytes"]:
        what = f"it has {size / 1e6:,.0f} MB, more than {asked['most_bytes'] / 1e6:g}."
        remedy = "Cut it to your town, or give --most-megabytes."
        raise InputError([Problem(what, remedy, file=str(source))])
    folder = Path(asked["out"]).parent  # the asker's: taken away even where this is ended
    config = folder / "osmconf.ini"
    config.write_text(_CONFIG, encoding="utf-8")
    pyogrio.set_gdal_config_options(
        {
            "OSM_CONFIG_FILE": str(config),
            "CPL_TMPDIR": str(folder),
            # a ring that is cut off at an extract's edge is no pond: closed, it would be one
            "OGR_GEOMETRY_ACCEPT_UNCLOSED_RING": "NO",
        }
    )
    path, date, notes = source, None, list[str]()
    if source.suffix.lower() == ".json":
        path = folder / "answer.osm"
        date, notes = answer_as_xml(source, path)
    notes += _reach(path, source, asked["bounds"])
    found = _read(path, tuple(asked["bounds"]))
    _refuse_without_points(found, path, source)
    broken = int(found.geometry.isna().sum())
    if broken:
        notes.append(f"{broken} shapes are broken, or cut off at the file's edge: left out")
    kept = keep_features(found, asked["kinds"], Path(asked["out"]))
    newest = found["time"].max()
    if date is None and not pd.isna(newest) and str(newest) > _NO_TIME:
        date = str(newest)[:10]
    return {"features": kept, "date": date, "notes": notes}


def keep_features(found: gpd.GeoDataFrame, kinds: list[str], out: Path) -> int:
    """Write the features of some kinds, with their tags as JSON; give how many."""
    rules = [TAGS[kind] for kind in kinds]
    wanted = np.array([any(r.holds(tags) for r in rules) for tags in found["tags"]], dtype=bool)
    own = found[wanted & found.geometry.notna() & ~found.geometry.is_empty]
    texts = [json.dumps(tags) for tags in own["tags"]]
    frame = gpd.GeoDataFrame({"tags": texts}, geometry=own.geometry.to_numpy(), crs=4326)
    pyogrio.write_dataframe(frame, out, driver="GPKG", layer="features", geometry_type="Unknown")
    return len(frame)


def _read(path: Path, bounds: tuple[float, ...]) -> gpd.GeoDataFrame:
    tables = []
    for layer in _LAYERS:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # counted by the caller: shapes that are none
            read = pyogrio.read_dataframe(path, layer=layer, bbox=bounds, on_invalid="ignore")
        tags = [_tags(value) for value in read["all_tags"]]
        columns = {"tags": tags, "time": read["osm_timestamp"], "layer": layer}
        tables.append(gpd.GeoDataFrame(columns, geometry=read.geometry.to_numpy(), crs=4326))
    return gpd.GeoDataFrame(pd.concat(tables, ignore_index=True), crs=4326)


def _tags(value: Any) -> dict[str, str]:
    """Tags of one feature: some versions of the library read the text, others don't."""
    read = json.loads(value) if isinstance(value, str) else value
    return {str(key): str(text) for key, text in read.items()} if isinstance(read, dict) else {}


def _reach(path: Path, source: Path, bounds: list[float]) -> list[str]:
    """Say where a file that names its own bounds leaves ground out."""
    held = pyogrio.read_info(path, layer="points")["total_bounds"]
    if held is None:
        return []
    own, asked = shapely.box(*held), shapely.box(*bounds)
    if own.disjoint(asked):
        what = "it doesn't reach the parcels."
        raise InputError([Problem(what, "Give the extract of their town.", file=str(source))])
    if own.covers(asked):
        return []
    share = 100 * own.intersection(asked).area / asked.area
    return [f"the file covers {share:.0f} % of the ground around; beyond its edge nothing is known"]


def _refuse_without_points(found: gpd.GeoDataFrame, path: Path, source: Path) -> None:
    """Refuse ways that came without their points: they would pass for nothing mapped."""
    if (found["layer"] != "points").any() or path.suffix.lower() != ".osm":
        return
    first = pyogrio.read_dataframe(path, layer="lines", max_features=1)
    if len(first) or b"<way" not in path.read_bytes():
        return
    what = "its ways come without their points, so none can be drawn."
    raise InputError([Problem(what, "Ask for them: (._;>;); out meta;", file=str(source))])
