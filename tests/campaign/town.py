"""A sound town to be copied and spoilt, and the law that each spoilt one is held to."""

import warnings

import geopandas as gpd
import numpy as np
import pytest
from made_up_study import CRS, box, ground, line, point, write_study

from playsite.errors import InputError, PlaysiteError
from playsite.study import run

LAYERS = {
    "parcels": ([box(100, 100, 60, 60), box(200, 100, 60, 60)], {"parcel_id": ["A", "B"]}),
    "streets": ([line((0, 80), (400, 80))], {"class": ["local"], "lanes": [2], "width_m": [7.0]}),
    "paths": ([line((0, 90), (400, 90))], {"bridge": ["no"]}),
    "water": ([box(300, 300, 30, 30)], {"name": ["Pond"]}),
    "restrooms": ([point(50, 85)], {"access": ["yes"]}),
    "parking": ([point(60, 85)], {"access": ["yes"]}),
    "picnic": ([point(70, 85)], {"access": ["yes"]}),
    "buildings": ([box(10, 10, 10, 10)], {"kind": ["dwelling"], "height_m": [6.0]}),
    "trees": ([point(20, 120)], {"height_m": [9.0], "diameter_m": [0.3], "crown_m": [3.0]}),
    "fences": ([line((0, 5), (9, 5))], {"height_m": [1.5]}),
    "easements": ([box(380, 380, 9, 9)], {"kind": ["drainage"]}),
    "off_limits": ([box(390, 380, 5, 5)], {"name": ["Works yard"]}),
    "lots": ([box(370, 380, 8, 8)], {"name": ["Gravel"]}),
    "playgrounds": ([point(390, 10)], {"access": ["yes"]}),
}


def frame_of(kind, shapes=None, crs=CRS, **columns):
    usual, table = LAYERS[kind]
    shapes = list(usual) if shapes is None else shapes
    table = {name: (values * len(shapes))[: len(shapes)] for name, values in table.items()}
    return gpd.GeoDataFrame({**table, **columns}, geometry=shapes, crs=crs)


def save(frame, path):
    path.unlink(missing_ok=True)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the point is that the file is bad
        frame.to_file(path)


def write_town(folder):
    layers = {kind: own for kind, own in LAYERS.items() if kind != "parcels"}
    parcels = dict(zip(LAYERS["parcels"][1]["parcel_id"], LAYERS["parcels"][0], strict=True))
    elevation = ground(lambda x, y: 10 + 0.01 * x + 0.02 * y)
    write_study(folder, parcels, elevation=elevation, layers=layers)


def only(folder, *kinds):
    """Leave a study with parcels, elevation and these: the others cost time and are not at stake."""
    file = folder / "study.toml"
    head, *tables = file.read_text(encoding="utf-8").split("[layers.")
    kept = [table for table in tables if table.split("]")[0] in {"parcels", "elevation", *kinds}]
    file.write_text("[layers.".join([head, *kept]), encoding="utf-8")


def hold_to_sentences(problems, names):
    its = [problem for problem in problems if problem.layer in names]
    assert its, problems
    assert all(problem.file.endswith("study.toml") and problem.line for problem in its), its
    assert any(problem.remedy for problem in its), its
    assert not any("Error" in problem.what for problem in its), its


def judge(folder, usual, names):
    """Hold one spoilt town to the law: a new finding, or a sentence with its place and a remedy."""
    before = sorted(folder.rglob("*"))
    try:
        result = run(folder)
    except InputError as error:
        hold_to_sentences(error.problems, names)
    except PlaysiteError as error:
        pytest.fail(f"a criterion had to find out what the gate should have: {error}")
    else:
        new = [finding for finding in result.findings if str(finding) not in usual]
        assert any(finding.layer in names for finding in new), new
        scores = result.sites["score"].dropna()
        assert scores.between(0, 1).all()
        assert np.isfinite(result.pads[["easting", "northing"]].to_numpy(float)).all()
    assert sorted(folder.rglob("*")) == before, "nothing is written beside the user's files"
