"""The town as a study, and places in it: its playgrounds, and chance places."""

from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.pads.shape import pad_polygons

CRS, CHANCE = "EPSG:26919", 1000
CLASSES = {1.0: "arterial", 2.0: "collector"}  # the file's major roads; all others are local
STUDY = """
[study]
title = "Playgrounds of Cambridge, Massachusetts"
units = "metres"
crs = "EPSG:26919"
criteria = ["traffic", "heavy_traffic", "open_water", "flood", "wetland", "parking",
  "car_parks", "approach"]
[program]
pad = {{ length = "{side} m", width = "{side} m" }}
"""
LAYERS = {
    "parcels": ("RECREATION_OpenSpace", 'columns = { parcel_id = "OBJECTID" }'),
    "streets": ("", 'columns = { class = "class" }'),
    "water": ("HYDRO_WaterBodies", 'columns = { name = "NAME", kind = "TYPE" }'),
    "parking": ("TRAFFIC_MunicipalParkingLots", 'set = { access = "public" }'),
    "flood_zones": ("FEMA_FloodPlains500Year", ""),
    "wetlands": ("HYDRO_Wetlands", ""),
    "paths": ("BASEMAP_PublicFootpaths", ""),
}


def study(folder: Path, maps: Path, side: float) -> Path:
    """Write a study of the town's layers; streets that the file leaves open are local ones."""
    text = STUDY.format(side=side)
    for kind, (layer, more) in LAYERS.items():
        path = maps if layer else folder / "streets.gpkg"
        named = f'layer = "{layer}"\n' if layer else ""
        text += f'[layers.{kind}]\npath = "{path.as_posix()}"\n{named}{more}\n'
    lines = gpd.read_file(maps, layer="TRANS_Centerlines")
    lines["class"] = lines["MajorRoad"].map(CLASSES).fillna("local")
    lines[["class", "geometry"]].to_file(folder / "streets.gpkg")
    (folder / "study.toml").write_text(text, "utf-8")
    return folder / "study.toml"


def pads_at(points: np.ndarray, side: float, rng: np.random.Generator) -> gpd.GeoDataFrame:
    """Play areas of one size about points, turned by chance."""
    places = np.column_stack([shapely.get_coordinates(points), rng.uniform(0, 180, len(points))])
    table = pd.DataFrame(places, columns=["easting", "northing", "rotation_deg"])
    table["parcel_id"] = [str(number) for number in range(len(table))]
    fixed = {"length_m": side, "width_m": side, "largest_scale": 1.0, "shape": ""}
    shapes = pad_polygons(places, length_m=side, width_m=side)
    return gpd.GeoDataFrame(table.assign(**fixed), geometry=shapes, crs=CRS)


def chance_points(land: gpd.GeoSeries, rng: np.random.Generator) -> np.ndarray:
    """Points evenly over the land."""
    whole = shapely.union_all(shapely.make_valid(land.to_numpy()))
    shapely.prepare(whole)
    west, south, east, north = whole.bounds
    drawn = shapely.points(rng.uniform((west, south), (east, north), (40 * CHANCE, 2)))
    return drawn[shapely.contains(whole, drawn)][:CHANCE]


def places(maps: Path, side: float, rng: np.random.Generator) -> dict[str, gpd.GeoDataFrame]:
    """Play areas at the playgrounds, and at chance places on open space and on parcels."""
    layers = ("RECREATION_Playgrounds", "RECREATION_OpenSpace", "ASSESSING_ParcelsFY2013")
    real, *lands = [gpd.read_file(maps, layer=name).to_crs(CRS).geometry for name in layers]
    points = [real.to_numpy(), *(chance_points(land, rng) for land in lands)]
    groups = ("playgrounds", "open space", "parcels")
    return {g: pads_at(p, side, rng) for g, p in zip(groups, points, strict=True)}
