"""A made-up result whose scores are set by hand, so that what is firm and what is not is known."""

from dataclasses import replace

import pandas as pd
from report.made_up_result import made_up_result

from playsite.ranking.firm import Scored, how_firm
from playsite.ranking.scores import ranks, totals

NAMES = ["fit", "grade", "traffic", "open_water", "shade", "restroom"]
WEIGHTS = dict(zip(NAMES, (0.5, 0.2, 0.3, 0.0, 0.0, 0.0), strict=True))
CLEAR = [(0.9, 0.4, 0.6), (0.5, 0.8, 0.6), (0.45, 0.7, 0.5), (0.2, 0.3, 0.1)]
"""The second draws level with the first when grade counts 2.5 times as much (worked by hand: the
first leads by 0.20 - 0.08, and 2.5 x 0.2 x 0.4 = 0.20); the third has less than the second of
everything, and so has the fourth."""


def firm_result(rows=CLEAR, *, error=0.01, members=None):
    """Give a result of so many ranked sites, each with fit, grade and traffic as given."""
    result = made_up_result(len(rows), statuses=("ranked",))
    chosen = [replace(each, weight=WEIGHTS[each.name]) for each in result.criteria]
    ids = sorted(result.sites["parcel_id"])
    scores = pd.DataFrame([(*row, 0.5, 0.5, 0.5) for row in rows], columns=NAMES, index=ids)
    total = totals(scores, WEIGHTS)
    sites = result.sites.sort_values("parcel_id").assign(
        score=total["score"].to_numpy(),
        score_low=total["score_low"].to_numpy(),
        score_high=total["score_high"].to_numpy(),
        rank=ranks(total["score"]).to_numpy(),
    )
    sites = sites.sort_values("rank", kind="stable").reset_index(drop=True)
    scores = scores.loc[sites["parcel_id"]]
    spread = (
        scores.where(scores.columns.to_series() == "open_water", scores - error).clip(0, 1),
        (scores + error).clip(0, 1),
    )
    curves = {each.name: each.curve for each in chosen}
    reads = pd.DataFrame(
        {
            name: curve.knots[0].at + scores[name] * (curve.knots[-1].at - curve.knots[0].at)
            for name, curve in curves.items()
        }
    )
    firm = how_firm(
        Scored(scores, *spread, reads),
        weights=WEIGHTS,
        curves=curves,
        layers={each.criterion.needs[0]: [each.name] for each in chosen},
        weight_sets=members,
    )
    members = pd.DataFrame() if members is None else members
    told = result.measurements
    told = told.assign(
        score=[scores.loc[site, name] for site, name in told[["parcel_id", "criterion"]].to_numpy()]
    )
    return replace(
        result,
        criteria=tuple(chosen),
        sites=sites,
        measurements=told,
        firm=firm,
        members=members,
    )
