"""Where the sun stands: by the clock, or by the sun's own hours of a day of the year."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

__all__ = ["Suns", "declination_deg", "sun_at", "suns_of_day"]

_J2000 = np.datetime64("2000-01-01T12:00:00", "ns")
_DAY = np.timedelta64(1, "D")
_DELTA_T_DAYS = 69.0 / 86_400  # earth's slow clock against the even one, in this century
_PARALLAX_DEG = 8.794 / 3600


@dataclass(frozen=True)
class Suns:
    """Directions of the sun, as arrays of one shape.

    Parameters
    ----------
    altitude_deg
        Above the level horizon, without the bending of light by the air (under 0.1 degrees from
        10 degrees up).
    azimuth_deg
        Clockwise from true north.
    """

    altitude_deg: NDArray[np.float64]
    azimuth_deg: NDArray[np.float64]


def _apparent(days: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Right ascension and declination of the sun, in radians, at days since 2000 January 1.5."""
    t = (days + _DELTA_T_DAYS) / 36_525
    mean_longitude = 280.46646 + t * (36_000.76983 + t * 0.0003032)
    anomaly = np.radians(357.52911 + t * (35_999.05029 - t * 0.0001537))
    centre = (
        (1.914602 - t * (0.004817 + t * 0.000014)) * np.sin(anomaly)
        + (0.019993 - t * 0.000101) * np.sin(2 * anomaly)
        + 0.000289 * np.sin(3 * anomaly)
    )
    node = np.radians(125.04 - 1934.136 * t)
    longitude = np.radians(mean_longitude + centre - 0.00569 - 0.00478 * np.sin(node))
    tilt = np.radians(23.439291 - 0.0130042 * t + 0.00256 * np.cos(node))
    ascension = np.arctan2(np.cos(tilt) * np.sin(longitude), np.cos(longitude))
    return ascension, np.arcsin(np.sin(tilt) * np.sin(longitude))


def _days(when_utc: ArrayLike) -> NDArray[np.float64]:
    days = (np.asarray(when_utc, dtype="datetime64[ns]") - _J2000) / _DAY
    return np.asarray(days, dtype=np.float64)


def declination_deg(when_utc: ArrayLike) -> NDArray[np.float64]:
    """How far the sun stands north of the equator.

    Parameters
    ----------
    when_utc
        ``datetime64``, universal time.
    """
    return np.degrees(_apparent(_days(when_utc))[1])


def sun_at(when_utc: ArrayLike, *, latitude_deg: ArrayLike, longitude_deg: ArrayLike) -> Suns:
    """Where the sun stands, seen from a place; good to 0.01 degrees from 1950 to 2050.

    The low-precision solution of J. Meeus, Astronomical Algorithms, 2nd ed. 1998, chapter 25 (from
    memory), with parallax. Checked against the worked example of I. Reda and A. Andreas, Solar
    Position Algorithm for Solar Radiation Applications, NREL/TP-560-34302, appendix A.5.

    Parameters
    ----------
    when_utc
        ``datetime64``, universal time.
    latitude_deg, longitude_deg
        North and east are positive.

    Examples
    --------
    >>> sun = sun_at("2003-10-17T19:30:30", latitude_deg=39.742476, longitude_deg=-105.1786)
    >>> round(float(sun.altitude_deg), 1), round(float(sun.azimuth_deg), 1)
    (39.9, 194.3)
    """
    days = _days(when_utc)
    ascension, declination = _apparent(days)
    t = days / 36_525
    node = np.radians(125.04 - 1934.136 * t)
    mean_sidereal = 280.46061837 + 360.98564736629 * days + 0.000387933 * t * t
    sidereal = mean_sidereal - 0.00478 * np.sin(node) * np.cos(np.radians(23.44))
    hour_angle = np.radians(sidereal + np.asarray(longitude_deg, dtype=float)) - ascension
    return _seen(hour_angle, declination, np.asarray(latitude_deg, dtype=float))


def suns_of_day(
    latitude_deg: ArrayLike, *, month: int, hours: ArrayLike, day: int = 21, year: int = 2026
) -> Suns:
    """Where the sun stands at hours of its own: at 12 it is at its highest, wherever the clock is.

    Parameters
    ----------
    latitude_deg
        Shape ``(n,)`` or a number.
    month, day, year
        Of the declination, taken at noon in Greenwich: another year moves it by 0.2 degrees at most.
    hours
        Shape ``(m,)``.

    Returns
    -------
    Suns
        Shape ``(n, m)``, or ``(m,)`` for one place.
    """
    noon = np.datetime64(f"{year:04d}-{month:02d}-{day:02d}T12:00")
    declination = np.radians(declination_deg(noon))
    hour_angle = np.radians(15.0 * (np.asarray(hours, dtype=float) - 12.0))
    latitude = np.asarray(latitude_deg, dtype=float)
    return _seen(hour_angle, declination, latitude[..., None] if latitude.ndim else latitude)


def _seen(
    hour_angle: NDArray[np.float64],
    declination: NDArray[np.float64],
    latitude_deg: NDArray[np.float64],
) -> Suns:
    latitude = np.radians(latitude_deg)
    up = np.sin(latitude) * np.sin(declination)
    up = up + np.cos(latitude) * np.cos(declination) * np.cos(hour_angle)
    altitude = np.degrees(np.arcsin(np.clip(up, -1.0, 1.0)))
    east = -np.cos(declination) * np.sin(hour_angle)
    north = np.cos(latitude) * np.sin(declination)
    north = north - np.sin(latitude) * np.cos(declination) * np.cos(hour_angle)
    azimuth = np.degrees(np.arctan2(east, north)) % 360.0
    lowered = altitude - _PARALLAX_DEG * np.cos(np.radians(altitude))
    return Suns(*np.broadcast_arrays(lowered, azimuth))
