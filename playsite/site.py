"""The site: what is worked out once from the layers, on first use, and read by every criterion."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from rasterio.features import geometry_mask

from playsite._way_settings import ChildTable, PlayTable, WalksTable
from playsite.problems import Finding
from playsite.proximity.children import Areas, Families, shares_of_areas
from playsite.proximity.dash_gaps import gaps
from playsite.proximity.reached import doors_of
from playsite.proximity.town_ways import town_network, town_ways
from playsite.sun.casters import HOUSE_M, Bodies, crowns_of, walls_of
from playsite.sun.surface_shade import Tops
from playsite.terrain.along import padded_window_of
from playsite.terrain.banks import let_through
from playsite.terrain.flat_water import level_patches
from playsite.terrain.low_spots import low_spots
from playsite.terrain.noise import white_noise_m

if TYPE_CHECKING:
    import numpy.typing as npt
    from affine import Affine
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

    from playsite.layers import Layers
    from playsite.proximity.walking import WalkNetwork
    from playsite.settings import Settings
    from playsite.terrain.credible import CredibleLowSpots
    from playsite.terrain.low_spots import LowSpots

__all__ = [
    "COARSE_M",
    "GATE_HALF_M",
    "LINE_HALF_M",
    "Examined",
    "Ground",
    "Site",
    "standing_fences",
]

LINE_HALF_M = 0.5
"""Half the width that is taken of water drawn as a line, whose width nobody has told."""

COARSE_M = 10.0
"""Cells of this size or larger say nothing of low spots (common practice, no source)."""

BRIDGE_HALF_M = 1.5
"""Half the width of a path on a bridge; common practice, no source."""

_FENCE_HALF_M = 0.05

GATE_HALF_M = 0.05
"""How far an open gate may be drawn off its fence."""

_SHARED = (
    "ways",
    "ways_without_steps",
    "on_bridges",
    "barriers",
    "barriers_and_water",
    "openings",
    "pavement",
    "dwellings",
    "link_blocks",
    "walk_blocks",
    "network",
    "families",
    "usual_need",
)
_MOUTH_CELLS = 1.5
_STOREY_M = 3.0
_SURE_M, _MOST_UNKNOWN = 60.0, 0.05
_YARDSTICKS = 300
_NO_TREES = gpd.GeoDataFrame(
    {name: pd.Series(dtype=float) for name in ("crown_m", "height_m", "diameter_m")}, geometry=[]
)
_ASSUMED_NOISE_M = 0.05
_LEAST_NOISE_M = 0.02


@dataclass(frozen=True)
class Ground:
    """Elevation with water taken out: metres, NaN where nothing is known or water lies."""

    elevation: npt.NDArray[np.floating]
    transform: Affine
    cell_m: float
    noise_m: float
    noise_length_m: float
    noise_from: str


@dataclass(frozen=True)
class Examined:
    """A window of the ground that was looked at closer: its outline, and what was found in it."""

    outline: Polygon
    transform: Affine
    spots: CredibleLowSpots


class Site:
    """Layers, and what is worked out from them once.

    Parameters
    ----------
    layers
        As read and checked at the gate.
    settings
        The study; absent: its rules of walks, of play and of what stops a child are the usual ones.
    """

    def __init__(self, layers: Layers, settings: Settings | None = None) -> None:
        self.layers = layers
        self.settings = settings
        self.walks = settings.walks if settings else WalksTable()
        self.play = settings.play if settings else PlayTable()
        self.child = settings.running_child if settings else ChildTable()
        self.examined: list[Examined] = []
        """Windows of the ground whose low spots were looked at closer, as they come."""

    def part(self, parcels: gpd.GeoDataFrame) -> Site:
        """Give the site of some of the parcels: their own window of the ground, all else shared."""
        elevation = self.layers.elevation
        near = None if elevation is None else elevation.window(tuple(parcels.total_bounds))
        if elevation is not None and near is None:
            near = replace(elevation, array=np.full((3, 3), np.nan), read=None)
        tops = self.layers.surface
        tops = None if tops is None else tops.window(tuple(parcels.total_bounds))
        layers = replace(self.layers, parcels=parcels, elevation=near, surface=tops)
        part = Site(layers, self.settings)
        for name in _SHARED:
            part.__dict__[name] = getattr(self, name)
        return part

    def has(self, kind: str) -> bool:
        """Whether the study has a layer of this kind; without it things are unknown, not absent."""
        if kind in {"elevation", "surface"}:
            return getattr(self.layers, kind, None) is not None
        return self.layers.get(kind) is not None

    def layer(self, kind: str) -> gpd.GeoDataFrame:
        """Features of a kind; an empty frame where the study has no such layer."""
        frame = self.layers.get(kind)
        if frame is None:
            return gpd.GeoDataFrame({"geometry": []}, geometry="geometry", crs=self.layers.crs)
        return frame

    @cached_property
    def ground(self) -> Ground | None:
        """Elevation with the mapped water masked: flattened water reads as a perfect lawn."""
        given = self.layers.elevation
        if given is None:
            return None
        elevation = given.array
        if not elevation.size:
            return Ground(elevation, given.transform, given.cell_m, 0.0, 0.0, "not read yet")
        water = self.layer("water")
        wet = water.geometry[water.geom_type.isin(["Polygon", "MultiPolygon"])]
        if len(wet):
            mask = geometry_mask(
                wet, elevation.shape, given.transform, all_touched=True, invert=True
            )
            elevation = np.where(mask, np.nan, elevation)
        noise_m, said = self._noise(elevation, given.cell_m)
        return Ground(
            elevation, given.transform, given.cell_m, noise_m, given.noise_length_m or 0.0, said
        )

    def _noise(self, elevation: npt.NDArray[np.floating], cell_m: float) -> tuple[float, str]:
        given = self.layers.elevation
        if given is not None and given.noise_m is not None:
            return given.noise_m, "given by the study"
        estimated = white_noise_m(elevation, cell_m=cell_m)
        if estimated is None:
            return _ASSUMED_NOISE_M, "assumed: the elevation is too coarse to estimate it"
        if estimated < _LEAST_NOISE_M:
            return _LEAST_NOISE_M, "assumed: the elevation is smoothed, so its noise does not show"
        return (
            estimated,
            "estimated from the elevation itself, biased low where noise is correlated",
        )

    def elevation_at(self, xy: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Elevation of the cells that hold (n, 2) places; NaN beyond the ground and where unknown."""
        found = np.full(len(xy), np.nan)
        if self.ground is None or not self.ground.elevation.size:
            return found
        elevation = self.ground.elevation
        column, row = np.floor(~self.ground.transform @ tuple(xy.T)).astype(int)
        inside = (row >= 0) & (row < elevation.shape[0]) & (column >= 0)
        inside &= column < elevation.shape[1]
        found[inside] = elevation[row[inside], column[inside]]
        return found

    def level_of(self, pad: BaseGeometry) -> float:
        """Mean elevation of the ground under a pad; NaN where nobody knows it."""
        west, south, east, north = pad.bounds
        x, y = np.meshgrid(np.linspace(west, east, 12), np.linspace(south, north, 12))
        xy = np.column_stack([x.ravel(), y.ravel()])
        heights = self.elevation_at(xy[shapely.contains_xy(pad, xy)])
        return float(np.nanmean(heights)) if np.isfinite(heights).any() else float("nan")

    def tops_near(self, area: BaseGeometry, *, far_m: float) -> Tops | None:
        """Surface model round an area; None without one, or where within 60 m it is unknown in part."""
        surface = self.layers.surface
        if surface is None:
            return None
        near, (part, at) = (
            padded_window_of(surface.array, surface.transform, area.buffer(off_m).bounds)
            for off_m in (_SURE_M, far_m)
        )
        return None if np.isnan(near[0]).mean() > _MOST_UNKNOWN else Tops(part, at)

    @cached_property
    def bodies(self) -> Bodies:
        """Trees and buildings as they cast shade and stand in the way of sight."""
        trees = self.layer("trees") if self.has("trees") else _NO_TREES
        crowns = crowns_of(trees, self.elevation_at)
        return Bodies(crowns, walls_of(self.layer("buildings"), trees, self.elevation_at))

    @cached_property
    def families(self) -> Families | None:
        """Homes with their children; None where the study can't tell who lives or walks where."""
        areas, ways = self.layer("population"), self.ways
        if ways is None or not len(areas) or not len(self.dwellings):
            return None
        playgrounds = self.layer("playgrounds")
        if "is_public" in playgrounds:
            playgrounds = playgrounds[playgrounds["is_public"].astype(bool)]
        homes = self.layer("buildings").loc[self.dwellings.index]
        storeys = (homes["height_m"].fillna(HOUSE_M) / _STOREY_M).round().clip(lower=1)
        area = self.area_of_homes("population")
        names = ("young", "older", "young_margin", "older_margin")
        return Families(
            areas=Areas(*(areas[name].to_numpy(float) for name in names)),
            area=area,
            share=shares_of_areas(area, (homes.area * storeys).to_numpy(float)),
            doors=doors_of(homes.geometry, ways),
            network=ways,
            playgrounds=playgrounds.geometry,
        )

    def area_of_homes(self, kind: str) -> npt.NDArray[np.intp]:
        """Row of the area of a kind that each dwelling lies in; -1 in none."""
        inside = self.dwellings.representative_point().to_numpy()
        home, area = self.layer(kind).sindex.query(inside, predicate="intersects")
        found = np.full(len(inside), -1, dtype=np.intp)
        # Where areas overlap the first one counts.
        found[home[::-1]] = area[::-1]
        return found

    @cached_property
    def usual_need(self) -> npt.NDArray[np.float64]:
        """Children newly served by a playground at homes all over the town, least first."""
        if self.families is None:
            return np.empty(0)
        homes = self.dwellings.representative_point()
        order = np.lexsort((homes.y, homes.x))
        some = homes.iloc[order[:: max(1, len(order) // _YARDSTICKS)]]
        found = self.families.within_walk(some, len(some), new_only=True)
        return np.sort(found.children)

    @cached_property
    def drained(self) -> npt.NDArray[np.floating] | None:
        """The ground as water sees it: led through mapped culverts, and out at mapped inlets."""
        ground = self.ground
        if ground is None or not ground.elevation.size:
            return None if ground is None else ground.elevation
        elevation = ground.elevation
        pipes = self.layer("culverts").geometry
        if len(pipes):
            lines = pipes.explode(ignore_index=True)
            elevation = let_through(elevation, ground.transform, list(lines))
        inlets = self.layer("inlets").geometry
        if len(inlets):
            mouths = inlets.buffer(ground.cell_m)
            cells = geometry_mask(mouths, elevation.shape, ground.transform, invert=True)
            elevation = np.where(cells, np.nan, elevation)
        return elevation

    @cached_property
    def holed(self) -> npt.NDArray[np.floating] | None:
        """The drained ground with a hole along each culvert: no averaging closes a way so wide."""
        pipes, ground = self.layer("culverts").geometry, self.ground
        if ground is None or self.drained is None or not len(pipes) or not self.drained.size:
            return self.drained
        mouths = pipes.buffer(_MOUTH_CELLS * ground.cell_m)
        cells = geometry_mask(mouths, self.drained.shape, ground.transform, invert=True)
        return np.where(cells, np.nan, self.drained)

    @cached_property
    def low_spots(self) -> LowSpots | None:
        """Closed hollows of the whole ground; None where its cells are too coarse to tell."""
        ground = self.ground
        if ground is None or ground.cell_m >= COARSE_M:
            return None
        if self.holed is None:
            return None
        return low_spots(
            self.holed,
            ground.transform,
            noise_m=ground.noise_m,
            noise_length_m=ground.noise_length_m,
        )

    @cached_property
    def barriers(self) -> gpd.GeoSeries:
        """What stops a running child: fences high enough (or of unknown height) and buildings.

        Where a gate stands open its fence is cut. The file's own word for a fence comes first, then
        the study's rule for retaining walls and banks, then the height.
        """
        fences = self.layer("fences")
        if not len(fences):
            return _together(self.layers.crs, self.layer("buildings").geometry)
        high = fences["height_m"].isna() | (fences["height_m"] >= self.child.fence_m)
        by_rule = high & (fences["soft"].eq("") | fences["soft"].isin(self.child.stopped_by))
        stops = fences["stops"].fillna(by_rule).astype(bool)
        gates = fences.geometry[fences["is_gap"]]
        lines = fences.geometry[stops & ~fences["is_gap"]]
        if len(gates):
            lines = lines.difference(gates.buffer(GATE_HALF_M, cap_style="flat").union_all())
        return _together(self.layers.crs, lines, self.layer("buildings").geometry)

    @cached_property
    def barriers_and_water(self) -> gpd.GeoSeries:
        """What stops a child on the way to a hazard that is no water: open water too, but for bridges.

        Water that is dry at times, and a stream drawn as a line, stop nobody.
        """
        water = self.layer("water")
        wet = water.geometry[water.geom_type.str.endswith("Polygon")]
        if "intermittent" in water:
            wet = wet[~water["intermittent"].fillna(value=False).loc[wet.index].astype(bool)]
        parts = [self.pavement.geometry[_flags(self.layer("streets"))]]
        parts.append(
            self.layer("paths").geometry[_flags(self.layer("paths"))].buffer(BRIDGE_HALF_M)
        )
        decks = _together(self.layers.crs, *parts)
        if len(wet) and len(decks):
            wet = wet.difference(decks.union_all())
        return _together(self.layers.crs, self.barriers, wet[~wet.is_empty])

    @cached_property
    def openings(self) -> gpd.GeoDataFrame:
        """Gates that stand open and gaps between fences, as lines: ``name`` (may be missing)."""
        fences = self.layer("fences")
        if not len(fences):
            return fences.assign(name=pd.Series(dtype=object))[["name", "geometry"]]
        gates = fences.loc[fences["is_gap"], ["name", "geometry"]]
        found = gaps(self.barriers, opening_m=self.child.gap_m).set_crs(
            self.layers.crs, allow_override=True
        )
        other = gpd.GeoDataFrame({"name": None}, index=found.index, geometry=found)
        # The hole that an open gate cuts is the gate.
        cut = other.sindex.query(gates.buffer(GATE_HALF_M), predicate="intersects")[1]
        other = other.drop(other.index[cut])
        both = pd.concat([each for each in (gates, other) if len(each)] or [other])
        return gpd.GeoDataFrame(both, geometry="geometry", crs=self.layers.crs).reset_index(
            drop=True
        )

    @cached_property
    def pavement(self) -> gpd.GeoDataFrame:
        """Streets as pavement: polygons with ``class`` and ``name``."""
        streets = self.layer("streets")
        if not len(streets):
            return streets
        return streets.set_geometry("pavement").drop(columns="geometry")

    @cached_property
    def dwellings(self) -> gpd.GeoSeries:
        """Buildings that people live in."""
        buildings = self.layer("buildings")
        return (
            buildings.geometry[buildings["kind"] == "dwelling"]
            if len(buildings)
            else buildings.geometry
        )

    @cached_property
    def link_blocks(self) -> gpd.GeoSeries:
        """What a link from the pad to a street or path may not cross: water and buildings."""
        water = self.layer("water").geometry
        lines = water.geom_type.isin(["LineString", "MultiLineString"])
        # A stream that is drawn as a line is crossed by nobody all the same.
        banks = gpd.GeoSeries(
            np.where(lines, water.buffer(LINE_HALF_M), water), crs=water.crs, index=water.index
        )
        return _together(self.layers.crs, banks, self.layer("buildings").geometry)

    @cached_property
    def walk_blocks(self) -> gpd.GeoSeries:
        """What a walk from a pad does not cross: water, buildings, and fences but for their gates."""
        lines = self.barriers[~self.barriers.geom_type.str.endswith("Polygon")]
        return _together(self.layers.crs, self.link_blocks, standing_fences(lines))

    @cached_property
    def network(self) -> WalkNetwork | None:
        """Streets and paths as people walk them; None where the study has neither."""
        if not (self.has("streets") or self.has("paths")):
            return None
        return town_network(self.layer("streets"), self.layer("paths"), blocked=self.link_blocks)

    @cached_property
    def on_bridges(self) -> npt.NDArray[np.bool_]:
        """Which edges of the ways are of a bridge or tunnel."""
        if self.ways is None:
            return np.empty(0, dtype=np.bool_)
        flags = [_flags(self.layer(kind)) for kind in ("streets", "paths")]
        # the last entry is that of connectors, whose line is -1
        every = np.concatenate([*flags, np.zeros(1, dtype=np.bool_)])
        return np.asarray(every[self.ways.line], dtype=np.bool_)

    @property
    def rails(self) -> gpd.GeoSeries:
        """Railways among the hazards, those that are areas by their edge."""
        hazards = self.layer("hazards")
        rail = hazards[hazards["kind"] == "rail"] if "kind" in hazards else hazards
        is_area = rail.geom_type.str.endswith("Polygon")
        return rail.geometry.boundary.where(is_area, rail.geometry)

    @cached_property
    def ways(self) -> WalkNetwork | None:
        """The network by the rules of who walks where, and crosses what."""
        return self._ways(step_free=self.walks.step_free)

    @cached_property
    def ways_without_steps(self) -> WalkNetwork | None:
        """The same, without steps."""
        return self.ways if self.walks.step_free else self._ways(step_free=True)

    def _ways(self, *, step_free: bool) -> WalkNetwork | None:
        if self.network is None:
            return None
        crossings = self.layer("crossings")
        if "is_crossing" in crossings:
            crossings = crossings[crossings["is_crossing"]]
        return town_ways(
            self.network,
            self.layer("streets"),
            self.layer("paths"),
            crossings=crossings.geometry if len(crossings) else None,
            rails=self.rails,
            crossed=self.walks.cross_busy_streets,
            unmarked_m=self.walks.crossing_penalty_m,
            step_free=step_free,
        )

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What is noticed only once the ground is worked out; of a large one, nothing yet."""
        ground = self.ground
        if ground is None or not ground.elevation.size:
            return ()
        given = self.layers.elevation
        seen = given.findings if given is not None else ()
        noise = Finding(
            f"Local noise of the elevation: {100 * ground.noise_m:.1f} cm, {ground.noise_from}.",
            layer="elevation",
        )
        labels = level_patches(ground.elevation, ground.transform)
        count = int(labels.max(initial=0))
        if not count:
            return (*seen, noise)
        rows, columns = np.nonzero(labels == 1)
        x = ground.transform.c + (columns[0] + 0.5) * ground.transform.a
        y = ground.transform.f + (rows[0] + 0.5) * ground.transform.e
        return (
            *seen,
            noise,
            Finding(
                f"{count} exactly level patches outside the mapped water.",
                "They are kept as ground.",
                "They may be ponds or roofs that the water and building layers don't show: look at them.",
                layer="elevation",
                where=f"the first at {x:.0f}, {y:.0f}",
                count=count,
                weight="caution",
            ),
        )


def standing_fences(lines: gpd.GeoSeries) -> gpd.GeoSeries:
    """Fences, cut where their gates are, as areas that a walk can be held against."""
    fences = lines.buffer(_FENCE_HALF_M, cap_style="flat", join_style="mitre")
    return fences[~fences.is_empty]


def _flags(frame: gpd.GeoDataFrame) -> npt.NDArray[np.bool_]:
    if "bridge" not in frame.columns:
        return np.zeros(len(frame), dtype=bool)
    given: npt.NDArray[np.bool_] = frame["bridge"].fillna(value=False).to_numpy(dtype=bool)
    return given


def _together(crs: object, *parts: gpd.GeoSeries) -> gpd.GeoSeries:
    kept = [part.reset_index(drop=True) for part in parts if len(part)]
    return pd.concat(kept, ignore_index=True) if kept else gpd.GeoSeries([], crs=crs)
