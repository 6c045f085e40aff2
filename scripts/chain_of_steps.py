"""A chain of steps from files to files: what is left of each parcel, pads on it, their grade.

Usage: chain_of_steps.py [FOLDER]; each step could be run alone with ``playsite step NAME``.
"""

import sys
from pathlib import Path

from playsite.steps._registry import load
from playsite.steps._running import run_step

ROOT = Path(__file__).resolve().parents[1]
TOWN = ROOT / "sample_gis"


def main() -> None:
    """Lead the sample town's parcels through four steps."""
    out = Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "results" / "steps"
    land, pads, graded, far = (out / f"{name}.gpkg" for name in ("land", "pads", "graded", "far"))
    elevation, water = TOWN / "elevation.tif", TOWN / "water.gpkg"
    chain = [
        (
            "buildable",
            {"parcels": TOWN / "parcels.gpkg", "taken": TOWN / "buildings.gpkg", "out": land},
            {"setback": "10 ft", "around": "20 ft"},
        ),
        ("pads", {"land": land, "out": pads}, {"length": "104 ft", "width": "74.5 ft"}),
        ("pad-grade", {"pads": pads, "elevation": elevation, "out": graded}, {"noise": "3 cm"}),
        ("clearance", {"shapes": graded, "features": water, "out": far}, {}),
    ]
    for name, files, values in chain:
        for path in run_step(load(name)[0], files, values).values():
            print(f"{name}: {path}")


if __name__ == "__main__":
    main()
