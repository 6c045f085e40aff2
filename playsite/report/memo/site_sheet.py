"""Two pages a site: needs, plan, judgment and cost; then what was measured, earthwork and storms."""

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
from playsite.report.memo.readings import MOST_SAID, plain_name, rows_of
from playsite.report.memo.widths import shares
from playsite.report.paper import beside
from playsite.report.water import WATER_CAUTION, storms
from playsite.report.wording import (
    condition_sentence,
    date_text,
    in_readers_units,
    joined,
    percent_text,
    plain_cell,
    rank_text,
    score_range_text,
    score_text,
    value_text,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from playsite.criteria._registry import Chosen
    from playsite.report.memo.blocks import Block, Page, Parts
    from playsite.report.memo.readings import Readings

    Site = Mapping[str, Any]

__all__ = ["site_sheet"]

_GAP_MM = 4.0
_EARTH_SHARE = 0.84  # of the line: plan and section leave room for the storms below them
_MOST_TASKS = 4
_LIST_SHARES = {"Strengths": 0.25, "Weaknesses": 0.25, "Not known yet": 0.5}
_BOX_MM, _LEAST_PLAN_MM = 9.0, 60.0


def site_sheet(
    readings: Readings, site: Site, page: Page, *, is_first: bool = False
) -> Iterator[Block]:
    """Give the blocks of one site's two pages; the first stands under the head of them all.

    The first page can be read by itself. What stands in boxes above its plan is taken off the
    plan's height, so that it stays one page.
    """
    result = readings.result
    conditions = result.conditions[result.conditions["parcel_id"] == site["parcel_id"]]
    number, parcel = site["site_no"], str(site["parcel_id"])
    yield Heading(readings.title(site), 2, new_page=not is_first)
    for condition in rows_of(conditions):
        yield Callout(condition_sentence(condition, result.study.units), evidence=(f"S{number}",))
    yield _standing(readings, site)
    yield Paragraph(_judgment(readings, site), "judgment", evidence=(f"S{number}",))
    pads = result.pads[result.pads["parcel_id"] == site["parcel_id"]]
    boxes_mm = _BOX_MM * max(len(conditions) - 1, 0)
    room = replace(page, plan_height_mm=max(page.plan_height_mm - boxes_mm, _LEAST_PLAN_MM))
    for pad in rows_of(pads.head(1)):
        yield replace(site_plan(result, pad, room), evidence=("A",))
        yield from _binding(readings, site, pad)
    yield from _lists(readings, site, page.text_mm)
    cost = card_sentences(result, parcel)
    if cost:
        yield Heading("Cost, beside the score", 3)
        yield Paragraph(" ".join(cost), evidence=("C", f"C{number}"))
    yield Heading(f"Site {number}: what was measured at the play area", 3, new_page=True)
    yield _facts(readings, site, page.text_mm)
    yield from _found(readings, site)
    yield from _earth(readings, site, page)
    yield from _storms(readings, site, page)
    firm = sheet_sentences(readings.firm, parcel)
    if firm:
        yield Heading("How firm is this?", 3)
        yield Paragraph(" ".join(firm), evidence=("F", f"F{number}"))


def _storms(readings: Readings, site: Site, page: Page) -> Iterator[Block]:
    """Two storms in a small table: what arrives, whether it gets away, and why."""
    parcel, number = str(site["parcel_id"]), site["site_no"]
    found, said = storms(readings.result, parcel, readings.result.study.units)
    if not found:
        return
    key = (f"W{number}", f"V{number}")
    rows = tuple(
        (storm.name, storm.peak, storm.verdict, _sentence("; ".join(storm.reasons)))
        for storm in found
    )
    yield Table(
        f"Storms at Site {number}: the water at their peak, by the rational method",
        ("Storm", "At its peak", "Check", "Why"), rows, shares(page, 0.1, 0.13, 0.12, 0.65),
        bold=(0,), evidence=key,
    )  # fmt: skip
    yield Paragraph(f"{' '.join(said)} {WATER_CAUTION}", "note", evidence=key)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}." if text else "Nothing is known of it."


def _earth(readings: Readings, site: Site, page: Page) -> Iterator[Block]:
    """Earthwork in words, with plan and section of each part of the pad."""
    result, parcel, key = readings.result, str(site["parcel_id"]), (f"E{site['site_no']}", "A")
    said = earth_sentences(result, parcel, result.study.units)
    if not said:
        return
    yield Heading("Earthwork", 3)
    first, *rest = said
    text = " ".join([first[:1].upper() + first[1:], *rest, EARTH_CAUTION])
    yield Paragraph(text, evidence=key)
    width_mm = _EARTH_SHARE * (page.text_mm - _GAP_MM) / 2
    for plan, section in earth_drawings(result, parcel, result.study.units, width_mm=width_mm):
        yield replace(paper_figure(beside(plan, section, gap_mm=_GAP_MM)), evidence=key)


