"""Scores of real and chance places side by side, as a table in Markdown."""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import pandas as pd

from playsite.criteria._contract import Screen
from playsite.criteria._registry import Chosen


def higher(real: np.ndarray, chance: np.ndarray, rng: np.random.Generator) -> str:
    """Share of pairs in which the real one scores higher, and its 95 % interval."""

    def share(one: np.ndarray, other: np.ndarray) -> float:
        gap = one[:, None] - other[None, :]
        return float((gap > 1e-9).mean() + (np.abs(gap) <= 1e-9).mean() / 2)

    again = [
        share(rng.choice(real, len(real)), rng.choice(chance, len(chance))) for _ in range(500)
    ]
    low, high = np.quantile(again, [0.025, 0.975])
    return f"{share(real, chance):.2f} ({low:.2f} to {high:.2f})"


def rows(scores: dict[str, pd.DataFrame], rng: np.random.Generator) -> list[str]:
    """One row a criterion: share known, medians, real ones at 0, how often a real one is higher."""
    real, *chance = scores
    head = ["of 100", "known", *scores, f"{real} at 0", *(f"higher than {g}" for g in chance)]
    told = [f"| {' | '.join(head)} |", "|---" * len(head) + "|"]
    for name in scores[real]:
        known = {group: table[name].dropna().to_numpy(float) for group, table in scores.items()}
        middle = [f"{100 * np.median(own):.0f}" if len(own) else "" for own in known.values()]
        both = [len(known[real]) and len(known[group]) for group in chance]
        beat = [
            higher(known[real], known[group], rng) if there else ""
            for group, there in zip(chance, both, strict=True)
        ]
        share = f"{100 * len(known[real]) / len(scores[real]):.0f} %"
        at_0 = f"{100 * np.mean(known[real] == 0):.0f} %" if len(known[real]) else ""
        told.append(f"| {' | '.join([name.replace('_', ' '), share, *middle, at_0, *beat])} |")
    return told


def held_up(group: str, found: dict[str, Any], chosen: Sequence[Chosen]) -> Iterator[str]:
    """How many places of a group each rule puts out, or lets in only with a remedy."""
    for each in chosen:
        for rule in (*each.screens, *each.criterion.conditions):
            values = found[each.name].named(rule.reads)
            is_screen = isinstance(rule, Screen)
            held = rule.is_out(values) if is_screen else rule.applies(values)
            if held.any():
                word = "out" if is_screen else "only with a remedy"
                yield f"{group}: {100 * held.mean():.0f} % {word}: {each.name}, {rule.rule}"
