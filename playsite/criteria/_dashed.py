"""What criteria of hazards share: the dash beside the straight distance, its words and its lines."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.criteria._contract import Measured
from playsite.proximity.clearance import nearest
from playsite.proximity.dash import dash_m
from playsite.proximity.dash_gaps import bearing_word, dash_again_m, seconds_text

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.site import Site

__all__ = [
    "Closed",
    "dashed",
    "far",
    "lines_of",
    "named",
    "way_texts",
    "ways_of",
    "with_gaps_closed",
]

_AGAIN_M = 240.0  # with a gap closed a way is looked for this far: a minute of running


class Closed(NamedTuple):
    """What closing each gap would do: in words by pad, and the ways that would be left, as lines."""

    said: pd.Series[str]
    lines: gpd.GeoDataFrame


def dashed(
    pads: gpd.GeoDataFrame,
    features: gpd.GeoSeries,
    site: Site,
    *,
    reach_m: float | NDArray[np.float64],
    over_water: bool = False,
) -> pd.DataFrame:
    """Dash and straight distance from each pad to the nearest of some features.

    Returns
    -------
    DataFrame
        By pad: ``dash_m`` (inf: none found), ``at_least_m`` (what counts: the dash, else what no way
        can be shorter than; inf: barriers close it off), ``feature`` (that the way leads to, else
        the nearest), ``path`` (else the straight line) and ``straight_m``.
    """
    straight = nearest(pads.geometry, features)
    found = dash_m(
        pads.geometry,
        features,
        site.barriers if over_water else site.barriers_and_water,
        reach_m=reach_m,
        opening_m=site.child.gap_m,
    )
    found["feature"] = found["feature"].where(found["feature"].notna(), straight["feature"])
    has = found["path"].notna()
    found["path"] = np.where(has, found["path"], straight["line"])
    found["straight_m"] = straight["distance_m"]
    return found


def far(pads: gpd.GeoDataFrame, note: str, *also: str) -> Measured:
    """Give what holds where a layer has no such feature near: it is known to be far."""
    value = pd.Series(np.inf, index=pads.index)
    return Measured(value, note=pd.Series(note, index=pads.index), also=dict.fromkeys(also, value))


def named(names: pd.Series[Any], *, otherwise: str) -> pd.Series[str]:
    """Names as text, with a word for those that have none; a column may hold no text at all."""
    return names.astype(object).where(names.notna(), otherwise).astype(str)


def way_texts(found: pd.DataFrame, site: Site) -> pd.Series[str]:
    """Say the way to each hazard; the straight distance stands beside it as a figure of its own."""
    texts = [_way_text(row, site.child.speed_m_s) for row in found.itertuples()]
    return pd.Series(texts, index=found.index, dtype=str)


def _way_text(row: Any, speed_m_s: tuple[float, float]) -> str:
    if np.isposinf(row.at_least_m):
        return "no way for a child: closed off by fences or buildings"
    if not np.isfinite(row.dash_m):
        return f"at least {row.at_least_m:.1f} m by any way"
    speeds = " to ".join(f"{speed:.3g}" for speed in dict.fromkeys(speed_m_s))
    run = f"{seconds_text(row.dash_m, speed_m_s)} for a running child, assumed {speeds} m/s"
    if row.dash_m - row.straight_m < 0.1:
        return f"straight, nothing between: {run}"
    return f"round what is between: {run}"


def with_gaps_closed(
    pads: gpd.GeoDataFrame,
    features: gpd.GeoSeries,
    site: Site,
    found: pd.DataFrame,
    *,
    below_m: pd.Series[float] | float,
    over_water: bool = False,
) -> Closed:
    """Say how far it would be with each gap on the way closed; only of ways shorter than a limit."""
    texts: pd.Series[Any] = pd.Series("", index=pads.index)
    lines: list[tuple[Any, str, Any]] = []
    openings = site.openings
    short = pads.index[found["dash_m"] < below_m]
    if not (len(openings) and len(short)):
        return Closed(texts, _frame(lines, pads.crs))
    again = dash_again_m(
        pads.geometry.loc[short],
        features,
        site.barriers if over_water else site.barriers_and_water,
        openings.geometry,
        found["path"].loc[short],
        reach_m=_AGAIN_M,
        opening_m=site.child.gap_m,
    )
    rows: list[Any] = list(again.itertuples())
    for row in rows:
        gap = _gap_name(openings.loc[row.gap], pads.geometry[row.shape])
        texts[row.shape] += f"; with {gap} closed {_then(row, site.child.speed_m_s)}"
        if row.path is not None:
            run = seconds_text(row.dash_m, site.child.speed_m_s)
            lines.append((row.shape, f"with {gap} closed {run}", row.path))
    return Closed(texts, _frame(lines, pads.crs))


def _gap_name(gap: pd.Series[Any], pad: Any) -> str:
    name = gap["name"]
    own = isinstance(name, str) and name.strip()
    what = f'"{name}"' if own else f"the {gap.geometry.length:.1f} m gap"
    return f"{what} {bearing_word(pad, gap.geometry)} of the play area"


def _then(row: Any, speed_m_s: tuple[float, float]) -> str:
    if np.isfinite(row.dash_m):
        return f"{row.dash_m:.1f} m, {seconds_text(row.dash_m, speed_m_s)}"
    return "no way is left" if np.isposinf(row.at_least_m) else f"at least {row.at_least_m:.1f} m"


def ways_of(
    found: pd.DataFrame, names: pd.Series[Any], site: Site, closed: gpd.GeoDataFrame
) -> gpd.GeoDataFrame:
    """Ways of a running child to draw, with their seconds, and those that closed gaps leave."""
    tails = [_tail(row, site.child.speed_m_s) for row in found.itertuples()]
    own = lines_of(found, names + pd.Series(tails, index=found.index, dtype=str), closed.crs)
    return own if not len(closed) else gpd.GeoDataFrame(pd.concat([own, closed], ignore_index=True))


def _tail(row: Any, speed_m_s: tuple[float, float]) -> str:
    if np.isfinite(row.dash_m):
        return f", {seconds_text(row.dash_m, speed_m_s)}"
    return ", closed off, straight" if np.isposinf(row.at_least_m) else ", straight"


def lines_of(found: pd.DataFrame, names: pd.Series[Any], crs: object) -> gpd.GeoDataFrame:
    """Lines to draw, one a pad."""
    empty = np.where(found["path"].isna(), shapely.LineString(), found["path"])
    return gpd.GeoDataFrame(
        {"pad_id": found.index, "label": names.to_numpy()}, geometry=empty, crs=crs
    )


def _frame(rows: list[tuple[Any, str, Any]], crs: object) -> gpd.GeoDataFrame:
    columns = ["pad_id", "label", "geometry"]
    return gpd.GeoDataFrame(rows, columns=columns, geometry="geometry", crs=crs)