def _found(readings: Readings, site: Site) -> Iterator[Block]:
    """Say what was found on visits and counts here, with the photo's name."""
    visits = readings.result.visits
    own = visits[(visits["parcel_id"] == site["parcel_id"]) & (visits["standing"] == "counts")]
    said = []
    for row in rows_of(own):
        spoken = readings.result.spoken.get(row["criterion"])
        value = value_text(row["value"], row["unit"], readings.result.study.units, spoken)
        about = [
            f"visit of {date_text(str(row['date']))}",
            *(plain_cell(row[name]) for name in ("photo", "note")),
        ]
        said.append(f"{_name(row['criterion'])}: {value} ({'; '.join(filter(None, about))}).")
    if said:
        yield Heading("Found on site visits", 3)
        yield Bullets(tuple(said), evidence=("X", f"V{site['site_no']}"))


def _binding(readings: Readings, site: Site, pad: dict[str, Any]) -> Iterator[Paragraph]:
    """Say in which shape it fits, where not in the first, and how much room its sides have."""
    units, rooms = readings.result.study.units, readings.result.rooms
    own = rows_of(rooms[rooms["parcel_id"] == site["parcel_id"]].drop(columns="geometry"))
    room = f"Room at its sides: {'; '.join(room_texts(own, units))}." if own else ""
    said = " ".join(filter(None, [shape_text(pad["shape"]), room]))
    if said:
        yield Paragraph(said, "note", evidence=(f"S{site['site_no']}",))


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
    more = len(names) - MOST_SAID
    return names if more <= 1 else [*names[:MOST_SAID], f"{more} others"]


def _facts(readings: Readings, site: Site, width_mm: float) -> Table:
    """Set every value with its word, two columns of them; notes and sources stand in the evidence."""
    said = []
    for chosen in readings.result.criteria:
        word = readings.marked_word(site, chosen)
        if chosen.weight == 0 and word.endswith("unknown"):
            continue  # a list without its layer: it stands among what is not known yet
        name, value = plain_name(chosen), readings.value(site, chosen)
        more = [readings.straight(site, chosen), readings.interval(site, chosen)]
        said.append(
            (
                name[:1].upper() + name[1:],
                ((value, True), ("".join(f"; {each}" for each in more if each), False)),
                word,
            )
        )
    half = (len(said) + 1) // 2
    nothing: tuple[Parts, ...] = ("", "", "")
    rows = tuple(
        (*left, *(said[half + at] if half + at < len(said) else nothing))
        for at, left in enumerate(said[:half])
    )
    return Table(
        title=f"What was measured at Site {site['site_no']}",
        head=("What", "Value", "Word") * 2,
        rows=rows,
        widths_mm=tuple(share * width_mm for share in (0.14, 0.25, 0.11) * 2),
        evidence=(f"V{site['site_no']}",),
    )


def _standing(readings: Readings, site: Site) -> Paragraph:
    rank = rank_text(site, readings.result)
    said = [score_range_text(site["score_low"], site["score_high"]), rank[:1].lower() + rank[1:]]
    if float(site["known_share"]) < 1:
        said.append(f"{percent_text(100 * float(site['known_share']))} of the weight is known")
    text = f" of 100; {'; '.join(filter(None, said))}."
    key = (f"S{site['site_no']}",)
    return Paragraph(((score_text(site["score"]), True), (text, False)), "score", evidence=key)


def _lists(readings: Readings, site: Site, width_mm: float) -> Iterator[Table]:
    """Strengths, weaknesses and open questions side by side; one with nothing to say is left out."""
    strong = [_said(readings, site, chosen) for chosen in _by_gain(readings, site, "strong")]
    weak = [_said(readings, site, chosen) for chosen in _by_loss(readings, site, "weak")]
    lists = (
        ("Strengths", strong[:MOST_SAID], "●"),
        ("Weaknesses", weak[:MOST_SAID], "○"),
        ("Not known yet", _open_questions(readings, site), "?"),
    )
    told = [(head, Bullets(tuple(items), mark)) for head, items, mark in lists if items]
    if told:
        yield Table(
            title=f"{joined([head for head, _ in told])} of Site {site['site_no']}",
            head=tuple(head for head, _ in told),
            rows=(tuple(items for _, items in told),),
            widths_mm=tuple(width_mm * _LIST_SHARES[head] for head, _ in told),
            evidence=(f"V{site['site_no']}",),
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
    units = readings.result.study.units
    said = [
        f"{_name(row['criterion'])}: {in_readers_units(plain_cell(row['task']), units)}"
        for row in own
    ]
    with_task = {str(row["criterion"]) for row in own}
    for chosen in readings.result.criteria:
        if readings.word(site, chosen) == "unknown" and chosen.name not in with_task:
            task = chosen.criterion.field_task or "no value could be measured from the map data."
            said.append(f"{_name(chosen.name)}: {in_readers_units(task, units)}")
    if len(said) <= _MOST_TASKS + 1:
        return said
    more = [text.split(":")[0] for text in said[_MOST_TASKS:]]
    names = joined([name[:1].lower() + name[1:] for name in more])
    return [*said[:_MOST_TASKS], f"Also {names}: the field sheets have the tasks."]


def _name(criterion: object) -> str:
    name = str(criterion).replace("_", " ")
    return name[:1].upper() + name[1:]
