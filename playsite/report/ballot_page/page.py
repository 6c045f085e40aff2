"""The ballot as one HTML file that asks nobody for anything and sends nothing."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from jinja2 import Environment

from playsite.report import wording
from playsite.report.ballot_page.sketch import sketch
from playsite.report.people_units import pad_size_text
from playsite.report.web_map.words import Translation
from playsite.result import CAUTIONS

if TYPE_CHECKING:
    from pathlib import Path

    from playsite.result import Result

__all__ = ["MOST_ON_BALLOT", "ballot_html", "own_script", "write_ballot"]

MOST_ON_BALLOT = 12
"""Foremost sites that are put to residents; nobody puts more in order (common practice, no source)."""
_MOST_FACTS = 4

_OURS = files("playsite.report.ballot_page")
_LOOK = files("playsite.report.web_map")


def write_ballot(result: Result, path: Path) -> None:
    """Write the ballot to ``path`` as one file that works without a network."""
    path.write_text(ballot_html(result), encoding="utf-8", newline="\n")


def ballot_html(result: Result, told: Translation | None = None) -> str:
    """Give the whole page; the sites stand in the order of their numbers, not of the ranking.

    ``told`` keeps the texts for which the study's words have none.
    """
    foremost = result.ranked.head(MOST_ON_BALLOT).sort_values("site_no")
    told = told or Translation(result.study.words)
    environment = Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True)
    environment.filters["t"] = told.said
    page = environment.from_string(told.of_html(_OURS.joinpath("ballot.html").read_text("utf-8")))
    facts = _facts(result)
    topics = {
        chosen.name: wording.in_readers_units(chosen.criterion.plain, result.study.units)
        for chosen in result.criteria
        if chosen.weight > 0
    }
    return page.render(
        study=result.study,
        language=told.words.language,
        direction=told.words.direction,
        words=json.dumps(dict(told.words.texts)).replace("<", "\\u003c"),
        styles="".join(
            folder.joinpath(name).read_text("utf-8")
            for folder, name in ((_LOOK, "tokens.css"), (_OURS, "ballot.css"), (_LOOK, "rtl.css"))
        ),
        script=own_script(),
        made_on=wording.date_text(result.study.made_on),
        sites=[
            {
                "no": row["site_no"],
                "name": wording.plain_cell(row["name"]),
                "facts": facts.get(row["parcel_id"], []),
            }
            for row in wording.records(foremost)
        ],
        more=len(result.ranked) - len(foremost),
        pad=pad_size_text(result.pad.length_m, result.pad.width_m, result.study.units),
        topics=topics,
        sketch=sketch(result, foremost["parcel_id"].tolist()),
        not_a_survey=wording.NOT_A_SURVEY,
        cautions=CAUTIONS,
        numbers=json.dumps([int(number) for number in foremost["site_no"]]),
    )


def own_script() -> str:
    """Give the page's script."""
    return _OURS.joinpath("ballot.js").read_text("utf-8")


def _facts(result: Result) -> dict[Any, list[tuple[str, str]]]:
    """What was measured at each site, by the criteria that count most; the same ones for all."""
    most = sorted(result.criteria, key=lambda chosen: -chosen.weight)[:_MOST_FACTS]
    units = result.study.units
    plain = {
        chosen.name: wording.in_readers_units(chosen.criterion.plain, units) for chosen in most
    }
    found: dict[Any, list[tuple[str, str]]] = {}
    own = result.measurements[result.measurements["criterion"].isin(list(plain))]
    order = {name: place for place, name in enumerate(plain)}
    for row in sorted(wording.records(own), key=lambda each: order[each["criterion"]]):
        spoken = result.spoken[row["criterion"]]
        value = wording.value_text(row["value"], row["unit"], units, spoken)
        found.setdefault(row["parcel_id"], []).append((plain[row["criterion"]], value))
    return found
