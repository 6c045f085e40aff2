"""The page as one file: a folium map that carries Leaflet, styles, script and data inside."""

from __future__ import annotations

import base64
import gzip
import json
import re
from dataclasses import replace
from functools import partial
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import folium
from branca.element import Element, Figure, MacroElement
from jinja2 import Environment, Template
from markupsafe import Markup

from playsite.criteria.roots import MOST_ROOTS_M
from playsite.report import wording
from playsite.report.paper import drawing_style
from playsite.report.people_units import UNITS, in_feet
from playsite.report.web_map.grades import grade_classes
from playsite.report.web_map.light import lightened
from playsite.report.web_map.payload import STATUSES, pad_words, payload
from playsite.report.web_map.roots import root_zones
from playsite.report.web_map.words import Translation
from playsite.result import CAUTIONS

if TYPE_CHECKING:
    from collections.abc import Callable

    from playsite._words_file import Words
    from playsite.result import Result

__all__ = ["own_script", "page_html"]

OURS = files("playsite.report.web_map")
STYLES = (
    "tokens.css",
    "page.css",
    "side.css",
    "map.css",
    "wall.css",
    "phone.css",
    "print.css",
    "rtl.css",
)
SCRIPTS = (
    "make.js",
    "study.js",
    "lots.js",
    "scoring.js",
    "draws.js",
    "weights.js",
    "sureness.js",
    "ground.js",
    "parcels.js",
    "many.js",
    "over.js",
    "pads.js",
    "plans.js",
    "grades.js",
    "marks.js",
    "labels.js",
    "water.js",
    "shades.js",
    "lettering.js",
    "margin.js",
    "inset.js",
    "walking.js",
    "distances.js",
    "reach.js",
    "card.js",
    "districts.js",
    "ranking.js",
    "why.js",
    "priorities.js",
    "curves.js",
    "compare.js",
    "walk.js",
    "start.js",
)
POLICY = (
    "default-src 'none'; img-src data: blob:; script-src 'unsafe-inline'; "
    "style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
)
"""The browser itself refuses every request: that the page works offline is not a promise."""
PACKED_FROM_BYTES = 1_000_000
ROWS_AT_FIRST = 20


class Ready(Element):
    """Text that goes into the page as it is.

    branca's own `Element` takes its text for a template: a parcel named ``{{ 7*7 }}`` would run.
    """

    def __init__(self, text: str) -> None:
        super().__init__()
        self._name = "Ready"
        self.text = text

    def render(self, **_: Any) -> str:
        """Give the text."""
        return self.text


class Part(MacroElement):
    """A part of the page whose text is ready: in the header, in the body, or as script."""

    def __init__(self, *, header: str = "", html: str = "", script: str = "") -> None:
        super().__init__()  # type: ignore[no-untyped-call]
        self._name = "Part"
        self.texts = {"header": header, "html": html, "script": script}

    def render(self, **_: Any) -> None:  # type: ignore[override]
        """Put each text where it belongs."""
        figure = self.get_root()
        for place, text in self.texts.items():
            if text:
                getattr(figure, place).add_child(Ready(text), name=f"{self.get_name()}_{place}")


class StudyMap(folium.Map):
    """A folium map that fetches nothing: the page's script makes the Leaflet map."""

    default_js: list[tuple[str, str]] = []  # noqa: RUF012 -- folium reads them from the class
    default_css: list[tuple[str, str]] = []  # noqa: RUF012
    _template = Template("")


class Sheet(Figure):
    """The page around the map, with what folium's own leaves out: language, policy, zoom."""

    _template = Template(
        '<!DOCTYPE html>\n<html lang="{{ this.words.language }}"{% if this.words.direction == "rtl" %} dir="rtl"{% endif %}>\n<head>\n'
        '<meta charset="utf-8">\n'
        '<meta http-equiv="Content-Security-Policy" content="{{ this.policy }}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        "<title>{{ this.title|e }}</title>\n"
        "{{ this.header.render() }}\n</head>\n<body>\n{{ this.html.render() }}\n"
        "<script>\n{{ this.script.render() }}\n</script>\n</body>\n</html>\n"
    )

    def __init__(self, title: str, words: Words) -> None:
        super().__init__(title=title)
        self.words = words
        self.policy = POLICY
        self.header = Element()  # without folium's own meta tag
        self.header._parent = self  # noqa: SLF001 -- as Figure does itself


def page_html(result: Result, told: Translation | None = None) -> str:
    """Give the whole page; ``told`` keeps the texts for which the study's words have none."""
    told = told or Translation(result.study.words)
    sheet = Sheet(result.study.title, told.words)
    sheet.add_child(study_map := StudyMap(tiles=None))
    styles = [_leaflet_style(), *map(_read, STYLES), drawing_style()]
    study_map.add_child(Part(header="".join(f"<style>\n{text}\n</style>\n" for text in styles)))
    study_map.add_child(Part(header=f"<script>\n{_leaflet_script()}\n</script>"))
    shown = lightened(result)
    # The answer and the tally are of all parcels; the rest of the page is of those it shows.
    study_map.add_child(Part(html=_body(replace(result, findings=shown.findings), told)))
    study_map.add_child(Part(html=_data_block(_told(payload(shown, result), told))))
    study_map.add_child(Part(script=f'(function () {{\n"use strict";\n{own_script()}\n}})();'))
    return str(sheet.render())


