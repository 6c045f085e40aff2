"""Slope of the plane under a pad, told in full at the best place."""

import geopandas as gpd
import numpy as np
import pytest
from made_up_study import CRS, box, ground, write_study

from playsite.criteria._contract import measured
from playsite.criteria.grade import CRITERION
from playsite.site import Site
from playsite.study import check

PAD = box(120, 120, 32, 22)


@pytest.fixture
def told(tmp_path):
    def of(elevation):
        file = write_study(tmp_path, {"lot": box(100, 100, 200, 200)}, elevation=elevation)
        pads = gpd.GeoDataFrame(
            {
                "parcel_id": ["lot"],
                "easting": [PAD.centroid.x],
                "northing": [PAD.centroid.y],
                "rotation_deg": [0.0],
                "length_m": [32.0],
                "width_m": [22.0],
            },
            geometry=[PAD],
            crs=CRS,
        )
        site = Site(check(file)[1])
        return measured(CRITERION, pads, site), CRITERION.refine(pads, site)

    return of


def test_the_full_telling_moves_no_value(told):
    quick, full = told(ground(lambda x, y: 20 + 0.03 * x + 0.01 * y))
    for name in ("value", "low", "high"):
        assert getattr(full, name).equals(getattr(quick, name))
    assert full.value[0] == pytest.approx(100 * np.hypot(0.03, 0.01), abs=1e-3)
    assert "an even slope" in full.note[0]


def test_a_terrace_is_noted_with_its_step(told):
    _, full = told(ground(lambda x, y: 20 + 0.5 * (y > 131) + 0 * x))
    assert full.note[0].startswith("two levels, 50 cm apart; ground departs")


def test_cells_are_called_raw_and_stand_beside_the_plane(told):
    """Independent noise s on cells of 1 m reads s sqrt(pi 3/8 / 2), 2.3 % at 3 cm, on level ground.

    Horn's weights give each way a variance of 12 s^2 / 64; the length of two such normals has a
    mean of sqrt(pi / 2) of one's deviation (Rayleigh).
    """
    noise = np.random.default_rng(3).normal(0, 0.03, (400, 400))
    _, full = told(ground(lambda x, y: 20 + 0 * x + 0 * y) + noise)
    mean_pct = 100 * 0.03 * np.sqrt(12 / 64) * np.sqrt(np.pi / 2)
    raw = float(full.note[0].split("noise and all, ")[1].split(" %")[0])
    assert raw == pytest.approx(mean_pct, abs=0.15)
    assert full.value[0] < 0.3


def test_without_ground_nothing_is_told(told):
    gap = ground(lambda x, y: 20 + 0 * x + 0 * y)
    gap[230:300, 100:180] = np.nan
    _, full = told(gap)
    assert np.isnan(full.value[0])
    assert full.note[0] == "too little elevation here"
