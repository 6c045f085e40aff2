"""Ballots that order the sites, counted in three ways that may disagree: all are told.

A ballot may order only some of the sites: those it leaves out stand level behind the others.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.sparse.csgraph import connected_components

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "first_choices",
    "majority_cycles",
    "pairwise_majority",
    "pairwise_winner",
    "positional_points",
]


def positional_points(
    ballots: Sequence[Sequence[str]], votes: Sequence[float], sites: Sequence[str] = ()
) -> pd.Series[float]:
    """Points of each site: on each ballot, the number of sites that stand behind it.

    Sites that a ballot leaves out share the points that are left, so that all ballots hand out
    the same.

    Parameters
    ----------
    ballots
        Sites in order, the best first.
    votes
        How many people gave each ballot.
    sites
        All sites that could be ordered; absent: those of the first ballot.

    Examples
    --------
    >>> positional_points([["A", "B"], ["B", "A"]], [3, 1]).to_dict()
    {'A': 3.0, 'B': 1.0}
    >>> positional_points([["A"]], [1], ["A", "B", "C"]).to_dict()
    {'A': 2.0, 'B': 0.5, 'C': 0.5}
    """
    points = dict.fromkeys(sorted(sites or ballots[0]), 0.0)
    for ballot, count in zip(ballots, votes, strict=True):
        left_out = len(points) - len(ballot)
        for site in points:
            behind = len(points) - 1 - ballot.index(site) if site in ballot else (left_out - 1) / 2
            points[site] += count * behind
    return pd.Series(points)


def first_choices(
    ballots: Sequence[Sequence[str]], votes: Sequence[float], sites: Sequence[str] = ()
) -> pd.Series[float]:
    """How many people put each site first."""
    first = dict.fromkeys(sorted(sites or ballots[0]), 0.0)
    for ballot, count in zip(ballots, votes, strict=True):
        first[ballot[0]] += count
    return pd.Series(first)


def pairwise_majority(
    ballots: Sequence[Sequence[str]], votes: Sequence[float], sites: Sequence[str] = ()
) -> pd.DataFrame:
    """How many people put the site of the row before the site of the column."""
    names = sorted(sites or ballots[0])
    at = {site: place for place, site in enumerate(names)}
    before = np.zeros((len(names), len(names)))
    for ballot, count in zip(ballots, votes, strict=True):
        left_out = [site for site in names if site not in ballot]
        for one, other in (
            *itertools.combinations(ballot, 2),
            *itertools.product(ballot, left_out),
        ):
            before[at[one], at[other]] += count
    return pd.DataFrame(before, index=names, columns=names)


def pairwise_winner(before: pd.DataFrame) -> str | None:
    """Site that beats every other one by a majority; None where there is none, as in a cycle."""
    wins = before.to_numpy() > before.to_numpy().T
    beats_all = wins.sum(axis=1) == len(before) - 1
    return str(before.index[int(np.argmax(beats_all))]) if beats_all.any() else None


def majority_cycles(before: pd.DataFrame) -> list[list[str]]:
    """Groups of sites that beat one another in a ring: no order of them suits a majority.

    Examples
    --------
    >>> turn = [["A", "B", "C"], ["B", "C", "A"], ["C", "A", "B"]]
    >>> majority_cycles(pairwise_majority(turn, [1, 1, 1]))
    [['A', 'B', 'C']]
    """
    wins = before.to_numpy() > before.to_numpy().T
    count, group = connected_components(wins, directed=True, connection="strong")
    rings = [[str(site) for site in before.index[group == ring]] for ring in range(count)]
    return [ring for ring in rings if len(ring) > 1]
