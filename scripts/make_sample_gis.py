"""Make the town of the demo, which is made up: map files, a study, and what is true of it.

python scripts/make_sample_gis.py --seed 7 --parcels 24 --out sample_gis
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from sample_town import below_ground, features, people, plan
from sample_town import country as extra
from sample_town.buildings import frame_of, put_up_buildings
from sample_town.files import write_elevation, write_layer, write_texts
from sample_town.ground import make_ground
from sample_town.lots import Land, divide_land
from sample_town.shapes import street_lines
from sample_town.truth import truth_of
from sample_town.walks import Way, lay_ways
from shapely import Point

if TYPE_CHECKING:
    from sample_town.country import Country
    from shapely import Polygon

Row = dict[str, Any]
OWNERS = {"SCHOOL": f"{plan.TOWN} School District", "FARM": "Private", "WOODLAND": "Private"}


def make_town(folder: Path, *, seed: int, parcels: int) -> None:
    """Make the town and write it into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(seed)
    land = divide_land(street_lines(), rng)
    ground = make_ground(land.streets, land.candidates, land.creek)
    built = put_up_buildings(land, rng)
    streets, paths = lay_ways(land, stops_of(land))
    country = extra.lay_country(parcels - len(plan.CANDIDATES))
    rows = parcel_rows(land, country)
    layers: dict[str, list[Row]] = {
        "parcels": rows,
        "streets": street_rows(streets, country),
        "paths": [
            {
                "NAME": way.name,
                "KIND": way.kind,
                "BRIDGE": "yes" if way.bridge else "no",
                "geometry": way.line,
            }
            for way in paths
        ],
        "water": water_rows(land),
        "buildings": [
            {"NAME": one.name, "KIND": one.kind, "geometry": one.outline} for one in built
        ],
        "trees": features.trees(land, built, paths, rng),
        "restrooms": features.restrooms(land),
        "parking": features.parking(land),
        "picnic": features.picnic(land),
        "playgrounds": features.playgrounds(land),
        "fences": features.fences(land),
        "easements": features.easements(land),
        "inlets": below_ground.inlets(land),
        "culverts": below_ground.culverts(land),
        "soils": below_ground.soils(),
        "flood_zones": below_ground.flood_zones(),
        "wetlands": below_ground.wetlands(land),
        "below": below_ground.below(land),
        "population": people.population(built),
        "districts": people.districts(),
    }
    for name, layer in layers.items():
        write_layer(folder, name, layer)
    write_elevation(folder / "elevation.tif", ground, country, rng)
    ids = {row["NAME"]: row["MAP_LOT"] for row in rows if row["NAME"]}
    facts = {
        "town": plan.TOWN,
        "seed": seed,
        "crs": plan.CRS,
        "pad_m": plan.PAD_M,
        "pond_levels_m": ground.pond_levels_m,
        "candidates": truth_of(land, built, ground, ids),
    }
    write_texts(folder, facts, seed, parcels)


def stops_of(land: Land) -> dict[str, Point]:
    """Places that a way must lead to: restrooms, car parks, picnic tables, park entrances."""
    rows = [*features.restrooms(land), *features.picnic(land), *features.parking(land)]
    stops = {row["NAME"]: row["geometry"].centroid for row in rows}
    for name, outline in {**land.candidates, **land.civic}.items():
        stops[f"{name} entrance"] = Point(frame_of(outline).place(0, 3.5))
    return stops


def parcel_rows(land: Land, country: Country) -> list[Row]:
    """All parcels with map and lot numbers, the town's candidates first."""
    uses = {one.name: one.use for one in (*plan.CANDIDATES, *plan.CIVIC)}
    named = {**land.candidates, **land.civic}
    found: list[tuple[str, str, Polygon]] = [
        (name, uses[name], shape) for name, shape in named.items()
    ]
    found += [("", lot.use, lot.outline) for lot in land.lots]
    found += [(f"Country Lot {i + 1}", "PARK", shape) for i, shape in enumerate(country.parcels)]
    counts: dict[int, int] = {}
    rows = []
    for name, use, shape in found:
        middle = shape.centroid
        sheet = 1 + int(middle.x // 300) + 50 * int(middle.y // 300)
        counts[sheet] = counts.get(sheet, 0) + 1
        public = use in {"PARK", "TOWN", "CIVIC", "COMMON"}
        owner = OWNERS.get(use, f"Town of {plan.TOWN}" if public else "Private")
        rows.append(
            {
                "MAP_LOT": f"{sheet:03d}-{counts[sheet]:03d}",
                "NAME": name or None,
                "OWNER": owner,
                "LAND_USE": use,
                "geometry": shape,
            }
        )
    return rows


def street_rows(streets: list[Way], country: Country) -> list[Row]:
    """Streets with class, lanes and counted vehicles; lanes and counts are unknown for some."""
    lanes = {street.name: street.lanes for street in plan.STREETS}
    rows: list[Row] = [
        {
            "NAME": way.name,
            "FUNC": way.kind,
            "LANES": lanes[way.name],
            "AADT": plan.COUNTED_A_DAY.get(way.name),
            "BRIDGE": "yes" if way.bridge else "no",
            "geometry": way.line,
        }
        for way in streets
    ]
    rows += [
        {
            "NAME": name,
            "FUNC": plan.LOCAL,
            "LANES": 2,
            "AADT": None,
            "BRIDGE": "no",
            "geometry": line,
        }
        for name, line in country.streets
    ]
    return rows


def water_rows(land: Land) -> list[Row]:
    """Creek, ponds and the basin."""
    rows: list[Row] = [{"NAME": "Sill Brook", "KIND": "creek", "geometry": land.creek}]
    rows += [
        {"NAME": pond.name, "KIND": pond.kind, "geometry": land.ponds[pond.name]}
        for pond in plan.PONDS
    ]
    return rows


def main() -> None:
    """Read the options and make the town."""
    least = len(plan.CANDIDATES)
    parser = argparse.ArgumentParser(description="Make the made-up town of the demo.")
    parser.add_argument("--seed", type=int, default=7, help="what chance starts from (default 7)")
    parser.add_argument(
        "--parcels", type=int, default=least, help=f"number of candidates, {least} or more"
    )
    parser.add_argument("--out", type=Path, default=Path(__file__).parents[1] / "sample_gis")
    options = parser.parse_args()
    if options.parcels < least:
        sys.exit(
            f"--parcels {options.parcels}: the town itself has {least} candidates; give {least} or more."
        )
    make_town(options.out, seed=options.seed, parcels=options.parcels)
    print(f"{plan.TOWN}: {options.parcels} candidate parcels in {options.out}")


if __name__ == "__main__":
    main()
