"""A candidate that nobody wants must not swap two others, as rescaling to the candidates does."""

import numpy as np

from playsite.criteria._curve import Curve
from playsite.units import Unit

SITES = {"A": (60, 20), "B": (100, 40), "C": (400, 40), "E": (100, 95)}


def _order_of_a_and_b(names):
    restroom = Curve.falling(ideal=60, acceptable=120, poor=200, unit=Unit.METRE, source="")
    shade = Curve.rising(poor=5, acceptable=15, ideal=30, unit=Unit.PERCENT, source="")
    value = {n: restroom.score(SITES[n][0]) + shade.score(SITES[n][1]) for n in names}
    return value["A"] > value["B"]


def _rescaled(names):
    table = np.array([SITES[name] for name in names], dtype=float)
    spread = (table - table.min(0)) / np.ptp(table, axis=0)
    score = dict(zip(names, (1 - spread[:, 0]) + spread[:, 1], strict=True))
    return score["A"] > score["B"]


def test_deleting_the_hopeless_site_keeps_the_order_that_rescaling_flips():
    # Worked example of the trade (common practice, no source): min-max scaling flips A and B.
    assert _rescaled("ABCE") != _rescaled("ABE")
    assert _order_of_a_and_b("ABCE") == _order_of_a_and_b("ABE")
