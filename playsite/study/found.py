"""What is found out before any weight is looked at: kept, so that moved weights measure nothing."""

from __future__ import annotations

import hashlib
import inspect
import json
import os
import pickle
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import geopandas as gpd
    import pandas as pd

    from playsite.criteria._contract import Measured
    from playsite.criteria._registry import Chosen
    from playsite.layers import Layers
    from playsite.problems import Finding
    from playsite.program import RequiredPad
    from playsite.settings import Settings
    from playsite.study.choosing import Placed

__all__ = ["LIBRARIES", "Found", "Part", "cache_folder", "fingerprint", "recall", "remember"]

LIBRARIES = ("geopandas", "shapely", "pyproj", "pyogrio", "rasterio", "numpy", "scipy", "numba")
"""Libraries whose version can change a number."""

_KEPT_RUNS = 12
_MEASURES_NOTHING = {"report", "cost", "drafting", "fetching", "steps", "cli.py", "testing.py"}


@dataclass(frozen=True)
class Found:
    """Places, measurements and what is drawn under them; nothing here depends on weights.

    Parameters
    ----------
    layers
        What the reports need of the layers: labels, dates, sources, findings; no features.
    largest
        Index ``parcel_id``: ``scale, easting, northing, rotation_deg`` of the largest pad.
    pads, measured
        The chosen places (``role`` best or alternative) and what each criterion gave on them.
    beside
        Programs beside the study's own, by name.
    fits_beside
        Index ``parcel_id``, a column a program beside: whether it fits.
    rooms, relaxations
        What binds the best pads; which change would let the pad fit where it doesn't.
    taken
        What each row of the ledger took, to draw.
    need, homes
        Who would gain at the foremost pads, and which homes have a playground within the walk.
    water
        What two storms bring to the foremost pads, and where that goes.
    earthwork, sections, grading
        What levelling the foremost pads would move, in figures and to draw.
    contours, arrows
        Ground round the same pads, and the way that water runs on it.
    grade_areas
        Their lots by the grade of the ground at the scale of a pad.
    shade
        Of the same pads by hour.
    """

    pad: RequiredPad
    beside: Mapping[str, RequiredPad]
    layers: Layers
    parcels: gpd.GeoDataFrame
    largest: pd.DataFrame
    ledger: pd.DataFrame
    taken: gpd.GeoDataFrame
    pads: gpd.GeoDataFrame
    measured: Mapping[str, Measured]
    low_spots: gpd.GeoDataFrame
    base_map: Mapping[str, gpd.GeoDataFrame]
    findings: tuple[Finding, ...]
    fits_beside: pd.DataFrame
    rooms: gpd.GeoDataFrame
    relaxations: pd.DataFrame
    earthwork: gpd.GeoDataFrame
    water: gpd.GeoDataFrame
    need: pd.DataFrame
    homes: pd.DataFrame
    sections: pd.DataFrame
    grading: gpd.GeoDataFrame
    contours: gpd.GeoDataFrame
    arrows: gpd.GeoDataFrame
    grade_areas: gpd.GeoDataFrame
    shade: gpd.GeoDataFrame


@dataclass(frozen=True)
class Part:
    """What is found out of one part of a town: kept, so that a stopped run goes on where it was."""

    largest: pd.DataFrame
    ledger: pd.DataFrame
    taken: gpd.GeoDataFrame
    placed: Placed
    low_spots: gpd.GeoDataFrame
    findings: tuple[Finding, ...]
    fits_beside: pd.DataFrame
    rooms: gpd.GeoDataFrame
    relaxations: pd.DataFrame
    earthwork: gpd.GeoDataFrame
    water: gpd.GeoDataFrame
    need: pd.DataFrame
    homes: pd.DataFrame
    sections: pd.DataFrame
    grading: gpd.GeoDataFrame
    contours: gpd.GeoDataFrame
    arrows: gpd.GeoDataFrame
    grade_areas: gpd.GeoDataFrame
    shade: gpd.GeoDataFrame


Kept = TypeVar("Kept", Found, Part)


def fingerprint(settings: Settings, chosen: Sequence[Chosen], sha256: Mapping[str, str]) -> str:
    """SHA-256 of all that what is found depends on: inputs, settings but for weights, code."""
    read = settings.as_read()
    for key in ("title", "least_known_pct", "letterhead", "words"):
        read["study"].pop(key)
    # What the study sets of the criteria stands below, as used; their weights count for nothing.
    for name in ("criteria", "weights", "ballots", "cost", "charter", "funding", "schedule"):
        read.pop(name, None)
    criteria = [
        (each.name, each.package, repr(each.curve), repr(each.screens), each.usual_weight)
        for each in chosen
    ]
    versions = {name: metadata.version(name) for name in LIBRARIES}
    files = [inspect.getsourcefile(each.criterion.measure) for each in chosen]
    package = Path(__file__).parents[1]
    own = [
        file
        for file in package.rglob("*.py")
        if not _MEASURES_NOTHING & set(file.relative_to(package).parts)
    ]
    code = _code(sorted({*own, *map(Path, filter(None, files))}))
    whole = json.dumps([read, criteria, versions, dict(sha256), code], sort_keys=True, default=str)
    return hashlib.sha256(whole.encode()).hexdigest()


def _code(files: Sequence[Path]) -> str:
    digest = hashlib.sha256()
    for file in files:
        digest.update(file.read_bytes())
    return digest.hexdigest()


def cache_folder() -> Path:
    """Folder in which runs are remembered: the user's own cache, or ``PLAYSITE_CACHE``."""
    given = os.environ.get("PLAYSITE_CACHE")
    if given:
        return Path(given)
    local = os.environ.get("LOCALAPPDATA") or os.environ.get("XDG_CACHE_HOME")
    return Path(local) / "playsite" if local else Path.home() / ".cache" / "playsite"


def recall(key: str, kind: type[Kept]) -> Kept | None:
    """What an earlier run found with exactly the same inputs; None where none is remembered."""
    try:
        # Only files that this user's own runs wrote are read: nothing from a study folder.
        found = pickle.loads((cache_folder() / f"{key}.found").read_bytes())  # noqa: S301
    except Exception:  # noqa: BLE001  # whatever is wrong with a memory: measure again
        return None
    return found if isinstance(found, kind) else None


def remember(key: str, found: Found | Part) -> None:
    """Keep what was found for the next run; a folder that can't be written to is no fault."""
    folder = cache_folder()
    beside = folder / f"{key}.{os.getpid()}.new"
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        beside.write_bytes(pickle.dumps(found))
        beside.replace(folder / f"{key}.found")
        whole = [file for file in folder.glob("*.found") if "-" not in file.stem]
        for old in sorted(whole, key=lambda file: -file.stat().st_mtime)[_KEPT_RUNS:]:
            old.unlink(missing_ok=True)
    except OSError:
        beside.unlink(missing_ok=True)


def forget_parts(key: str) -> None:
    """Drop the parts of a run whose whole is kept; what a stopped run left is kept for its next."""
    for part in cache_folder().glob(f"{key}-*.found"):
        part.unlink(missing_ok=True)


def versions_in_use() -> dict[str, Any]:
    """Versions of playsite and of the libraries that can change a number."""
    return {name: metadata.version(name) for name in ("playsite", *LIBRARIES)}
