"""Time against named libraries in one run: ratios, the least of several runs in turn.

Parts: grade, filling, accumulation, drained, clearance, dash, walk, reach, shade, sight, routes, shares, pads,
layout, run, town, map; all of them without a word. --sizes 1000,2000,4000,8000 sets the sides of the
rasters (8,000 wants 6 GB), PLAYSITE_TOWNS=1000,10000,100000 the sizes of the made-up towns,
PLAYSITE_PAGES those of the maps.
The peers come with the test extras. Absolute times belong to the machine; quote the ratios.
"""

import argparse
import itertools
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import shapely
from benchmarks import distances, terrain
from benchmarks.map_page import map_page
from benchmarks.routes import routes
from benchmarks.shade import shade
from benchmarks.sight import sight
from benchmarks.timing import once, timed, told

ROOT = Path(__file__).resolve().parents[1]


def shares() -> None:
    """Rank shares of 100,000 sites under 10,000 weightings against a product and a partition."""
    import pandas as pd

    from playsite.ranking.shares import all_weightings, rank_shares, weightings_around

    rng = np.random.default_rng(4)
    names = [f"criterion {k}" for k in range(15)]
    weights = dict(zip(names, rng.uniform(0.2, 1, 15), strict=True))
    scores = pd.DataFrame(rng.uniform(size=(100_000, 15)), columns=names)

    def partition(weightings: np.ndarray, rows: np.ndarray) -> None:
        # 100 weightings at a time: the whole product would take 8 GB
        for start in range(0, len(weightings), 100):
            product = weightings[start : start + 100] @ rows.T
            np.argpartition(product, -3, axis=1)[:, -3:]

    drawn = {"all": all_weightings(weights), "around given ones": weightings_around(weights)}
    for name, weightings in drawn.items():
        work = {
            "ours": lambda w=weightings: rank_shares(scores, w),
            "numpy matmul and argpartition": lambda w=weightings: partition(
                w.to_numpy(), scores.to_numpy()
            ),
        }
        told(f"Rank shares, weightings {name}", timed(work, 3), ours="ours")


def parcels(count: int) -> list[shapely.Geometry]:
    """Mixed parcels of 1 to 20 acres with 0 to 50 obstacles."""
    rng = np.random.default_rng(3)
    made = []
    for _ in range(count):
        area_m2 = 4046.86 * rng.uniform(1, 20)
        width = np.sqrt(area_m2 / rng.uniform(1, 4))
        lot = shapely.affinity.rotate(
            shapely.box(0, 0, area_m2 / width, width), rng.uniform(0, 180)
        )
        west, south, east, north = lot.bounds
        trees = rng.uniform((west, south), (east, north), (rng.integers(0, 51), 2))
        made.append(lot.difference(shapely.union_all(shapely.buffer(shapely.points(trees), 4))))
    return made


def pads() -> None:
    """Pad search: existence with exact proof, and the largest scale where nothing fits."""
    from playsite.pads.search import find_place, largest_scale

    lots = parcels(300)
    sides = {"length_m": 31.7, "width_m": 22.7}

    def search() -> None:
        for lot in lots:
            if find_place(lot, **sides) is None:
                largest_scale(lot, **sides)

    seconds = timed({"ours": search}, 3)["ours"]
    print(f"Pad search, 300 parcels of 1 to 20 acres: {1000 * seconds / 300:.1f} ms a parcel")


def program(rng: np.random.Generator, count: int, ages: int) -> list:
    """Use zones of a random program: composites, climbers, slides, swings and spinners in feet."""
    from playsite.program.equipment import Piece
    from playsite.program.use_zones import handbook_zone

    foot = 0.3048
    sizes = {
        "composite": ((10, 28), (8, 20)),
        "climber": ((5, 14), (4, 12)),
        "slide": ((5, 12), (2, 4)),
        "belt swing": ((8, 24), (0, 0)),
        "spinner": ((3, 8), (3, 8)),
    }
    zones = []
    for number in range(count):
        kind = str(rng.choice(list(sizes)))
        length, width = (rng.integers(*most, endpoint=True) * foot for most in sizes[kind])
        height = float(rng.integers(2, 8, endpoint=True) * foot)
        piece = Piece(
            label=f"piece {number}",
            kind=kind,
            ages="2-5" if ages == 2 and number < count // 3 else "5-12",
            length_m=length,
            width_m=length if kind == "spinner" else width,
            height_m=height,
            surface_height_m=height,
            pivot_height_m=8 * foot,
            exit="right" if kind == "slide" else None,
            exit_height_m=height,
            moving=kind in {"belt swing", "spinner"},
        )
        zones.append(handbook_zone(piece))
    return zones


