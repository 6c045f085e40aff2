"""Ballots that order the sites, counted in three ways that may disagree: all are told."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["first_choices", "pairwise_majority", "pairwise_winner", "positional_points"]


def positional_points(ballots: Sequence[Sequence[str]], votes: Sequence[float]) -> pd.Series[float]:
    """Points of each site: on each ballot, the number of sites that stand behind it.

    Parameters
    ----------
    ballots
        Sites in order, the best first; every ballot orders all of them.
    votes
        How many people gave each ballot.

    Examples
    --------
    >>> positional_points([["A", "B"], ["B", "A"]], [3, 1]).to_dict()
    {'A': 3.0, 'B': 1.0}
    """
    points = dict.fromkeys(sorted(ballots[0]), 0.0)
    for ballot, count in zip(ballots, votes, strict=True):
        for behind, site in enumerate(reversed(ballot)):
            points[site] += count * behind
    return pd.Series(points)


def first_choices(ballots: Sequence[Sequence[str]], votes: Sequence[float]) -> pd.Series[float]:
    """How many people put each site first."""
    first = dict.fromkeys(sorted(ballots[0]), 0.0)
    for ballot, count in zip(ballots, votes, strict=True):
        first[ballot[0]] += count
    return pd.Series(first)


def pairwise_majority(ballots: Sequence[Sequence[str]], votes: Sequence[float]) -> pd.DataFrame:
    """How many people put the site of the row before the site of the column."""
    sites = sorted(ballots[0])
    at = {site: place for place, site in enumerate(sites)}
    before = np.zeros((len(sites), len(sites)))
    for ballot, count in zip(ballots, votes, strict=True):
        for one, other in itertools.combinations(ballot, 2):
            before[at[one], at[other]] += count
    return pd.DataFrame(before, index=sites, columns=sites)


def pairwise_winner(before: pd.DataFrame) -> str | None:
    """Site that beats every other one by a majority; None where there is none, as in a cycle."""
    wins = before.to_numpy() > before.to_numpy().T
    beats_all = wins.sum(axis=1) == len(before) - 1
    return str(before.index[int(np.argmax(beats_all))]) if beats_all.any() else None
