"""Need in words: who would gain at a site, and of what the children there live in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.wording import is_missing, records

if TYPE_CHECKING:
    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = ["FAIRNESS", "count_text", "need_sentences", "other_options", "plus_minus_text"]

FAIRNESS = (
    "These shares stand beside the score, never in it: what they count is for the council to say."
)
_SHARES = {
    "low_income_pct": "of people have a low income",
    "disability_pct": "have a disability",
    "no_yard_pct": "of homes have no yard",
}


def count_text(children: float) -> str:
    """Children as people read them: whole."""
    return "not known" if is_missing(children) else f"{children:,.0f}"


def plus_minus_text(margin: float) -> str:
    """Margin behind a count; empty where it is not known."""
    return "" if is_missing(margin) else f" ± {margin:,.0f}"


def need_sentences(result: Result, parcel_id: str) -> list[str]:
    """Who would gain at a parcel's pad; empty where it was not worked out."""
    table = result.need
    own = records(table[(table["parcel_id"] == parcel_id) & (table["district"] == "")])
    return [_gain(row, _by_district(result, parcel_id)) for row in own]


def other_options(result: Result) -> list[str]:
    """What a better playground where one is, and doing nothing, would mean."""
    whole = records(result.need[result.need["district"] == ""])
    better = [
        f"A better {row['name']} would serve the {row['children']:.0f} children within its walk, "
        "and no child newly."
        for row in whole
        if row["option"].startswith("improve")
    ]
    nothing = [
        f"Doing nothing leaves {row['still_without']:.0f} children without a playground within "
        f"their walk{_shares(row, 'where they live')}."
        for row in whole
        if row["option"] == "do nothing"
    ]
    return better + nothing


def _gain(row: Row, by_district: str) -> str:
    off = "" if is_missing(row["plus_minus"]) else f", plus or minus {row['plus_minus']:.0f}"
    return (
        f"{row['newly_served']:.0f} children gain a playground within their walk{off}"
        f"{by_district}; {row['still_without']:.0f} stay without"
        f"{_shares(row, 'where those live who gain')}."
    )


def _by_district(result: Result, parcel_id: str) -> str:
    table = result.need
    own = records(table[(table["parcel_id"] == parcel_id) & (table["district"] != "")])
    gains = [
        f"{row['district']} {row['newly_served']:.0f}" for row in own if row["newly_served"] > 0.5
    ]
    return f" (by district: {', '.join(gains)})" if gains else ""


def _shares(row: Row, where: str) -> str:
    said = [
        f"{row[name]:.0f} percent {words}"
        for name, words in _SHARES.items()
        if not is_missing(row[name])
    ]
    return f"; {where}, {', '.join(said)}" if said else ""
