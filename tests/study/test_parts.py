"""A town in parts gives what it gives as a whole; a stopped run goes on where it was."""

import numpy as np
import pandas as pd
import pytest
import shapely
from made_up_study import box, ground, line, write_study

import playsite.layers.elevation as elevation_layer
from playsite.study import one_part, parts, run
from playsite.study.found import cache_folder


@pytest.fixture
def town(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))
    parcels = {f"P-{i}": box(5 + 65 * (i % 6), 60 + 70 * (i // 6), 45 + i, 50) for i in range(18)}
    layers = {
        "streets": ([line((0, 50), (400, 50))], {"class": ["local"]}),
        "water": ([box(150, 300, 60, 60)], {"name": ["Pond"]}),
        "restrooms": ([box(390, 40, 3, 3)], {"access": ["yes"]}),
    }
    height = ground(lambda x, y: 10 + 0.01 * x + 0.00005 * y**2)
    return write_study(tmp_path / "town", parcels, elevation=height, layers=layers)


def _tables(result):
    return result.sites, result.measurements, result.ledger


@pytest.fixture
def whole(town):
    return run(town)


def _in_parts(monkeypatch, *, windows):
    monkeypatch.setattr(parts, "MOST_PARCELS", 5)
    if windows:
        read = elevation_layer.read_elevation
        monkeypatch.setattr(elevation_layer.read_elevation, "__kwdefaults__", {"most_cells": 1e5})
        assert read.__kwdefaults__["most_cells"] == 1e5


@pytest.mark.parametrize("windows", [False, True])
def test_parts_and_windows_change_nothing(town, whole, monkeypatch, windows):
    _in_parts(monkeypatch, windows=windows)
    again = run(town, fresh=True)
    for one, other in zip(_tables(whole), _tables(again), strict=True):
        pd.testing.assert_frame_equal(one, other)
    assert len(whole.low_spots) == len(again.low_spots)
    assert again.contours.empty == whole.contours.empty


def test_a_stopped_run_goes_on_where_it_was(town, monkeypatch):
    _in_parts(monkeypatch, windows=False)
    seen = []
    place = one_part._placed

    def stop_at_the_third(*arguments):
        if len(seen) == 2:
            raise KeyboardInterrupt
        seen.append(1)
        return place(*arguments)

    monkeypatch.setattr(one_part, "_placed", stop_at_the_third)
    with pytest.raises(KeyboardInterrupt):
        run(town)
    kept = sorted(cache_folder().glob("*-*.found"))
    assert len(kept) == 2
    monkeypatch.setattr(one_part, "_placed", lambda *a: seen.append(1) or place(*a))
    run(town)
    assert len(seen) == 4, "two parts before the stop, two after it"
    assert not list(cache_folder().glob("*-*.found"))


def test_parts_hold_every_parcel_once_whatever_the_order(whole, monkeypatch):
    monkeypatch.setattr(parts, "MOST_PARCELS", 4)
    parcels = whole.parcels.set_index("parcel_id")
    made = parts.parts_of(parcels, cell_m=None)
    assert max(map(len, made)) <= 4
    assert sorted(np.concatenate([part.index for part in made])) == sorted(parcels.index)
    turned = parts.parts_of(parcels.iloc[::-1], cell_m=None)
    assert [sorted(p.index) for p in made] == [sorted(p.index) for p in turned]


def test_parcels_far_apart_are_parted_where_the_ground_is_read_in_windows(whole):
    far = whole.parcels.set_index("parcel_id")
    east = np.linspace(0, 40_000, len(far))
    moved = [shapely.affinity.translate(s, x) for s, x in zip(far.geometry, east, strict=True)]
    far = far.set_geometry(moved, crs=far.crs)
    assert len(parts.parts_of(far, cell_m=0.5)) > 1
    assert len(parts.parts_of(far, cell_m=None)) == 1
