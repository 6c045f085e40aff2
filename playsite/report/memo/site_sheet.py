"""One page a site: what it needs first, the plan to scale, then what was measured."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from playsite.report.memo.blocks import Bullets, Callout, Columns, Heading, Paragraph, Table
from playsite.report.memo.plan import site_plan
from playsite.report.memo.readings import plain_name
from playsite.report.wording import (
    condition_sentence,
    in_readers_units,
    joined,
    percent_text,
    plain_cell,
    rank_text,
    score_range_text,
    score_text,
    site_title,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from playsite.criteria._registry import Chosen
    from playsite.report.memo.blocks import Block, Page
    from playsite.report.memo.readings import Readings

    Site = Mapping[str, Any]

__all__ = ["site_sheet"]

_MOST_SAID = 3
_RIGHT_MM, _GAP_MM = 60.0, 6.0
_MOST_BESIDE = 14  # criteria; a longer table would not leave room for a second column


def site_sheet(readings: Readings, site: Site, page: Page) -> Iterator[Block]:
    """Give the blocks of one site's page."""
    result = readings.result
    yield Heading(site_title(site), new_page=True)
    yield Paragraph(_judgment(readings, site), "judgment")
    conditions = result.conditions[result.conditions["parcel_id"] == site["parcel_id"]]
    for condition in conditions.to_dict("records"):
        yield Callout(condition_sentence(condition, result.study.units))
    pads = result.pads[result.pads["parcel_id"] == site["parcel_id"]]
    for pad in pads.head(1).to_dict("records"):
        yield site_plan(result, pad, page)
    beside = len(result.criteria) <= _MOST_BESIDE
    left_mm = page.text_mm - _RIGHT_MM - _GAP_MM if beside else page.text_mm
    left = (Heading("What was measured at the play area", 3), _facts(readings, site, left_mm))
    right = (*_standing(readings, site), *_lists(readings, site))
    if beside:
        yield Columns(left, right, left_mm, _RIGHT_MM)
    else:
        yield from (*left, *right)


def _judgment(readings: Readings, site: Site) -> str:
    """Say how many answers are strong, which is the weakest, and how many are missing."""
    criteria = readings.result.criteria
    words = [readings.word(site, chosen).split(",")[0] for chosen in criteria]
    strong = words.count("strong")
    head = (
        f"Strong on {strong} of {len(criteria)} questions."
        if strong
        else f"Strong on none of {len(criteria)} questions."
    )
    weak = _by_loss(readings, site, "weak")
    tail = f" Weak on {joined([plain_name(chosen) for chosen in weak])}." if weak else ""
    unknown = [plain_name(c) for c, word in zip(criteria, words, strict=True) if word == "unknown"]
    return f"{head}{tail}" + (f" Not known: {joined(unknown)}." if unknown else "")


def _facts(readings: Readings, site: Site, width_mm: float) -> Table:
    rows = []
    for chosen in readings.result.criteria:
        plain = in_readers_units(chosen.criterion.plain, readings.result.study.units)
        value, note = readings.value(site, chosen), readings.note(site, chosen)
        rows.append(
            (
                plain[:1].upper() + plain[1:],
                f"{value}. {note}" if note else value,
                readings.marked_word(site, chosen),
                readings.origin(site, chosen),
            )
        )
    shares = (0.33, 0.27, 0.19, 0.21)
    return Table(
        title=f"What was measured at Site {site['site_no']}",
        head=("What", "Value", "Word", "From"),
        rows=tuple(rows),
        widths_mm=tuple(share * width_mm for share in shares),
        bold=(1,),
    )


def _standing(readings: Readings, site: Site) -> Iterator[Block]:
    result = readings.result
    yield Heading("Score and standing", 3)
    said = [score_range_text(site["score_low"], site["score_high"])]
    said += [rank_text(site, result)[:1].lower() + rank_text(site, result)[1:]]
    if float(site["known_share"]) < 1:
        said += [f"{percent_text(100 * float(site['known_share']))} of the weight is known"]
    parts = (
        (score_text(site["score"]), True),
        (f" of 100; {'; '.join(filter(None, said))}.", False),
    )
    yield Paragraph(parts)


def _lists(readings: Readings, site: Site) -> Iterator[Block]:
    """Strengths, weaknesses and open questions; one with nothing to say is left out."""
    for head, word, mark in (("Strengths", "strong", "●"), ("Weaknesses", "weak", "○")):
        chosen = (_by_gain if word == "strong" else _by_loss)(readings, site, word)[:_MOST_SAID]
        if chosen:
            yield Heading(head, 3)
            yield Bullets(tuple(_said(readings, site, one) for one in chosen), mark)
    unknown = _open_questions(readings, site)
    if unknown:
        yield Heading("Not known yet", 3)
        yield Bullets(tuple(unknown), "?")


def _said(readings: Readings, site: Site, chosen: Chosen) -> str:
    name = plain_name(chosen)
    return f"{name[:1].upper()}{name[1:]}: {readings.value(site, chosen)}"


def _by_gain(readings: Readings, site: Site, word: str) -> list[Chosen]:
    """Criteria of a word, those first that give the total most."""
    own = [c for c in readings.result.criteria if readings.word(site, c).split(",")[0] == word]
    return sorted(own, key=lambda chosen: -chosen.weight * readings.score(site, chosen))


def _by_loss(readings: Readings, site: Site, word: str) -> list[Chosen]:
    """Criteria of a word, those first that cost the total most."""
    own = [c for c in readings.result.criteria if readings.word(site, c).split(",")[0] == word]
    return sorted(own, key=lambda chosen: -chosen.weight * (1 - readings.score(site, chosen)))


def _open_questions(readings: Readings, site: Site) -> list[str]:
    """Each open question with its field task; an unknown value without a task is said too."""
    unknowns = readings.result.unknowns
    own = unknowns[unknowns["parcel_id"] == site["parcel_id"]].to_dict("records")
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
