"""The package as it is installed: its version, and how little `--help` loads."""

import subprocess
import sys
import tomllib

HEAVY = ["folium", "geopandas", "matplotlib", "numba", "osmnx", "rasterio", "scipy"]

REPORT = f"""
import runpy, sys
sys.argv = ["playsite", "--help"]
code = 0
try:
    runpy.run_module("playsite", run_name="__main__")
except SystemExit as end:
    code = end.code
print("code", code, "loaded", *sorted(set({HEAVY!r}) & set(sys.modules)), file=sys.stderr)
"""


def test_help_loads_no_heavy_library(tmp_path):
    told = subprocess.run(
        [sys.executable, "-c", REPORT], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert told.stderr.split() == ["code", "0", "loaded"], told.stderr
    assert "rank" in told.stdout


def test_the_version_stands_in_one_place(repo):
    import playsite

    project = tomllib.loads((repo / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert playsite.__version__ == project["version"]
