"""One page a site: what it needs first, the plan to scale, then what was measured."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from playsite.report.binding import room_texts, shape_text
from playsite.report.cost_words import card_sentences
from playsite.report.earth import EARTH_CAUTION, earth_sentences
from playsite.report.earth_drawings import earth_drawings
from playsite.report.firm_words import sheet_sentences
from playsite.report.memo.blocks import Bullets, Callout, Heading, Paragraph, Table
from playsite.report.memo.paper_picture import paper_figure
from playsite.report.memo.plan import site_plan
from playsite.report.memo.readings import plain_name, rows_of
from playsite.report.paper import beside
from playsite.report.water import WATER_CAUTION, water_sentences
from playsite.report.wording import (
    condition_sentence,
    in_readers_units,
    joined,
    percent_text,
    plain_cell,
    rank_text,
    score_range_text,
    score_text,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from playsite.criteria._registry import Chosen
    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings
    from playsite.result import Result

    Site = Mapping[str, Any]

__all__ = ["site_sheet"]

_MOST_SAID = 3
_FEW, _ROW_MM = 6, 7.0  # criteria that leave the plan its height, and what each further one takes
_CALLOUT_MM, _LEAST_PLAN_MM, _GAP_MM = 10.0, 70.0, 4.0


def site_sheet(
    readings: Readings, site: Site, page: Page, *, is_first: bool = False
) -> Iterator[Block]:
    """Give the blocks of one site's page; the first stands under the head of them all."""
    result = readings.result
    conditions = result.conditions[result.conditions["parcel_id"] == site["parcel_id"]]
    yield Heading(readings.title(site), 2, new_page=not is_first)
    for condition in rows_of(conditions):
        yield Callout(condition_sentence(condition, result.study.units))
    yield _standing(readings, site)
    yield Paragraph(_judgment(readings, site), "judgment")
    given_way = _ROW_MM * max(0, len(result.criteria) - _FEW) + _CALLOUT_MM * len(conditions)
    left_mm = page.plan_height_mm - given_way
    # where the table runs over the page in any case, a small plan saves nothing
    height_mm = left_mm if left_mm >= _LEAST_PLAN_MM else page.plan_height_mm
    pads = result.pads[result.pads["parcel_id"] == site["parcel_id"]]
    for pad in rows_of(pads.head(1)):
        yield site_plan(result, pad, replace(page, plan_height_mm=height_mm))
        yield from _binding(readings, site, pad)
    yield Heading("What was measured at the play area", 3)
    yield _facts(readings, site, page.text_mm)
    yield from _lists(readings, site, page.text_mm)
    firm = sheet_sentences(readings.firm, str(site["parcel_id"]))
    if firm:
        yield Heading("How firm is this?", 3)
        yield Paragraph(" ".join(firm))
    cost = card_sentences(result, str(site["parcel_id"]))
    if cost:
        yield Heading("Cost, beside the score", 3)
        yield Paragraph(" ".join(cost))
    yield from _earth(result, str(site["parcel_id"]), page)
    water = water_sentences(result, str(site["parcel_id"]), result.study.units)
    if water:
        yield Heading("Storms", 3)
        yield Paragraph(f"{' '.join(water)} {WATER_CAUTION}")


def _earth(result: Result, parcel_id: str, page: Page) -> Iterator[Block]:
    """Earthwork in words, with plan and section of each part of the pad."""
    units = result.study.units
    said = earth_sentences(result, parcel_id, units)
    if not said:
        return
    yield Heading("Earthwork", 3)
    yield Paragraph(f"{' '.join(said)} {EARTH_CAUTION}")
    width_mm = (page.text_mm - _GAP_MM) / 2
    for plan, section in earth_drawings(result, parcel_id, units, width_mm=width_mm):
        yield paper_figure(beside(plan, section, gap_mm=_GAP_MM))


def _binding(readings: Readings, site: Site, pad: dict[str, Any]) -> Iterator[Paragraph]:
    """Say in which shape it fits, where not in the first, and how much room its sides have."""
    units, rooms = readings.result.study.units, readings.result.rooms
    own = rows_of(rooms[rooms["parcel_id"] == site["parcel_id"]].drop(columns="geometry"))
    room = f"Room at its sides: {'; '.join(room_texts(own, units))}." if own else ""
    said = " ".join(filter(None, [shape_text(pad["shape"]), room]))
    if said:
        yield Paragraph(said, "note")


