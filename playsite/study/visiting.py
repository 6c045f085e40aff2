"""What visits found, put in the place of what the map says: after measuring, so nothing is measured again."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import pandas as pd

from playsite.problems import Finding
from playsite.result import VISIT_COLUMNS
from playsite.study.overriding import reads_of, rules_of, with_visit
from playsite.units import Unit
from playsite.visits import (
    LOG_FILE,
    Asked,
    Known,
    check_rows,
    quantity,
    read_log,
    standing_of,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from playsite.criteria._contract import Criterion
    from playsite.criteria._registry import Chosen
    from playsite.problems import Problems
    from playsite.settings import Settings
    from playsite.study.found import Found
    from playsite.visits import Visit

__all__ = ["SAME_PLACE_M", "Visited", "asked_of", "checked_log", "marked", "visited"]

SAME_PLACE_M, SAME_TURN_DEG = 0.5, 1.0
"""How far a pad may lie from where it was visited and still be that pad (common practice, no
source): less than what a hand-held receiver knows."""

_SAME_THING = 0.1  # evidence is drawn on where the visit agrees with the map to a tenth
_COUNTS = "counts"


@dataclass(frozen=True)
class Visited:
    """What a run knows after visits.

    Parameters
    ----------
    found
        With the visits' values in the place of the map's, at the pads that were visited.
    rows
        Every row of the log, columns ``VISIT_COLUMNS``.
    findings
        Visits that no longer apply, and what can't be scored.
    """

    found: Found
    rows: pd.DataFrame
    findings: tuple[Finding, ...]

    @property
    def counting(self) -> pd.DataFrame:
        """Rows that count: none of them where nothing was found in the field."""
        return self.rows[self.rows["standing"] == _COUNTS]


def asked_of(chosen: Sequence[Chosen]) -> dict[str, Asked]:
    """What a visit may measure: each criterion, and what its rules read beside it.

    The latter is named after a point: ``traffic.open_arterial_m``.
    """
    asked: dict[str, Asked] = {}
    for each in chosen:
        own = each.criterion
        asked[each.name] = Asked(own.unit, own.plausible)
        for rule in rules_of(each):
            if rule.reads:
                same = rule.unit is own.unit
                asked[f"{each.name}.{rule.reads}"] = Asked(
                    rule.unit, own.plausible if same else (0.0, math.inf)
                )
    return asked


def checked_log(
    settings: Settings, chosen: Sequence[Chosen], problems: Problems
) -> tuple[Visit, ...]:
    """Read the log beside a study and hold it to what a sheet must be: people may have edited it.

    Parcels and criteria that are no longer in use are no fault: those rows don't count.
    """
    log = read_log(settings.folder, problems)
    file = str(settings.folder / LOG_FILE)
    asked = asked_of(chosen)
    known = Known(asked, {visit.parcel_id: True for visit in log}, dt.date.max)
    own = [visit for visit in log if visit.criterion in asked or visit.is_obstacle]
    check_rows(own, known, file, problems)
    for visit in own:
        if not (visit.is_obstacle or visit.is_withdrawal or visit.pad_easting):
            remedy = "Let `playsite field STUDY read FILE` read it: that pins it to its pad."
            problems.add("the row says no pad.", remedy, file=file, line=visit.line)
    return log


def visited(found: Found, log: Sequence[Visit], chosen: Sequence[Chosen]) -> Visited:
    """Put what visits found in the place of what the map says.

    Parameters
    ----------
    found
        Measured from the map alone, with pads that keep clear of the obstacles that were found.
    log
        All visits, oldest first, held to `playsite.visits.check_rows` before.
    """
    pads = found.pads[found.pads["role"] == "best"]
    best = pads.assign(pad_id=pads.index).set_index("parcel_id")
    by_name = {each.name: each for each in chosen}
    asked = asked_of(chosen)
    measured = dict(found.measured)
    rows, findings = [], []
    stale: dict[tuple[str, str], list[Visit]] = {}
    for each in standing_of(log):
        visit, why_not = each.visit, each.why_not
        if not why_not and not visit.is_obstacle:
            why_not = _no_longer(visit, best, asked)
            if why_not:
                stale.setdefault((visit.parcel_id, why_not), []).append(visit)
        value = map_value = math.nan
        unit = Unit.METRE
        if visit.criterion in asked and not visit.is_withdrawal:
            unit = asked[visit.criterion].unit
            value = quantity(visit.value, visit.unit, unit)
        elif visit.is_obstacle and not visit.is_withdrawal:
            value = quantity(visit.value, visit.unit, unit)
        if not why_not and not visit.is_obstacle:
            name, _, also = visit.criterion.partition(".")
            pad = best["pad_id"].loc[visit.parcel_id]
            map_value = float(found.measured[name].named(also).loc[pad])
            measured[name] = with_visit(measured[name], pad, visit, by_name[name], value)
            if not also and math.isnan(float(reads_of(measured[name]).loc[pad])):
                findings.append(_unscored(visit, by_name[name].criterion))
        rows.append(
            (*visit.said[:2], value, unit.value, map_value, *_words(visit), why_not or _COUNTS)
        )
    table = pd.DataFrame(rows, columns=list(VISIT_COLUMNS))
    gone = [_stale(*key, visits) for key, visits in stale.items()]
    return Visited(replace(found, measured=measured), table, (*gone, *findings))


def _words(visit: Visit) -> tuple[str, ...]:
    return (
        visit.accuracy and f"{visit.accuracy} {visit.unit}",
        visit.method,
        visit.role,
        visit.date,
        visit.photo,
        visit.note,
        visit.was,
        visit.now,
        visit.read_on,
    )


def _no_longer(visit: Visit, best: pd.DataFrame, asked: Mapping[str, Asked]) -> str:
    """Why a visit doesn't apply any more; empty where it does."""
    if visit.criterion not in asked:
        return "the criterion is not in use"
    if visit.parcel_id not in best.index:
        return "the parcel has no pad"
    pad: Any = best.loc[visit.parcel_id]
    east, north = float(visit.pad_easting), float(visit.pad_northing)
    away_m = math.hypot(float(pad["easting"]) - east, float(pad["northing"]) - north)
    turn = abs(float(pad["rotation_deg"]) - float(visit.pad_rotation_deg)) % 180.0
    if away_m > SAME_PLACE_M:
        return f"the pad has moved by {away_m:.1f} m"
    if min(turn, 180.0 - turn) > SAME_TURN_DEG:
        return f"the pad has turned by {min(turn, 180.0 - turn):.0f} degrees"
    return ""