def layout() -> None:
    """Packing of random programs at 1.1 to 1.5 times their zones: each decided, and how fast."""
    from playsite.program.layout import blocks_of, overlaps_of
    from playsite.program.packing import pack

    rng, strip_m = np.random.default_rng(9), 3.6576
    warm = program(rng, 4, 2)
    pack(blocks_of(warm), overlaps_of(warm), length_m=30.0, width_m=20.0, strip_m=strip_m)
    for count, ages in itertools.product((4, 8, 12), (1, 2)):
        seconds, outcomes = [], []
        for _ in range(200):
            zones = program(rng, count, ages)
            area_m2 = sum(zone.square.area for zone in zones) * rng.uniform(1.1, 1.5)
            width_m = (area_m2 / rng.uniform(1, 2)) ** 0.5
            sides = {"length_m": area_m2 / width_m, "width_m": width_m, "strip_m": strip_m}
            start = time.perf_counter()
            outcomes.append(pack(blocks_of(zones), overlaps_of(zones), **sides).outcome)
            seconds.append(time.perf_counter() - start)
        decided, packed = (
            100 * sum(outcome in words for outcome in outcomes) / len(outcomes)
            for words in ({"packed", "impossible"}, {"packed"})
        )
        print(
            f"Layout, {count:>2} pieces, {ages} age area(s): median "
            f"{1000 * statistics.median(seconds):6.1f} ms, worst {max(seconds):6.2f} s, "
            f"{decided:.1f}% decided, {packed:.0f}% packed"
        )


def run() -> None:
    """The whole run of the sample town, measured anew and with weights moved alone."""
    from playsite import rank, write_results

    with tempfile.TemporaryDirectory() as folder:
        os.environ["PLAYSITE_CACHE"] = folder
        study, out = ROOT / "sample_gis" / "study.toml", Path(folder) / "out"
        work = {
            "ours, measured anew and written": lambda: write_results(rank(study, fresh=True), out),
            "ours, nothing measured again": lambda: write_results(rank(study), out),
        }
        told("Whole run, sample town", timed(work, 3), ours="ours, measured anew and written")