def _told(content: dict[str, Any], told: Translation) -> dict[str, Any]:
    if told.words.language == "en" and not told.words.texts:
        return content
    return {**told.of_data(content), "words": dict(told.words.texts)}


def own_script() -> str:
    """Give the page's own script, without Leaflet."""
    return "\n".join(map(_read, SCRIPTS))


def _body(result: Result, told: Translation) -> str:
    """Write head, frame and first rows: there at once, and without any script."""
    environment = Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True)
    environment.filters["t"] = told.said
    page = environment.from_string(told.of_html(_read("page.html")))
    in_both = partial(_in_both, result.study.units, told)
    sites = result.sites
    rows = [_row(row, result) for row in wording.records(sites.head(ROWS_AT_FIRST))]
    return page.render(
        signs=_read("signs.svg"),
        study=result.study,
        answer=told.with_bold(wording.answer_parts(result)),
        tally=re.split(r"([\d,]*\d)", told.said(wording.tally_sentence(result))),
        made_on=wording.date_text(result.study.made_on),
        nearest=in_both(partial(_nearest, result)),
        not_a_survey=wording.NOT_A_SURVEY,
        dates=wording.data_dates(result),
        loud=[finding for finding in result.findings if finding.weight == "loud"],
        in_units=lambda text: in_both(partial(wording.in_readers_units, text)),
        cautions=CAUTIONS,
        layers=wording.records(result.layers),
        sources=_sources(result),
        pad=in_both(partial(pad_words, result)),
        most_roots=in_both(partial(wording.distance_text, MOST_ROOTS_M)),
        study_pad=result.pad,
        rows=rows,
        total=len(sites),
        ranked=len(result.ranked),
        shows_order=result.shows_order,
        plain=wording.plain_cell,
        has_contours=len(result.contours) > 0,
        kinds={kind for kind, frame in result.base_map.items() if len(frame)},
        grades=grade_classes(result),
        elevation_dates=wording.data_dates(result, ("elevation",)),
        has_low_spots=len(result.low_spots) > 0,
        has_arrows=len(result.arrows) > 0,
        has_alternatives=len(result.alternatives) > 0,
        has_plans=len(result.frames) > 0,
        has_shades=len(result.shade) > 0,
        has_walks="walks" in result.base_map,
        has_roots=bool(root_zones(result)),
    )


def _row(row: dict[str, Any], result: Result) -> dict[str, Any]:
    """One row of the ranking as the page's first HTML has it; `ranking.js` writes the rest so."""
    status = STATUSES.index(row["status"])
    ordered = status == 0 and result.shows_order
    misses = wording.records(result.misses[result.misses["parcel_id"] == row["parcel_id"]])
    return {
        "status": status,
        "rank": int(row["rank"]) if ordered else "",
        "no": row["site_no"],
        "name": wording.plain_cell(row["name"]),
        "score": wording.points(row["score"]),
        "short": wording.short_reason(row, misses),
    }


def _sources(result: Result) -> list[tuple[str, str]]:
    return [
        (chosen.criterion.plain, "; ".join(str(source) for source in chosen.criterion.sources))
        for chosen in result.criteria
        if chosen.criterion.sources
    ]


def _nearest(result: Result, units: str) -> str:
    return wording.nearest_miss_sentence(result, units=units)


def _in_both(own: str, told: Translation, text: Callable[[str], str]) -> str:
    """Write a text in the study's own units, with the pair from which the page's script takes one."""
    feet, metres = (told.said(text(units)) for units in UNITS)
    if feet == metres:
        return feet
    span = Markup('<span data-feet="{}" data-metres="{}">{}</span>')
    return span.format(feet, metres, feet if in_feet(own) else metres)


def _data_block(content: dict[str, Any]) -> str:
    """Write what the script reads: JSON that no text in it can break out of, packed where large."""
    text = json.dumps(content, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    if len(text) >= PACKED_FROM_BYTES:
        packed = base64.b64encode(gzip.compress(text.encode(), compresslevel=9, mtime=0)).decode()
        return f'<script type="application/octet-stream" id="study-packed">{packed}</script>'
    # In a script block "<" can begin nothing but a string: written as an escape it ends none.
    return f'<script type="application/json" id="study">{text.replace("<", chr(92) + "u003c")}</script>'


def _leaflet_script() -> str:
    text = re.sub(r"//# sourceMappingURL=\S*", "", _read("leaflet/leaflet.js"))
    return text.replace("</script", "<\\/script")


def _leaflet_style() -> str:
    """Leaflet's style without the pictures of controls and markers that this page doesn't use."""
    return re.sub(r"url\([^)]*\)", "none", _read("leaflet/leaflet.css"))


def _read(name: str) -> str:
    return OURS.joinpath(name).read_text(encoding="utf-8")
