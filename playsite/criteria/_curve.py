"""Value curves: from a measured value to a score of 0 to 1, fixed before any candidate is seen."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from playsite.errors import ContractError

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from playsite.units import Unit

__all__ = ["Curve", "Knot"]


@dataclass(frozen=True)
class Knot:
    """One corner of a curve: its name, where it stands, the score it gives, who says so."""

    name: str
    at: float
    score: float
    source: str = "common practice, no source"


@dataclass(frozen=True)
class Curve:
    """Straight lines between knots, flat outside them; knots stand in order of value.

    Never scaled to the candidates: one candidate more or less swaps no two others.

    Parameters
    ----------
    knots
        In rising order of ``at``.
    unit
        Unit of ``at``, which is that of what the curve reads.
    reads
        In words, what the curve reads where that is not the measured value.
    form
        Text around a knot where it is no plain value: "{} the distance due".
    """

    knots: tuple[Knot, ...]
    unit: Unit
    reads: str = ""
    form: str = ""

    def __post_init__(self) -> None:
        """Hold the knots to their order and range."""
        at = [knot.at for knot in self.knots]
        if len(at) < 2 or any(a >= b for a, b in itertools.pairwise(at)):
            raise ContractError(f"the knots of a curve rise strictly; given {at}")
        if any(not 0 <= knot.score <= 1 for knot in self.knots):
            raise ContractError("a knot's score lies between 0 and 1")

    @classmethod
    def falling(
        cls,
        *,
        ideal: float,
        acceptable: float,
        poor: float,
        unit: Unit,
        source: str,
        reads: str = "",
        form: str = "",
    ) -> Curve:
        """Less is better: 1 at ``ideal`` and below, 0 at ``poor`` and above."""
        at = {"ideal": ideal, "acceptable": acceptable, "poor": poor}
        return cls._through(at, unit, source, reads, form)

    @classmethod
    def rising(
        cls,
        *,
        poor: float,
        acceptable: float,
        ideal: float,
        unit: Unit,
        source: str,
        reads: str = "",
        form: str = "",
    ) -> Curve:
        """More is better: 0 at ``poor`` and below, 1 at ``ideal`` and above."""
        at = {"poor": poor, "acceptable": acceptable, "ideal": ideal}
        return cls._through(at, unit, source, reads, form)

    @classmethod
    def _through(
        cls, at: Mapping[str, float], unit: Unit, source: str, reads: str, form: str
    ) -> Curve:
        scores = {"ideal": 1.0, "acceptable": 0.5, "poor": 0.0}
        knots = (Knot(name, place, scores[name], source) for name, place in at.items())
        return cls(tuple(knots), unit, reads, form)

    def score(self, values: npt.ArrayLike) -> npt.NDArray[np.float64]:
        """Score of each value, 0 to 1; a missing value stays missing (NaN).

        Examples
        --------
        >>> from playsite.units import Unit
        >>> at = {"ideal": 2, "acceptable": 4.5, "poor": 8}
        >>> curve = Curve.falling(**at, unit=Unit.PERCENT, source="")
        >>> [float(score) for score in curve.score([1, 4.5, 6.25, 20])]
        [1.0, 0.5, 0.25, 0.0]
        """
        read = np.asarray(values, dtype=float)
        at = [knot.at for knot in self.knots]
        scores = np.interp(read, at, [knot.score for knot in self.knots])
        return np.where(np.isnan(read), np.nan, scores)

    def with_knots(self, at: Mapping[str, float], *, source: str) -> Curve:
        """Move named knots, as a study may.

        Raises
        ------
        ContractError
            If a name is not a knot of this curve, or the moved knots no longer rise.
        """
        unknown = set(at) - {knot.name for knot in self.knots}
        if unknown:
            raise ContractError(f"this curve has no knot named {', '.join(sorted(unknown))}")
        moved = [
            replace(knot, at=at[knot.name], source=source) if knot.name in at else knot
            for knot in self.knots
        ]
        return replace(self, knots=tuple(moved))
