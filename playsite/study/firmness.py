"""How firm the ranking of a run is, from what was measured at the best pads."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from playsite.ranking.firm import Firm, Scored, how_firm
from playsite.ranking.firmness import score_bounds, shared_errors

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from playsite.criteria._contract import Measured
    from playsite.criteria._registry import Chosen

__all__ = ["firm_of"]


def firm_of(
    measured: Mapping[str, Measured],
    scores: pd.DataFrame,
    pad_of: pd.Series[int],
    chosen: Sequence[Chosen],
    members: pd.DataFrame | None = None,
    visits: pd.DataFrame | None = None,
) -> Firm:
    """Work out how firm a ranking is.

    Parameters
    ----------
    measured, scores
        What each criterion gave on all pads, and the scores of that.
    pad_of
        Pad of each ranked site, by parcel, best first.
    members
        Members' own weights, a row a member, where there are any.
    visits
        ``parcel_id, criterion`` of values that visits gave: their errors are their own.
    """
    at = {name: _at(got, pad_of) for name, got in measured.items()}
    low, high = score_bounds(at, chosen)
    common = shared_errors(at, chosen).set_axis(pad_of.index)
    if visits is not None:
        for parcel, name in zip(visits["parcel_id"], visits["criterion"], strict=True):
            if parcel in common.index and name in common.columns:
                common.loc[parcel, name] = 0.0
    layers: dict[str, list[str]] = {}
    for each in chosen:
        for kind in each.criterion.needs:
            layers.setdefault(kind, []).append(each.name)
    reads = pd.DataFrame({name: got.reads for name, got in at.items()})
    return how_firm(
        Scored(
            scores=scores.loc[pad_of].set_axis(pad_of.index),
            low=low.set_axis(pad_of.index),
            high=high.set_axis(pad_of.index),
            reads=reads.set_axis(pad_of.index),
            common=common,
            map_alone=frozenset(
                each.name for each in chosen if each.curve.unit is not each.criterion.unit
            ),
        ),
        weights={each.name: each.weight for each in chosen},
        curves={each.name: each.curve for each in chosen},
        layers=layers,
        weight_sets=None if members is None or members.empty else members,
    )


def _at(got: Measured, pad_of: pd.Series[int]) -> Measured:
    """What a criterion gave on some pads, with nothing left open: the curve reads a series."""
    value = got.value.loc[pad_of]
    ends = [value if end is None else end.loc[pad_of] for end in (got.low, got.high)]
    reads = value if got.reads is None else got.reads.loc[pad_of]
    return replace(got, value=value, low=ends[0], high=ends[1], reads=reads)
