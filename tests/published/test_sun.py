"""Where the sun stands and how long shadows are, against published values and a reference library."""

import numpy as np
import pytest

from playsite.sun.position import declination_deg, sun_at, suns_of_day
from playsite.sun.shadows import throw

# Reda and Andreas, Solar Position Algorithm for Solar Radiation Applications, NREL/TP-560-34302,
# appendix A.5: 17 October 2003, 12:30:30 at UTC-7.
NREL = {"latitude_deg": 39.742476, "longitude_deg": -105.1786}
NREL_UTC = "2003-10-17T19:30:30"


def test_worked_example_of_the_solar_position_algorithm():
    sun = sun_at(NREL_UTC, **NREL)
    assert sun.altitude_deg == pytest.approx(39.872046, abs=0.01)  # without refraction
    assert sun.azimuth_deg == pytest.approx(194.340241, abs=0.01)
    assert declination_deg(NREL_UTC) == pytest.approx(-9.31434, abs=0.01)


def test_shadow_of_a_pole_in_that_example():
    # Unit height: tan(50.11162) = 1.1965 long towards 14.34 degrees, with the air's bending of
    # light; without it tan(50.127954) = 1.1974.
    sun = sun_at(NREL_UTC, **NREL)
    east, north = throw(sun.altitude_deg, sun.azimuth_deg)
    assert np.hypot(east, north) == pytest.approx(1.1974, abs=5e-4)
    assert np.degrees(np.arctan2(east, north)) == pytest.approx(14.34024, abs=0.01)


@pytest.mark.parametrize(
    ("when", "latitude", "longitude", "altitude", "azimuth"),
    [
        # pvlib 0.16.1, solarposition.get_solarposition(method="nrel_numpy"), "elevation".
        ("2026-06-21T16:00", 40.0, -83.0, 64.209, 122.896),
        ("2026-09-21T22:30", 49.27, -123.12, 32.162, 224.172),
        ("2031-12-21T03:00", -35.3, 149.1, 72.599, 309.061),
        ("2044-03-20T12:00", 0.5, 10.0, 81.809, 267.988),
    ],
)
def test_suns_of_a_reference_library_in_both_hemispheres(
    when, latitude, longitude, altitude, azimuth
):
    sun = sun_at(when, latitude_deg=latitude, longitude_deg=longitude)
    assert sun.altitude_deg == pytest.approx(altitude, abs=0.01)
    across = (sun.azimuth_deg - azimuth) * np.cos(np.radians(altitude))
    assert across == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize(("month", "altitude"), [(6, 73.44), (12, 26.56)])
def test_highest_sun_of_the_solstices_is_90_less_latitude_and_tilt(month, altitude):
    # 90 - 40 + 23.44 and 90 - 40 - 23.44: tilt of the earth's axis, J2000, 23.4393 degrees.
    sun = suns_of_day(40.0, month=month, hours=[11, 12, 13])
    assert sun.altitude_deg[1] == pytest.approx(altitude, abs=0.01)
    assert sun.azimuth_deg[1] == pytest.approx(180)
    assert sun.altitude_deg[0] == pytest.approx(sun.altitude_deg[2])
    assert sun.azimuth_deg[0] + sun.azimuth_deg[2] == pytest.approx(360)


def test_the_sun_stands_in_the_north_south_of_the_tropics():
    assert suns_of_day(-35.0, month=12, hours=[12]).azimuth_deg[0] % 360 == pytest.approx(
        0, abs=1e-6
    )


def test_shadow_of_a_stem_of_12_m_in_june():
    # At 40 degrees north 3.6 m at noon and 10.5 m at 15 o'clock towards about 80 degrees.
    sun = suns_of_day(40.0, month=6, hours=[12, 15])
    thrown = 12 * throw(sun.altitude_deg, sun.azimuth_deg)
    assert np.hypot(*thrown.T) == pytest.approx([3.6, 10.5], abs=0.05)
    assert np.degrees(np.arctan2(*thrown[1])) == pytest.approx(80, abs=1)
