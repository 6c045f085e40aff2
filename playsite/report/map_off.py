"""Where visits differ from the map in one direction: the map may be off at the other sites too."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from playsite.report.firm_facts import criterion_name
from playsite.report.people_units import margin_text
from playsite.report.reasons import number
from playsite.report.wording import records

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.result import Result

__all__ = ["map_off_sentences"]

_LEAST_VISITS = 3
"""By chance three visits differ to one side in one of four cases (common practice, no source)."""


def map_off_sentences(result: Result) -> Iterator[str]:
    """Say of each criterion by how much three visits or more all lie above or below the map.

    Nothing is corrected by it: that is for people to decide.
    """
    rows = records(result.visits[result.visits["standing"] == "counts"])
    apart: dict[str, list[float]] = {}
    unit_of: dict[str, str] = {}
    for row in rows:
        off = number(row["value"]) - number(row["map_value"])
        if math.isfinite(off):
            apart.setdefault(str(row["criterion"]), []).append(off)
            unit_of[str(row["criterion"])] = str(row["unit"])
    for name, offs in apart.items():
        signs = {np.sign(off) for off in offs}
        if len(offs) >= _LEAST_VISITS and len(signs) == 1 and 0 not in signs:
            middle = margin_text(float(np.median(offs)), unit_of[name], result.study.units)
            word = "more" if offs[0] > 0 else "less"
            yield (
                f"At all {len(offs)} sites where it was measured, {criterion_name(name)} is {word} "
                f"than the map has it, by {middle} in the middle: the map may be off at the other "
                f"sites too. Their values are left as they are."
            )