def _judgment(readings: Readings, site: Site) -> str:
    """Say how many answers are strong, which is the weakest, and how many are missing."""
    criteria = readings.weighed
    words = [readings.word(site, chosen).split(",")[0] for chosen in criteria]
    strong = words.count("strong")
    head = (
        f"Strong on {strong} of {len(criteria)} questions."
        if strong
        else f"Strong on none of {len(criteria)} questions."
    )
    weak = _by_loss(readings, site, "weak")
    tail = (
        f" Weak on {joined(_first_few([plain_name(chosen) for chosen in weak]))}." if weak else ""
    )
    unknown = [plain_name(c) for c, word in zip(criteria, words, strict=True) if word == "unknown"]
    return f"{head}{tail}" + (f" Not known: {joined(_first_few(unknown))}." if unknown else "")


def _first_few(names: list[str]) -> list[str]:
    more = len(names) - _MOST_SAID
    return names if more <= 1 else [*names[:_MOST_SAID], f"{more} others"]


def _facts(readings: Readings, site: Site, width_mm: float) -> Table:
    rows = []
    for chosen in readings.result.criteria:
        if chosen.weight == 0 and readings.word(site, chosen) == "unknown":
            continue  # a list without its layer: it stands among what is not known yet
        plain = in_readers_units(chosen.criterion.plain, readings.result.study.units)
        value = readings.value(site, chosen)
        more = [
            readings.straight(site, chosen),
            readings.interval(site, chosen),
            readings.note(site, chosen),
        ]
        rows.append(
            (
                plain[:1].upper() + plain[1:],
                ((value, True), ("".join(f"; {said}" for said in more if said), False)),
                readings.marked_word(site, chosen),
                readings.origin(site, chosen),
            )
        )
    shares = (0.29, 0.36, 0.18, 0.17)
    return Table(
        title=f"What was measured at Site {site['site_no']}",
        head=("What", "Value", "Word", "From"),
        rows=tuple(rows),
        widths_mm=tuple(share * width_mm for share in shares),
    )


def _standing(readings: Readings, site: Site) -> Paragraph:
    rank = rank_text(site, readings.result)
    said = [score_range_text(site["score_low"], site["score_high"]), rank[:1].lower() + rank[1:]]
    if float(site["known_share"]) < 1:
        said.append(f"{percent_text(100 * float(site['known_share']))} of the weight is known")
    text = f" of 100; {'; '.join(filter(None, said))}."
    return Paragraph(((score_text(site["score"]), True), (text, False)), "score")


def _lists(readings: Readings, site: Site, width_mm: float) -> Iterator[Table]:
    """Strengths, weaknesses and open questions side by side; one with nothing to say is left out."""
    strong = [_said(readings, site, chosen) for chosen in _by_gain(readings, site, "strong")]
    weak = [_said(readings, site, chosen) for chosen in _by_loss(readings, site, "weak")]
    lists = (
        ("Strengths", strong[:_MOST_SAID], "●"),
        ("Weaknesses", weak[:_MOST_SAID], "○"),
        ("Not known yet", _open_questions(readings, site), "?"),
    )
    told = [(head, Bullets(tuple(items), mark)) for head, items, mark in lists if items]
    if told:
        yield Table(
            title=f"{joined([head for head, _ in told])} of Site {site['site_no']}",
            head=tuple(head for head, _ in told),
            rows=(tuple(items for _, items in told),),
            widths_mm=(width_mm / len(lists),) * len(told),
        )


def _said(readings: Readings, site: Site, chosen: Chosen) -> str:
    name = plain_name(chosen)
    return f"{name[:1].upper()}{name[1:]}: {readings.value(site, chosen)}"


def _by_gain(readings: Readings, site: Site, word: str) -> list[Chosen]:
    """Criteria of a word, those first that give the total most."""
    own = [c for c in readings.weighed if readings.word(site, c).split(",")[0] == word]
    return sorted(own, key=lambda chosen: -chosen.weight * readings.score(site, chosen))


def _by_loss(readings: Readings, site: Site, word: str) -> list[Chosen]:
    """Criteria of a word, those first that cost the total most."""
    own = [c for c in readings.weighed if readings.word(site, c).split(",")[0] == word]
    return sorted(own, key=lambda chosen: -chosen.weight * (1 - readings.score(site, chosen)))


def _open_questions(readings: Readings, site: Site) -> list[str]:
    """Each open question with its field task; an unknown value without a task is said too."""
    unknowns = readings.result.unknowns
    own = rows_of(unknowns[unknowns["parcel_id"] == site["parcel_id"]])
    said = [f"{_name(row['criterion'])}: {plain_cell(row['task'])}" for row in own]
    with_task = {str(row["criterion"]) for row in own}
    for chosen in readings.result.criteria:
        if readings.word(site, chosen) == "unknown" and chosen.name not in with_task:
            task = chosen.criterion.field_task or "no value could be measured from the map data."
            said.append(f"{_name(chosen.name)}: {task}")
    return said


def _name(criterion: object) -> str:
    name = str(criterion).replace("_", " ")
    return name[:1].upper() + name[1:]
