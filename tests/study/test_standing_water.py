"""Standing water at the pad: told with its probability, let through culverts, unknown where noise hides it."""

import numpy as np
import pytest
import shapely
from made_up_study import box, ground, line, write_study

from playsite.study import run

NOISE = np.random.default_rng(3).normal(0, 0.03, (400, 400))
LOT = {"lot": box(166, 165.3, 32.4, 23.4)}  # so tight that the pad lies on its middle


def bowl(x, y):
    """A bowl 0.40 m deep and 14 m wide in a plane of 1 %."""
    far = np.hypot(x - 182, y - 177) / 7
    return 0.01 * x - 0.4 * np.clip(1 - far**2, 0, None)


def water(result):
    rows = result.measurements[result.measurements["criterion"] == "standing_water"]
    return rows.iloc[0]


def test_a_hollow_under_the_pad_is_told_with_probability_depth_and_fate(tmp_path):
    result = run(write_study(tmp_path, LOT, elevation=ground(bowl) + NOISE))
    found = water(result)
    assert 8 < found["value"] < 16, "some 130 of 1,080 square metres"
    assert found["low"] <= found["value"] <= found["high"]
    assert "likely" in found["note"]
    assert "grading the pad would remove it" in found["note"]
    spots = result.low_spots
    own = spots.loc[spots.geometry.area.idxmax()]
    assert own["probability"] >= 0.95
    assert own["depth_low_m"] <= own["depth_m"] <= own["depth_high_m"]
    assert own["catchment_m2"] > own["area_m2"]
    spill = shapely.Point(own["spill_easting"], own["spill_northing"])
    assert own.geometry.distance(spill) < 3
    assert np.isnan(own["soaked_away_h"]), "without a layer of soils nobody knows"


def test_a_hollow_in_known_soil_soaks_away_in_its_time(tmp_path):
    everywhere = box(0, 0, 400, 400)
    soils = {"soils": ([everywhere], {"musym": ["Am"], "hydgrpdcd": ["B"], "comppct_r": [100.0]})}
    spots = run(write_study(tmp_path, LOT, elevation=ground(bowl) + NOISE, layers=soils)).low_spots
    own = spots.loc[spots["probability"].idxmax()]
    # group B takes 4 micrometres a second at the least (NEH 630, ch. 7); half of it is counted
    assert own["soaked_away_h"] == pytest.approx(own["depth_m"] / 2e-6 / 3600, rel=1e-6)
    assert spots.loc[spots.geometry.area.idxmax(), "probability"] >= 0.95
    assert spots.loc[spots.geometry.area.idxmax(), "standing"] == "credible"


def test_noise_on_a_plane_holds_no_water(tmp_path):
    result = run(write_study(tmp_path, LOT, elevation=ground(lambda x, y: 0.02 * x) + NOISE))
    assert water(result)["value"] == 0


def test_where_the_noise_is_as_wide_as_a_hollow_it_is_unknown_not_dry(tmp_path):
    """Noise of 5 cm over 4 m: a bowl of this size can't be told (algorithms of conditional simulation)."""
    rng = np.random.default_rng(5)
    waves = np.fft.rfft2(rng.normal(size=(400, 400)))
    k = 2 * np.pi * np.hypot(np.fft.fftfreq(400)[:, None], np.fft.rfftfreq(400)[None])
    rough = np.fft.irfft2(waves * np.exp(-((k * 4) ** 2) / 4))
    uneven = ground(lambda x, y: 0.02 * x) + 0.05 * rough / rough.std()
    file = write_study(tmp_path, LOT, elevation=uneven)
    text = file.read_text().replace('noise = "3 cm"', 'noise = "5 cm"\nnoise_length = "4 m"')
    file.write_text(text)
    result = run(file)
    found = water(result)
    assert np.isnan(found["value"])
    assert "cannot be told" in found["note"]
    assert "standing_water" in set(result.unknowns["criterion"])
    window = result.low_spots[result.low_spots["standing"] == "cannot be told"]
    assert len(window) == 1
    assert window.geometry.iloc[0].contains(result.pads.geometry.iloc[0])
    assert window[["depth_m", "area_m2", "volume_m3", "probability"]].isna().all(axis=None)


@pytest.mark.parametrize("mapped", [False, True])
def test_a_bank_dams_a_channel_until_its_culvert_is_mapped(tmp_path, mapped):
    """Golden test of the trade: a street embankment with and without its culvert."""

    def valley(x, y):
        bank = 1.5 * np.clip(1 - np.abs(x - 150) / 6, 0, None)
        return 0.02 * x + np.abs(y - 177) * 0.04 + bank

    street = {"streets": ([line((150, 0), (150, 400))], {"class": ["local"], "width_m": [9.0]})}
    pipe = {"culverts": ([line((140, 177), (160, 177))], {"name": ["pipe"]})}
    layers = street | pipe if mapped else street
    result = run(write_study(tmp_path, LOT, elevation=ground(valley), layers=layers))
    deepest = result.low_spots["depth_m"].max()
    told = [each for each in result.findings if each.what.startswith("A bank")]
    if mapped:
        assert not deepest > 0.15
        assert not told
    else:
        assert deepest == pytest.approx(1.3, abs=0.25)
        assert len(told) == 1
        assert told[0].where.startswith(("500149", "500150", "500151"))
