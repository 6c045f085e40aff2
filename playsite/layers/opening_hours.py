"""Opening hours in OpenStreetMap's words, and the share of play hours in which a place is open."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import opening_hours as reader
import pandas as pd

from playsite.layers._kind import ColumnKind
from playsite.problems import Finding

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd
    from numpy.typing import NDArray

    from playsite._way_settings import PlayTable

__all__ = [
    "HOURS",
    "PLAY_TIMES",
    "PlayTimes",
    "open_pct",
    "open_shares",
    "play_times",
    "settle_hours",
]

HOURS = ColumnKind(
    "opening_hours",
    if_missing="The file doesn't say when they are open: they are taken as open when children play.",
)
"""Column of opening hours, as OpenStreetMap writes them: "Mo-Fr 08:00-15:00; PH off"."""

_PLAIN = {
    "dawn to dusk": "dawn-dusk",
    "sunrise to sunset": "sunrise-sunset",
    "always": "24/7",
    "24 hours": "24/7",
    "closed": "off",
}


@dataclass(frozen=True)
class PlayTimes:
    """When children play: hours of the day, on each day of a season; one may go past New Year."""

    first_hour: float = 10
    last_hour: float = 18
    first_day: tuple[int, int] = (4, 1)
    last_day: tuple[int, int] = (10, 31)
    year: int = 2025
    """Year that the season begins in: public holidays are those of its days."""
    country: str | None = None
    """Whose public holidays count, as two letters; None: those of the country a place lies in."""

    @property
    def days(self) -> list[dt.date]:
        """Every day of the season."""
        first = dt.date(self.year, *self.first_day)
        last = dt.date(self.year + (self.last_day < self.first_day), *self.last_day)
        return [first + dt.timedelta(days=k) for k in range((last - first).days + 1)]


PLAY_TIMES = PlayTimes()
"""10:00 to 18:00 on each day from April to October; common practice, no source."""


def play_times(play: PlayTable) -> PlayTimes:
    """When children play, as ``[play]`` of a study says it."""
    return PlayTimes(*play.hours, *play.season, country=play.country)


def open_shares(
    text: str,
    *,
    times: PlayTimes = PLAY_TIMES,
    lat_lon_deg: tuple[float, float] | None = None,
) -> NDArray[np.float64] | None:
    """Share of play hours in which a place is open, for each day of the week from Monday.

    Hours with a remark ("by appointment") and hours called unknown don't count as open.

    Parameters
    ----------
    text
        Opening hours as OpenStreetMap writes them.
    times
        When children play.
    lat_lon_deg
        Where the place lies: it gives dawn and dusk, and the country of its public holidays where
        ``times`` names none. Without it dusk is at 20:00.

    Returns
    -------
    ndarray
        Seven shares from 0 to 1, NaN for a day that the season doesn't have; None where the text
        can't be read.

    Notes
    -----
    Holidays of schools are not known to the library: a place that closes in them counts as open.

    Examples
    --------
    >>> [float(share) for share in open_shares("Mo-Fr 08:00-14:00")]
    [0.5, 0.5, 0.5, 0.5, 0.5, 0.0, 0.0]
    >>> open_shares("when the caretaker is in") is None
    True
    """
    plain = _PLAIN.get(text.strip().lower(), text)
    if not reader.validate(plain):
        return None
    hours = reader.OpeningHours(
        plain, country=times.country, coords=lat_lon_deg, max_interval_days=400
    )
    days = times.days
    begin = dt.datetime.combine(days[0], dt.time())
    found = hours.intervals(begin, begin + dt.timedelta(days=len(days)))
    spans = [
        (from_.replace(tzinfo=None), to.replace(tzinfo=None))
        for from_, to, state, remark in found
        if state == reader.State.OPEN and not remark
    ]
    starts = np.array([day.toordinal() * 24.0 for day in days])
    opens_h = _hours_open(spans, starts + times.last_hour) - _hours_open(
        spans, starts + times.first_hour
    )
    weekday = np.array([day.weekday() for day in days])
    due_h = np.bincount(weekday, minlength=7) * (times.last_hour - times.first_hour)
    shares = np.full(7, np.nan)
    np.divide(
        np.bincount(weekday, weights=opens_h, minlength=7), due_h, out=shares, where=due_h > 0
    )
    return np.asarray(np.round(shares, 9), dtype=np.float64)


def _hours_open(
    spans: Sequence[tuple[dt.datetime, dt.datetime]], until_h: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Hours of the spans before each moment, in hours since the calendar began."""
    if not spans:
        return np.zeros(len(until_h))
    edges = np.array([[_hour(moment) for moment in span] for span in spans])
    total = np.r_[0.0, np.cumsum(edges[:, 1] - edges[:, 0])]
    run = np.interp(until_h, edges.ravel(), np.column_stack([total[:-1], total[1:]]).ravel())
    return np.asarray(run, dtype=np.float64)


def _hour(moment: dt.datetime) -> float:
    return moment.toordinal() * 24 + moment.hour + moment.minute / 60 + moment.second / 3600


def open_pct(places: gpd.GeoDataFrame, *, times: PlayTimes = PLAY_TIMES) -> pd.Series[float]:
    """Share of play hours in which each place is open on the day of the week it is open least.

    Parameters
    ----------
    places
        Features with ``opening_hours``, in any system.
    times
        When children play.

    Returns
    -------
    Series
        0 to 100 by the index of the places; NaN where no hours are given; 0 where they are given
        and can't be read: some hours are meant, and nobody knows which.
    """
    out = pd.Series(np.nan, index=places.index, dtype=float)
    given = places[places["opening_hours"].notna()]
    if not len(given):
        return out
    at = given.geometry.representative_point().to_crs(4326)
    for label, text, point in zip(given.index, given["opening_hours"], at, strict=True):
        where = (round(point.y, 3), round(point.x, 3))
        shares = open_shares(text, times=times, lat_lon_deg=where)
        out.loc[label] = 0.0 if shares is None else 100 * float(np.nanmin(shares))
    return out


def settle_hours(frame: Any, findings: list[Finding], kind: str) -> None:
    """Say which opening hours can't be read: their places don't count."""
    texts = frame["opening_hours"].dropna()
    bad = [text for text in texts if not reader.validate(_PLAIN.get(text.strip().lower(), text))]
    if bad:
        said = ", ".join(f'"{text}"' for text in dict.fromkeys(bad))
        findings.append(
            Finding(
                f"Opening hours that can't be read: {len(bad)} of {len(frame)}.",
                "These places are taken as not open when children play.",
                'Say what they mean under values.opening_hours: "school hours" = "Mo-Fr 08:00-15:00".',
                layer=kind,
                where=said if len(said) <= 120 else said[:117] + "...",
                count=len(bad),
                weight="caution",
            )
        )
