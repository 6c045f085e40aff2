"""What a criterion is, what it gives back, and the host that holds it to that."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import pandas as pd

from playsite.criteria._spoken import Spoken
from playsite.errors import ContractError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    import geopandas as gpd

    from playsite.criteria._curve import Curve
    from playsite.site import Site
    from playsite.units import Unit

__all__ = ["Condition", "Criterion", "Measured", "Screen", "Source", "measured"]

Side = Literal["above", "below", "at or below"]


@dataclass(frozen=True)
class Source:
    """Who says so: a citation, and how far it was seen (``read``, ``from memory``, ``common practice``)."""

    text: str
    seen: str = "read"

    def __str__(self) -> str:
        """Give the citation with its mark where it was not read and doesn't say so itself."""
        is_said = self.seen == "read" or self.seen in self.text
        return self.text if is_said else f"{self.text} ({self.seen})"


@dataclass(frozen=True)
class Screen:
    """A rule that puts a pad out, never bought back by a score.

    Parameters
    ----------
    rule
        The rule in words: "steeper than 15 %".
    limit
        Value at the limit, in ``unit``.
    out_when
        On which side of the limit a pad is out.
    source
        Who says so.
    reads
        Name in ``Measured.also`` of what the rule reads; empty: the measured value.
    short
        Two words for the map.
    takes_worse
        Where it reads something else than the value: a value from a visit that is worse than that
        counts for it too. A child that can run 4 m to water is no more than 4 m from it.
    """

    rule: str
    limit: float
    unit: Unit
    out_when: Side
    source: Source
    reads: str = ""
    short: str = ""
    takes_worse: bool = False

    def moved(self, limit: float) -> Screen:
        """Give the same rule with the study's own limit, said in its words and its source."""
        number = f"{self.limit:g}"
        rule = self.rule.replace(number, f"{limit:.4g}", 1) if number in self.rule else self.rule
        return replace(self, limit=limit, rule=rule, source=Source("set by this study"))

    def margin(self, values: pd.Series[float]) -> pd.Series[float]:
        """How far each value is on the right side of the limit; negative is out; NaN unknown."""
        return values - self.limit if self.out_when != "above" else self.limit - values

    def is_out(self, values: pd.Series[float]) -> pd.Series[bool]:
        """Which pads are out; an unknown one is not: it is a field task instead."""
        margin = self.margin(values)
        return (margin <= 0) if self.out_when == "at or below" else (margin < 0)


@dataclass(frozen=True)
class Condition:
    """A pad that is ranked only with a remedy: printed beside the rank, never bought back.

    Met where what it reads is below ``limit``. ``needs`` says the remedy in words;
    ``takes_worse`` as for a `Screen`.
    """

    rule: str
    limit: float
    unit: Unit
    needs: str
    source: Source
    reads: str = ""
    takes_worse: bool = False

    def applies(self, values: pd.Series[float]) -> pd.Series[bool]:
        """Which pads need the remedy."""
        return values < self.limit


@dataclass(frozen=True)
class Measured:
    """What a criterion gives back, all with the pads' own index.

    Parameters
    ----------
    value
        In the criterion's unit; NaN where it is not known; ``inf`` where it can't be reached.
    low, high
        Interval of the value; absent: no interval is known.
    reads
        What the curve reads where that is not the value.
    note
        A sentence a pad, or empty.
    evidence
        Shapes to draw: columns ``pad_id``, ``label``, ``geometry``.
    also
        Other series that screens and conditions read, by name.
    """

    value: pd.Series[float]
    low: pd.Series[float] | None = None
    high: pd.Series[float] | None = None
    reads: pd.Series[float] | None = None
    note: pd.Series[str] | None = None
    evidence: gpd.GeoDataFrame | None = None
    also: Mapping[str, pd.Series[float]] = field(default_factory=dict)

    def named(self, name: str) -> pd.Series[float]:
        """Series that a screen or a condition reads: the value, or one of ``also``."""
        return self.also.get(name, self.value * np.nan) if name else self.value


