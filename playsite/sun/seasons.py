"""When children play: suns of the warm half of the year, seen from each pad."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pyproj

from playsite.sun.position import Suns, suns_of_day

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = [
    "HOURS",
    "SHOWN_HOURS",
    "hour_weights",
    "places_on_earth",
    "season_suns",
    "shown_months",
    "shown_suns",
]

HOURS = tuple(range(10, 17))
"""Hours by the sun, 12 when it is highest; a summer clock shows about an hour more. They are the
hours of strong sun and of play: common practice, no source."""

SHOWN_HOURS = (10, 13, 16)
_NORTH, _SOUTH = (4, 5, 6, 7, 8, 9), (10, 11, 12, 1, 2, 3)
_ARC_DEG = 1e-4


def hour_weights() -> NDArray[np.float64]:
    """Weight of each sun of `season_suns`: months alike, hours by the trapezoid rule; sum 1."""
    hours = np.ones(len(HOURS))
    hours[[0, -1]] = 0.5
    return np.tile(hours / hours.sum() / len(_NORTH), len(_NORTH))


def shown_months(latitude_deg: float) -> tuple[int, int]:
    """The month of the highest sun and the last warm one: June and September, or their like.

    Examples
    --------
    >>> shown_months(-35.0)
    (12, 3)
    """
    return (6, 9) if latitude_deg >= 0 else (12, 3)


def season_suns(latitude_deg: float, north_deg: float) -> Suns:
    """Suns of the 21st of six warm months at `HOURS`, month by month.

    Parameters
    ----------
    latitude_deg
        Of the place.
    north_deg
        Where true north lies, clockwise from the grid's: azimuths are given from the grid's.
    """
    return _suns(latitude_deg, north_deg, _NORTH if latitude_deg >= 0 else _SOUTH, HOURS)


def shown_suns(latitude_deg: float, north_deg: float) -> Suns:
    """Suns of `shown_months` at `SHOWN_HOURS`, month by month."""
    return _suns(latitude_deg, north_deg, shown_months(latitude_deg), SHOWN_HOURS)


def _suns(
    latitude_deg: float, north_deg: float, months: tuple[int, ...], hours: tuple[int, ...]
) -> Suns:
    suns = [suns_of_day(latitude_deg, month=month, hours=hours) for month in months]
    altitude = np.concatenate([each.altitude_deg for each in suns])
    azimuth = np.concatenate([each.azimuth_deg for each in suns])
    return Suns(altitude, azimuth + north_deg)


def places_on_earth(
    xy: NDArray[np.float64], crs: object
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Latitude of places, and where true north lies there, clockwise from the grid's, in degrees.

    Parameters
    ----------
    xy
        (n, 2) in a projected system.
    crs
        That system.
    """
    to_degrees = pyproj.Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    longitude, latitude = to_degrees.transform(xy[:, 0], xy[:, 1])
    east, north = to_degrees.transform(longitude, latitude + _ARC_DEG, direction="INVERSE")
    turn = np.degrees(np.arctan2(np.asarray(east) - xy[:, 0], np.asarray(north) - xy[:, 1]))
    return np.asarray(latitude, dtype=np.float64), np.asarray(turn, dtype=np.float64)