def plain_town(folder: Path) -> None:
    """Do the same work as one would by hand: averages over parcels, centroids, a rescaled sum."""
    import folium
    import geopandas as gpd
    import networkx as nx
    import rasterio
    from exactextract import exact_extract
    from skimage.morphology import reconstruction

    def layer(name: str) -> gpd.GeoDataFrame:
        return gpd.read_file(folder / f"{name}.gpkg")

    lots = layer("parcels")
    lots = lots[lots["LAND_USE"].isin(["PARK", "SCHOOL", "TOWN"])].reset_index(drop=True)
    with rasterio.open(folder / "elevation.tif") as raster:
        ground, profile = raster.read(1, masked=True).filled(np.nan), raster.profile
    north, east = np.gradient(np.nan_to_num(ground))
    filled = reconstruction(np.full_like(ground, np.nanmax(ground)), ground, method="erosion")
    table = {}
    with tempfile.TemporaryDirectory() as made:
        for name, cells in {"grade": np.hypot(north, east), "wet": filled - ground > 0.1}.items():
            with rasterio.open(Path(made) / name, "w", **profile) as raster:
                raster.write(cells.astype("float32"), 1)
            got = exact_extract(str(Path(made) / name), lots, ["mean"], output="pandas")
            table[name] = -got["mean"].to_numpy()
    middles = lots.set_geometry(lots.centroid)[["geometry"]]
    for name in ("streets", "water", "buildings"):
        near = middles.sjoin_nearest(layer(name), distance_col="far")
        table[name] = near["far"].groupby(level=0).first().to_numpy()
    graph = nx.Graph()
    for line in [*layer("streets").geometry, *layer("paths").geometry]:
        points = list(line.coords)
        for one, other in itertools.pairwise(points):
            graph.add_edge(one, other, weight=float(np.hypot(*np.subtract(one, other))))
    nodes = list(graph)
    tree = shapely.STRtree(shapely.points(nodes))
    goals = {nodes[i] for i in tree.nearest(layer("restrooms").geometry)}
    walks = nx.multi_source_dijkstra_path_length(graph, goals)
    at = tree.nearest(middles.geometry)
    table["walk"] = -np.array([walks.get(nodes[i], 1e4) for i in at])
    columns = [(c - np.nanmin(c)) / max(np.ptp(c), 1e-9) for c in table.values()]
    lots["score"] = np.mean(columns, axis=0)
    page = folium.Map()
    folium.GeoJson(lots[["MAP_LOT", "score", "geometry"]].to_crs(4326)).add_to(page)
    page.save(folder / "plain.html")


def town() -> None:
    """Whole runs of made-up towns by size, with memory and exponent, beside a plain script."""
    import resource

    maker = [sys.executable, str(ROOT / "scripts" / "make_sample_gis.py"), "--seed", "1"]
    sizes = [int(size) for size in os.environ.get("PLAYSITE_TOWNS", "1000,10000").split(",")]
    took: dict[int, float] = {}
    with tempfile.TemporaryDirectory() as folder:
        for size in sizes:
            out = Path(folder) / str(size)
            subprocess.run([*maker, "--parcels", str(size), "--out", str(out)], check=True)
            command = [sys.executable, "-m", "playsite", "rank", str(out), "--fresh"]
            start = time.perf_counter()
            subprocess.run(command, check=True, env={**os.environ, "PLAYSITE_CACHE": folder})
            took[size] = time.perf_counter() - start
            megabytes = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
            start = time.perf_counter()
            plain_town(out)
            plain = time.perf_counter() - start
            print(f"{size:>7} parcels: {took[size]:7.1f} s, at most {megabytes:,.0f} MB so far")
            print(f"        plain script: {plain:7.1f} s, ratio {took[size] / plain:.2f}")
    for small, large in itertools.pairwise(sizes):
        exponent = np.log(took[large] / took[small]) / np.log(large / small)
        print(f"{small} to {large} parcels: time grows as n^{exponent:.2f}")


PARTS: dict[str, Callable[[], None]] = {
    "drained": terrain.drained,
    "clearance": distances.clearance,
    "dash": distances.dash,
    "walk": distances.walk,
    "reach": distances.reach,
    "shade": shade,
    "sight": sight,
    "routes": routes,
    "shares": shares,
    "pads": pads,
    "layout": layout,
    "run": run,
    "town": town,
    "map": map_page,
}
IN_SIZES = {
    "grade": terrain.grade,
    "filling": terrain.filling,
    "accumulation": terrain.accumulation,
}


def main() -> None:
    """Run the parts that are named."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("parts", nargs="*", metavar="part", help=", ".join([*IN_SIZES, *PARTS]))
    parser.add_argument("--sizes", default="1000,2000", help="sides of the rasters, in cells")
    parser.add_argument("--once", nargs=3, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.once:
        part, name, side = given.once
        once(terrain.WORKS[part](int(side))[name])
        return
    parts = given.parts or [*IN_SIZES, *PARTS]
    if unknown := [part for part in parts if part not in IN_SIZES | PARTS]:
        parser.error(f"no such part: {', '.join(unknown)}")
    for part in parts:
        if part in IN_SIZES:
            IN_SIZES[part]([int(side) for side in given.sizes.split(",")])
        else:
            PARTS[part]()


if __name__ == "__main__":
    main()