@dataclass(frozen=True)
class Criterion:
    """One question that is measured at the pad.

    Parameters
    ----------
    name
        One word of the trade, lower case with underscores.
    question
        What a council member would ask.
    plain
        The measured thing in words, without its unit.
    unit
        Unit of the value; ``measure``'s name ends in its suffix.
    needs
        Kinds of layers without which the value is unknown.
    instead
        Another kind that may stand for one of these.
    measure
        ``measure(pads, site)``: pads is a GeoDataFrame with index ``pad_id`` and columns
        ``parcel_id``, ``easting``, ``northing``, ``rotation_deg``, ``length_m``, ``width_m``,
        ``largest_scale``, ``shape``, ``geometry``. ``shape`` is empty for the one looked for
        first. Of a pad in several parts the sides are those of the box round it, and
        `playsite.pads.pad_rectangles.rectangles_of_pads` gives the parts.
    curve
        From what is read to a score.
    weight
        Swing weight in the public profile.
    plausible
        Least and greatest value that can be right; beyond them the value is refused.
    group
        Name of the group that the criterion is shown in.
    cost
        ``"quick"``: also used to choose the pad on its parcel; screens need this. ``"full"``: on the
        few places that remain. ``"best"``: slow, on each parcel's best place alone; moves no pad.
    shared_error
        Share of the variance of the interval's error that all sites of a study have in common,
        0 to 1, since one rule or one habit of the map made it; each site's own is the rest.
    spoken
        How people say a value that its unit alone would leave bare: "3 trees", "weak evidence".
    refine
        A quick criterion's slower, surer measure, for each parcel's best place alone. It moves no
        pad, and what it gives counts in place of the quick one.
    """

    name: str
    question: str
    plain: str
    unit: Unit
    needs: tuple[str, ...]
    measure: Callable[[gpd.GeoDataFrame, Site], Measured | pd.Series[Any]]
    curve: Curve
    weight: float
    plausible: tuple[float, float]
    group: str
    cost: Literal["quick", "full", "best"] = "full"
    refine: Callable[[gpd.GeoDataFrame, Site], Measured | pd.Series[Any]] | None = None
    shared_error: float = 0.0
    instead: Mapping[str, str] = field(default_factory=dict)
    screens: tuple[Screen, ...] = ()
    conditions: tuple[Condition, ...] = ()
    sources: tuple[Source, ...] = ()
    field_task: str = ""
    spoken: Spoken = field(default_factory=Spoken)

    def __post_init__(self) -> None:
        """Hold the record itself to the contract, before anything is measured."""
        ending = getattr(self.measure, "__name__", "")
        if not ending.endswith(f"_{self.unit.value}"):
            raise ContractError(
                f'criterion "{self.name}": the function {ending} must end in _{self.unit.value}, '
                f"the unit that is declared"
            )
        if self.screens and self.cost != "quick":
            raise ContractError(
                f'criterion "{self.name}" has screens, so its cost must be "quick": '
                f"a place is only chosen once it is known to pass"
            )
        if not (np.isfinite(self.weight) and self.weight >= 0):
            raise ContractError(f'criterion "{self.name}": weight {self.weight} is not 0 or more')
        if not 0 <= self.shared_error <= 1:
            raise ContractError(
                f'criterion "{self.name}": shared_error {self.shared_error} is not 0 to 1'
            )

    @property
    def method(self) -> str:
        """First line of the measuring function's docstring."""
        lines = (self.measure.__doc__ or "").strip().splitlines()
        return lines[0].strip() if lines else ""


def measured(criterion: Criterion, pads: gpd.GeoDataFrame, site: Site) -> Measured:
    """Measure one criterion and hold what comes back to the contract.

    Raises
    ------
    ContractError
        If the index is not the pads' own, an interval does not hold its value, or a value is
        beyond what is plausible; the sentence names the layer to look at.
    """
    other = criterion.instead
    missing = [
        kind
        for kind in criterion.needs
        if not site.has(kind) and not (kind in other and site.has(other[kind]))
    ]
    if missing:
        return _unknown(pads, f"unknown: the study has no layer of {' and '.join(missing)}")
    try:
        given = criterion.measure(pads, site)
    except ContractError:
        raise
    except Exception as error:
        raise ContractError(
            f'criterion "{criterion.name}" failed while measuring: '
            f"{type(error).__name__}: {error}. Leave it out under [study] criteria, or tell its maker."
        ) from error
    if not isinstance(given, (Measured, pd.Series)):
        raise ContractError(
            f'criterion "{criterion.name}" gave back {type(given).__name__}; Measured or a Series is due'
        )
    whole = given if isinstance(given, Measured) else Measured(given)
    _check_index(criterion, whole, pads)
    value = whole.value.astype(float)
    _check_plausible(criterion, value)
    low = value if whole.low is None else whole.low.astype(float)
    high = value if whole.high is None else whole.high.astype(float)
    if bool(((low > value + 1e-9) | (high < value - 1e-9)).any()):
        raise ContractError(
            f'criterion "{criterion.name}": an interval does not hold its own value'
        )
    reads = value if whole.reads is None else whole.reads.astype(float)
    note = pd.Series("", index=pads.index) if whole.note is None else whole.note.fillna("")
    return replace(whole, value=value, low=low, high=high, reads=reads, note=note)


def _unknown(pads: gpd.GeoDataFrame, note: str) -> Measured:
    """Give a value that nobody knows: missing is never zero."""
    nothing = pd.Series(np.nan, index=pads.index)
    return Measured(nothing, nothing, nothing, nothing, pd.Series(note, index=pads.index))


def _check_index(criterion: Criterion, whole: Measured, pads: gpd.GeoDataFrame) -> None:
    parts = {"value": whole.value, "low": whole.low, "high": whole.high, "reads": whole.reads}
    for name, series in {**parts, "note": whole.note, **whole.also}.items():
        if series is not None and not series.index.equals(pads.index):
            raise ContractError(
                f'criterion "{criterion.name}": {name} came back with another index than the pads'
            )


def _check_plausible(criterion: Criterion, value: pd.Series[float]) -> None:
    least, most = criterion.plausible
    wrong = value[np.isfinite(value) & ((value < least) | (value > most))]
    if len(wrong):
        layers = ", ".join(criterion.needs) or "parcels"
        raise ContractError(
            f'criterion "{criterion.name}": {float(wrong.iloc[0]):g} {criterion.unit.value} at pad '
            f"{wrong.index[0]} is not plausible ({least:g} to {most:g}). "
            f"Look at the units and the coordinate system of: {layers}."
        )
