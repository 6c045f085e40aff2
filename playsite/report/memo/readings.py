"""What was measured, as the memo asks for it: by site and criterion, with its word and mark."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from playsite.report.firm_facts import FirmFacts
from playsite.report.people_units import interval_text, value_text
from playsite.report.plain_text import one_line
from playsite.report.wording import (
    in_readers_units,
    note_text,
    plain_cell,
    site_title,
    straight_text,
    visit_text,
    word_of,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from playsite.criteria._registry import Chosen
    from playsite.result import Result

    Row = Mapping[str, Any]

__all__ = [
    "MOST_SAID",
    "SHORT_LIST",
    "Readings",
    "plain_name",
    "rows_of",
    "score_range",
]

SHORT_LIST = 5
"""Most sites that get a sheet of their own."""

MOST_SAID = 3
"""Most names in one sentence or list of a sheet; the others are counted."""

_LONGEST_NAME = 120
_MARKS = {"strong": "●", "fair": "◐", "weak": "○", "unknown": "?"}


@dataclass(frozen=True)
class Readings:
    """Measurements of a result by parcel and criterion."""

    result: Result

    @cached_property
    def ranked(self) -> list[dict[str, Any]]:
        """Ranked sites: best first, or by number where no order is shown."""
        sites = self.result.ranked
        if not self.result.shows_order:
            sites = sites.sort_values("site_no")
        return rows_of(sites)

    @cached_property
    def firm(self) -> FirmFacts:
        """How firm the ranking is."""
        return FirmFacts(self.result)

    @staticmethod
    def title(site: Row) -> str:
        """Number and name, of a length that a table can hold."""
        return one_line(site_title(site), _LONGEST_NAME)

    @cached_property
    def weighed(self) -> list[Chosen]:
        """Criteria that count in the score; the others screen, set conditions or list."""
        return [chosen for chosen in self.result.criteria if chosen.weight > 0]

    @cached_property
    def short_list(self) -> list[dict[str, Any]]:
        """Sites that get a sheet of their own."""
        return self.ranked[:SHORT_LIST]

    @cached_property
    def _rows(self) -> dict[tuple[str, str], dict[str, Any]]:
        rows = rows_of(self.result.measurements)
        return {(str(row["parcel_id"]), str(row["criterion"])): row for row in rows}

    def row(self, site: Row, chosen: Chosen) -> Row | None:
        """Measurement of one criterion at one site; None where there is none."""
        return self._rows.get((str(site["parcel_id"]), chosen.name))

    def score(self, site: Row, chosen: Chosen) -> float:
        """Score of 0 to 1; NaN where it is not known."""
        row = self.row(site, chosen)
        return math.nan if row is None or row["score"] is None else float(row["score"])

    def reads(self, site: Row, chosen: Chosen) -> float:
        """What the curve reads at a site, in the curve's unit; NaN where it is not known."""
        reads, parcel = self.result.firm.reads, str(site["parcel_id"])
        if chosen.name in reads.columns and parcel in reads.index:
            return float(reads[chosen.name][parcel])
        row = self.row(site, chosen)
        if row is None or chosen.curve.reads or chosen.curve.unit != chosen.criterion.unit:
            return math.nan
        return float(row["value"])

    def word(self, site: Row, chosen: Chosen) -> str:
        """Word for the score, with what else it may be."""
        row = self.row(site, chosen)
        if row is None:
            return "unknown"
        return word_of(self.score(site, chosen), *(score_range(chosen, row) or ()))

    def marked_word(self, site: Row, chosen: Chosen) -> str:
        """Word with the mark that makes color needless."""
        word = self.word(site, chosen)
        return f"{_MARKS[word.split(',')[0]]} {word}"

    def value(self, site: Row, chosen: Chosen) -> str:
        """Measured value in the reader's units."""
        row = self.row(site, chosen)
        value = None if row is None or row["value"] is None else float(row["value"])
        criterion = chosen.criterion
        said = value_text(value, criterion.unit, self.result.study.units, criterion.spoken)
        is_known = value is not None and math.isfinite(value)
        return f"{said} {criterion.spoken.beside}".rstrip() if is_known else said

    def interval(self, site: Row, chosen: Chosen) -> str:
        """Likely range of the map's value; empty where there is none, or someone was there."""
        row = self.row(site, chosen)
        if row is None or plain_cell(row["origin"]) not in {"", "map"}:
            return ""
        unit, units = chosen.criterion.unit, self.result.study.units
        return interval_text(row["low"], row["high"], unit, units, chosen.criterion.spoken)

    def straight(self, site: Row, chosen: Chosen) -> str:
        """Straight distance beside a way or a walk; empty where there is none."""
        row = self.row(site, chosen)
        return "" if row is None else straight_text(row, self.result.study.units)

    def note(self, site: Row, chosen: Chosen) -> str:
        """Sentence that the criterion adds; empty where it adds none."""
        row = self.row(site, chosen)
        note = "" if row is None else note_text(row)
        return in_readers_units(note, self.result.study.units)

    def origin(self, site: Row, chosen: Chosen) -> str:
        """Where a value is from: layer and date; where someone was there, what the map said too."""
        row = self.row(site, chosen)
        if row is None:
            return "not measured"
        where = [plain_cell(row["layer"]).replace("_", " "), plain_cell(row["layer_date"])]
        mapped = " ".join(filter(None, where)) or "no layer"
        return visit_text(row, self.result.study.units, chosen.criterion.spoken) or mapped


def rows_of(table: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows of a table by name of column."""
    return [{str(key): value for key, value in row.items()} for row in table.to_dict("records")]


def score_range(chosen: Chosen, row: Row) -> tuple[float, float] | None:
    """Scores that the interval of a value reaches; None where it or the curve's reading is not known."""
    if chosen.curve.reads or chosen.curve.unit != chosen.criterion.unit:
        return None
    low, high = float(row["low"]), float(row["high"])
    if math.isnan(low) or math.isnan(high) or low == high:
        return None
    # a curve may rise and fall between the two ends, so its corners count too
    corners = [knot.at for knot in chosen.curve.knots if low < knot.at < high]
    scores = chosen.curve.score([low, *corners, high])
    return float(scores.min()), float(scores.max())


def plain_name(chosen: Chosen) -> str:
    """Name of a criterion as people write it."""
    return chosen.name.replace("_", " ")
