"""What is said of a way for trucks: its street, width, grade, what it opens and what hangs over it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from playsite.routes.truck_way import CORRIDOR_M, WIDE_M
from playsite.terrain.along import heights_at
from playsite.units import LENGTHS_M

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.routes.truck_way import TruckWay
    from playsite.site import Site

__all__ = ["WHEELBASE_M", "TruckWords"]

WHEELBASE_M = 20 * LENGTHS_M["ft"]
"""Wheelbase of the design truck: the length over which grade is measured."""

_REACH_M = 200.0
_GRADE_PCT = 12.0
_NO_WIDTH_M = 0.05
_HIGH_M = 14 * LENGTHS_M["ft"]
_OWN_LAND_M = 10.0  # verge between a lot line and the pavement
_TURNING = {
    "forwards": "a 9.1 m truck turns in forwards",
    "backwards": "a 9.1 m truck has to back in",
    "": "a 9.1 m truck is not seen to turn in: widen the way or take a smaller one",
}
_OPENED = {
    "root zone": "{m:.0f} m over roots of {n}: lay ground protection",
    "steep ground": "{m:.0f} m of ground over 15 % to be graded",
    "other people's land": "{m:.0f} m over other people's land: ask for leave",
    "fence": "{n} to be opened",
    "tree": "{n} to be taken out",
}
_WORDS = {"root zone": "tree", "fence": "fence", "tree": "tree"}


class TruckWords:
    """Puts ways for trucks into words; what they are held against is looked up once."""

    def __init__(self, streets: gpd.GeoDataFrame, site: Site) -> None:
        self.streets, self.site = streets, site
        trees = site.layer("trees")
        self._crown_m = trees["crown_m"].to_numpy(float) if len(trees) else np.empty(0)
        self._stems = shapely.STRtree(shapely.centroid(trees.geometry.to_numpy()))
        self._missing = [kind for kind in ("fences", "trees", "buildings") if not site.has(kind)]

    def note(self, way: TruckWay, turn: str, pad: Any, parcel: Any) -> str:
        """All that is said of a way to a pad on a parcel (None: not known)."""
        if way.path is None:
            near = self.streets.sindex.query(pad, predicate="dwithin", distance=_REACH_M)
            if not len(near):
                return f"no street that a truck may use within {_REACH_M:.0f} m"
            return (
                f"no corridor of {CORRIDOR_M:g} m within {_REACH_M:.0f} m, even if fences and "
                "trees are opened: small machines or a crane"
            )
        name = self.streets["name"][way.street]
        said = [f"from {name}" if isinstance(name, str) else "from a street without a name"]
        if self.streets["bridge"][way.street]:
            said.append("over a bridge whose limit is not posted here")
        said += [_width_told(way), _TURNING[turn], self._grade_told(way.path)]
        said += _opened_told(way)
        said += self._overhead_told(way.path)
        if parcel is not None and not self.site.has("lots"):
            beyond_m = shapely.length(shapely.difference(way.path, parcel))
            if beyond_m > _OWN_LAND_M:
                said.append(f"{beyond_m:.0f} m outside the parcel: whose land that is isn't known")
        if self._missing:
            missing = " and ".join(self._missing)
            said.append(f"no layer of {missing}: what stands there isn't known")
        return "; ".join(said)

    def label(self, path: Any) -> str:
        """Grade of a way, to be drawn beside it."""
        steepest_pct, _, _ = self._grades_pct(path)
        return "grade not known" if np.isnan(steepest_pct) else f"up to {steepest_pct:.0f} %"

    def _grade_told(self, path: Any) -> str:
        """Steepest grade over a wheelbase along the way."""
        steepest_pct, long_pct, part_known = self._grades_pct(path)
        if np.isnan(steepest_pct):
            return "its grade is not known: the elevation doesn't reach there"
        told = f"steepest {steepest_pct:.0f} %" + (" where it is known" if part_known else "")
        return told + (" and for long over 12 %" if long_pct > _GRADE_PCT else "")

    def _grades_pct(self, path: Any) -> tuple[float, float, bool]:
        """Steepest grade over one wheelbase and over three, %, and if a part isn't known."""
        ground = self.site.ground
        if ground is None:
            return np.nan, np.nan, True
        at_m = np.linspace(0, path.length, max(2, int(path.length) + 1))
        xy = shapely.get_coordinates(shapely.line_interpolate_point(path, at_m))
        height_m = heights_at(ground.elevation, ground.transform, xy)
        step_m = at_m[1] - at_m[0] if len(at_m) > 1 else 1.0
        found = []
        for base_m in (WHEELBASE_M, 3 * WHEELBASE_M):
            count = min(len(height_m) - 1, max(1, round(base_m / max(step_m, 1e-6))))
            rise = np.abs(height_m[count:] - height_m[:-count]) / max(count * step_m, 1.0)
            found.append(100 * float(np.nanmax(rise)) if np.isfinite(rise).any() else np.nan)
        return found[0], found[1], bool(np.isnan(height_m).any())

    def _overhead_told(self, path: Any) -> list[str]:
        """Say what hangs over the way; its height is hardly ever mapped."""
        corridor = path.buffer(CORRIDOR_M / 2, cap_style="flat")
        widest_m = float(np.nanmax(self._crown_m, initial=0.0))
        near = self._stems.query(corridor, predicate="dwithin", distance=widest_m)
        away_m = shapely.distance(self._stems.geometries[near], corridor)
        crowns = int((away_m < self._crown_m[near]).sum())
        said = [f"under {_many(crowns, 'crown')}: prune to {_HIGH_M:.1f} m"] if crowns else []
        if self._count("overhead_lines", corridor):
            said.append(
                f"under an overhead line: {_HIGH_M:.1f} m and the line's own distance, measure"
            )
        crossed = self._count("paths", corridor)
        return [*said, f"over {_many(crossed, 'walk')}: lay plates"] if crossed else said

    def _count(self, kind: str, shape: Any) -> int:
        return len(self.site.layer(kind).sindex.query(shape, predicate="intersects"))


def _width_told(way: TruckWay) -> str:
    if way.widest_m <= _NO_WIDTH_M:
        return "none with nothing opened"
    wide = "or wider" if way.widest_m >= WIDE_M else "at its narrowest"
    return f"with nothing opened {way.widest_m:.1f} m {wide}"


def _opened_told(way: TruckWay) -> list[str]:
    """Say what is opened or crossed, as quantities."""
    own = way.opened.groupby("kind")["metres"].agg(["sum", "size"])
    return [
        text.format(m=own["sum"][kind], n=_many(own["size"][kind], _WORDS.get(kind, "")))
        for kind, text in _OPENED.items()
        if kind in own.index
    ]


def _many(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"