def _stale(parcel_id: str, why: str, visits: Sequence[Visit]) -> Finding:
    """Visits of one parcel that no longer apply: loud, since the map's value comes back."""
    told = ", ".join(f"{visit.criterion} of {visit.date}" for visit in visits)
    return Finding(
        f"What was found at parcel {parcel_id} no longer applies: {why} ({told}).",
        "The map's values count there.",
        "Visit the pad where it lies now.",
        layer="visits",
        where=parcel_id,
        count=len(visits),
        weight="loud",
    )


def _unscored(visit: Visit, criterion: Criterion) -> Finding:
    return Finding(
        f"The visit of {visit.date} to parcel {visit.parcel_id} gives {criterion.name}, but the "
        f"score needs what the map doesn't know there: {criterion.curve.reads}.",
        "The value is told, its score stays unknown.",
        f"Complete the layer: {', '.join(criterion.needs)}.",
        layer="visits",
        where=visit.parcel_id,
        count=1,
        weight="caution",
    )


def marked(
    measurements: pd.DataFrame, evidence: Any, counting: pd.DataFrame
) -> tuple[pd.DataFrame, Any]:
    """Say of each value whether a visit gave it, by whom, when and how, with the map's beside it.

    Evidence from the map is drawn on only where the visit agrees with it.
    """
    table = measurements.set_index(["parcel_id", "criterion"])
    gone = set()
    for row in counting.to_dict("records"):
        name, _, also = row["criterion"].partition(".")
        at = (row["parcel_id"], name)
        if at not in table.index:
            continue
        if also:
            read = f"{also} {row['value']:.4g} {row['unit']} on a site visit of {row['date']}"
            table.loc[at, "note"] = "; ".join(filter(None, [table.loc[at, "note"], read]))
            continue
        said = [row["note"], f"photo {row['photo']}" if row["photo"] else ""]
        table.loc[at, "map_value"] = row["map_value"]
        cells = {"origin": "field", "layer": row["role"], "layer_date": row["date"]}
        for name, cell in (
            cells | {"method": row["method"], "note": "; ".join(filter(None, said))}
        ).items():
            table.loc[at, name] = cell
        value, stood = row["value"], row["map_value"]
        if not (value == stood or abs(value - stood) <= _SAME_THING * abs(stood)):
            gone.add(at)
    whole = table.reset_index()[list(measurements.columns)]
    if not gone:
        return whole, evidence
    drawn = [
        at not in gone for at in zip(evidence["parcel_id"], evidence["criterion"], strict=True)
    ]
    return whole, evidence[drawn].reset_index(drop=True)
