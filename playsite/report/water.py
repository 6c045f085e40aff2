"""Storms in words: what runs on to a pad, whether it gets away, and what pipes the ground asks for."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from playsite.report.people_units import (
    area_text,
    depth_text,
    edge_flow_text,
    flow_text,
    hours_text,
    percent_text,
    volume_text,
)
from playsite.report.wording import is_missing, records
from playsite.terrain.pad_storm import CHILD_SAFE_M2_S, DRAINED_H, FREEBOARD_M, SWALE_MOST_M

if TYPE_CHECKING:
    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = ["WATER_CAUTION", "Storm", "storms", "water_sentences"]

WATER_CAUTION = (
    "Storm drains, kerbs and downspouts don't show in an elevation: an engineer checks drainage, "
    "and local codes govern."
)
_VERDICTS = {"passes": "passed", "fails": "not passed"}
_NO_RAIN = "No rain is given under [storm], so peaks aren't told."


@dataclass(frozen=True)
class Storm:
    """One storm at a pad: what arrives at its peak, whether the check is passed, and why."""

    name: str
    peak: str
    verdict: str
    reasons: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """All of the check in one sentence; empty where nothing was found to say of it."""
        if not self.reasons:
            return ""
        word = f"is {self.verdict}" if self.verdict in _VERDICTS.values() else "can't be settled"
        return f"The {self.name} check {word}: {'; '.join(self.reasons)}."


def water_sentences(result: Result, parcel_id: str, units: str) -> list[str]:
    """What two storms bring to a parcel's pad; empty where it was not worked out."""
    return [text for row in _rows(result, parcel_id) for text in _of_pad(row, units) if text]


def storms(result: Result, parcel_id: str, units: str) -> tuple[list[Storm], list[str]]:
    """Give the two storms for a table, and what is said beside it; empty where not worked out."""
    found: list[Storm] = []
    said: list[str] = []
    for row in _rows(result, parcel_id):
        found += _both(row, units)
        no_rain = [] if _has_rain(row) else _peaks(row, units)
        said += filter(None, [_arriving(row, units), *no_rain, str(row["underdrain"])])
    return found, said


def _rows(result: Result, parcel_id: str) -> list[Row]:
    table = result.water
    own = table[table["parcel_id"] == parcel_id].drop(columns="geometry", errors="ignore")
    return list(records(own))


def _both(row: Row, units: str) -> list[Storm]:
    told = (
        ("10-year", "peak_10_year_m3_s", "ten_year", _ten_year(row, units)),
        ("100-year", "peak_100_year_m3_s", "hundred_year", _hundred_year(row, units)),
    )
    return [
        Storm(
            name,
            flow_text(None if is_missing(row[peak]) else row[peak], units),
            _VERDICTS.get(str(row[verdict]), "not settled"),
            tuple(reasons),
        )
        for name, peak, verdict, reasons in told
    ]


def _of_pad(row: Row, units: str) -> list[str]:
    checks = [storm.sentence for storm in _both(row, units)]
    return [_arriving(row, units), *_peaks(row, units), *checks, str(row["underdrain"])]


def _has_rain(row: Row) -> bool:
    return not (is_missing(row["peak_10_year_m3_s"]) and is_missing(row["peak_100_year_m3_s"]))


def _arriving(row: Row, units: str) -> str:
    if is_missing(row["run_on_m2"]):
        return "How much land drains through the play area is not known."
    low, high = row["run_on_low_m2"], row["run_on_high_m2"]
    span = ""
    if not is_missing(low) and not is_missing(high):
        least = area_text(low, units)
        most = "or more" if math.isinf(high) else f"to {area_text(high, units)}"
        span = "" if most == f"to {least}" else f" ({least} {most})"
    hard = row["hard_share_pct"]
    share = "none" if hard < 0.05 else percent_text(hard)
    cover = "" if is_missing(hard) else f", {share} of it roofs or pavement"
    return f"About {area_text(row['run_on_m2'], units)} of land{span} drains through it{cover}."


def _peaks(row: Row, units: str) -> list[str]:
    ten, hundred = row["peak_10_year_m3_s"], row["peak_100_year_m3_s"]
    if not _has_rain(row):
        return [_NO_RAIN] if not is_missing(row["run_on_m2"]) else []
    texts = [
        f"{flow_text(peak, units)} in a {years}-year storm"
        for years, peak in ((10, ten), (100, hundred))
        if not is_missing(peak)
    ]
    said = [f"At the peak that is {' and '.join(texts)} (rational method)."]
    volume = row["runoff_10_year_m3"]
    if not is_missing(volume):
        number = f"{row['curve_number']:.0f}"
        said.append(
            f"A 10-year storm's day brings {volume_text(volume, units)} (curve number {number})."
        )
    return said


def _ten_year(row: Row, units: str) -> list[str]:
    reasons = []
    if not is_missing(row["swale_depth_m"]):
        deep = depth_text(row["swale_depth_m"], units)
        most = depth_text(SWALE_MOST_M, units)
        reasons.append(f"it runs {deep} deep in a grass swale, {most} at the most")
    outlet, soaked = row["outlet_m"], row["soaked_away_h"]
    if not is_missing(outlet) and math.isfinite(outlet):
        reasons.append("a pipe can drain the play area")
    elif not is_missing(soaked):
        taken = hours_text(soaked) if math.isinf(soaked) else f"in {hours_text(soaked)}"
        reasons.append(f"its own rain soaks away {taken}, {hours_text(DRAINED_H)} at the most")
    return reasons


def _hundred_year(row: Row, units: str) -> list[str]:
    reasons = []
    if not is_missing(row["edge_flow_m2_s"]):
        across = edge_flow_text(row["edge_flow_m2_s"], units)
        most = edge_flow_text(CHILD_SAFE_M2_S, units)
        reasons.append(
            f"depth times speed of the water at its edge is {across}, {most} at the most"
        )
    if not is_missing(row["freeboard_m"]):
        above = row["freeboard_m"]
        word = "above" if above >= 0 else "below"
        needed = depth_text(FREEBOARD_M, units)
        reasons.append(
            f"its finish lies {depth_text(abs(above), units)} {word} the place where water gets "
            f"away, {needed} at the least"
        )
    if row["leaves_to"] != "unknown":
        reasons.append(f"the water leaves to {row['leaves_to']}")
    return reasons
