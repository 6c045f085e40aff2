"""Rows of the evidence table that belong to the study as a whole: program, land, money, people, data."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

from playsite.report.low_spots import rings_text
from playsite.report.memo.alternatives import changes_told
from playsite.report.memo.drawn_map import contour_steps
from playsite.report.memo.evidence import Entry
from playsite.report.memo.evidence_of_firmness import firm_entries, firm_site_entries
from playsite.report.memo.evidence_of_money import charter_entries, money_entries, time_entries
from playsite.report.memo.evidence_of_people import ballot_entries, need_entries, visit_entries
from playsite.report.memo.evidence_of_sites import site_entries
from playsite.report.memo.exclusions_map import rules_taken
from playsite.report.memo.land import left_out_rules, nearest_misses
from playsite.report.memo.program import piece_cells
from playsite.report.memo.readings import plain_name, rows_of
from playsite.report.people_units import (
    area_text,
    contour_step_m,
    contour_step_text,
    line_error_text,
    pad_size_text,
    percent_text,
)
from playsite.report.plain_text import one_line
from playsite.report.program_facts import proof_text
from playsite.report.way_grades import GRADE_TEXTS
from playsite.report.wording import (
    WORDS,
    first_rule,
    in_readers_units,
    joined,
    knot_text,
    miss_sentence,
    plain_cell,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.program import RequiredPad
    from playsite.program.required import Worked
    from playsite.report.memo.readings import Readings

__all__ = ["entries_of"]


def entries_of(readings: Readings) -> tuple[Entry, ...]:
    """Every row of the evidence table."""
    made: list[Entry] = []
    for part in (
        _assumptions,
        _program,
        _land,
        _criteria,
        _data,
        firm_entries,
        money_entries,
        charter_entries,
        ballot_entries,
        need_entries,
        visit_entries,
    ):
        made += part(readings)
    for site in readings.short_list:
        made += site_entries(readings, site)
        made += firm_site_entries(readings, site)
        made += time_entries(readings, site)
    return tuple(made)


def _assumptions(readings: Readings) -> Iterator[Entry]:
    study, units = readings.result.study, readings.result.study.units

    def entry(what: str, value: str, how: str, source: str) -> Entry:
        return Entry("A", what, value, how, source, study.made_on)

    words = "; ".join(f"{word} {reach}" for word, reach in WORDS.items())
    yield entry(
        "scale of scores",
        f"0 to 100; 50 is acceptable; words: {words}",
        "fixed before any site is seen",
        "the knots",
    )
    yield entry(
        "lot lines on the map",
        line_error_text(study.line_error_m, units),
        "as the study says",
        "study.toml",
    )
    yield entry(
        "least share of the weight that must be known",
        percent_text(study.least_known_pct),
        "as the study says",
        "study.toml",
    )
    if study.setbacks:
        yield entry(
            "kept clear", in_readers_units(study.setbacks, units), "as the study says", "study.toml"
        )
    steps = contour_steps(readings.result.contours, units)
    if steps:
        yield entry(
            "contours on plans, one from the next",
            joined(steps),
            "drawn from the elevation",
            "elevation",
        )
    if len(readings.result.low_spots):
        yield entry(
            "rings round low spots on plans", rings_text(), "by probability", "common practice"
        )
    if readings.result.evidence.geometry.has_z.any():
        yield entry(
            "walk, ramp and what is too steep on step-free ways",
            ", ".join(GRADE_TEXTS),
            "running slope of the way as it would be built",
            "2010 ADA Standards for Accessible Design, 403.3 and 405.2",
        )
    step = contour_step_text(contour_step_m(units), units)
    yield entry("contours on drawings of earthwork", step, "drawn from the elevation", "elevation")
    if len(readings.result.members):
        yield entry(
            "members who gave weights",
            str(len(readings.result.members)),
            "median of each",
            "weights.csv",
        )


def _program(readings: Readings) -> Iterator[Entry]:
    result, units = readings.result, readings.result.study.units
    pads = {"the study's own": result.pad, **result.beside}
    for name, pad in pads.items():
        worked = pad.worked
        children = worked.areas.children if worked else None
        fits = (
            result.fits_beside[name].sum()
            if name in result.fits_beside
            else (~result.sites["status"].eq("does not fit")).sum()
        )
        said = [
            f"{pad_size_text(pad.length_m, pad.width_m, units)}, {area_text(pad.area_m2, units)}"
        ]
        said += [f"{children:,} children at once"] if children else []
        said += [_pieces(worked, units)] if worked and worked.zones else []
        said += [f"shape: {text}" for text in _shapes(pad, units)]
        said.append(f"fits on {int(fits):,} of {len(result.sites):,} parcels")
        why = in_readers_units(pad.why, units)
        yield Entry(
            "P",
            f"play area, {one_line(name)}",
            "; ".join(said),
            why,
            "study.toml",
            result.study.made_on,
        )


def _pieces(worked: Worked, units: str) -> str:
    told = "; ".join(", ".join(piece_cells(zone, units)) for zone in worked.zones)
    return f"{len(worked.zones)} pieces, with ages, use zone and fall height ({told})"


def _shapes(pad: RequiredPad, units: str) -> list[str]:
    return [
        f"{shape.name}, {pad_size_text(*shape.sides_m, units)}, {area_text(shape.area_m2, units)}, "
        f"{proof_text(shape)}"
        for shape in pad.shapes
    ]


def _land(readings: Readings) -> Iterator[Entry]:
    result, units = readings.result, readings.result.study.units

    def entry(what: str, value: str, how: str = "counted", source: str = "sites.csv") -> Entry:
        return Entry("L", what, value, how, source, result.study.made_on)

    counts = result.sites["status"].value_counts()
    said = "; ".join(f"{count:,} {status}" for status, count in counts.items())
    yield entry("parcels looked at, by verdict", f"{len(result.sites):,}: {said}" if said else "0")
    yield entry(
        "parcels looked at, short list",
        f"{len(result.sites):,}; {len(readings.short_list)} have a sheet of their own; not ranked: {int((result.sites['status'] != 'ranked').sum()):,}",
    )
    shorts = result.misses.drop_duplicates("parcel_id")["short"].map(plain_cell).value_counts()
    if len(shorts):
        yield entry(
            "parcels by the first rule that they miss",
            "; ".join(f"{words or 'other'} {count:,}" for words, count in shorts.items()),
            "counted",
            "ledger.csv",
        )
    rules = left_out_rules(readings)
    if rules:
        told = "; ".join(f"{rule} {count:,}" for rule, count in rules)
        yield entry("parcels left out by rule", told)
    for title, change in changes_told(readings):
        yield entry(f"what would let it fit, {title}", change, "rules relaxed one by one")
    if not readings.ranked:
        near = nearest_misses(readings)
        told_of = {site["parcel_id"] for site in near}
        for miss in rows_of(result.misses[result.misses["parcel_id"].isin(told_of)]):
            yield entry(
                f"miss of {miss['parcel_id']}",
                miss_sentence(miss, units),
                "held against a rule",
                plain_cell(miss["source"]),
            )
        for site in near:
            yield entry(
                f"miss of {site['parcel_id']}",
                first_rule(site, [], units) + f"; largest scale {_scale(readings, site)}",
                "largest scale that fits",
                "ledger.csv",
            )
    for rule, parcels, area_m2, sources in rules_taken(readings):
        yield entry(
            f"land taken off: {in_readers_units(rule, units)}",
            f"{area_text(area_m2, units)} on {parcels:,} parcels",
            "areas laid over",
            ", ".join(sources),
        )


def _scale(readings: Readings, site: object) -> str:
    misses = readings.result.misses
    own = misses[(misses["parcel_id"] == site["parcel_id"]) & (misses["unit"] == "ratio")]  # type: ignore[index]
    return "; ".join(f"{100 * float(value):.0f}%" for value in own["value"])


def _criteria(readings: Readings) -> Iterator[Entry]:
    """Give weight, knots and rules of each criterion."""
    units = readings.result.study.units
    for chosen in readings.weighed:
        name = plain_name(chosen)
        knots = [
            f"{each.name.replace('_', ' ')}: {knot_text(chosen, each.at, units)}"
            for each in chosen.curve.knots
        ]
        out = [f"out: {in_readers_units(screen.rule, units)}" for screen in chosen.screens]
        reads = chosen.curve.reads
        yield Entry(
            "K",
            f"{name[:1].upper()}{name[1:]}. {chosen.criterion.question}",
            "; ".join([f"weight {percent_text(100 * chosen.weight)}", *knots, *out]),
            f"the score reads {in_readers_units(reads, units)}" if reads else "",
            "; ".join(dict.fromkeys(knot.source for knot in chosen.curve.knots)),
        )


def _data(readings: Readings) -> Iterator[Entry]:
    result = readings.result
    for row in rows_of(result.layers):
        features = f"{int(row['features']):,} features; " if plain_cell(row["features"]) else ""
        kind = str(row["kind"]).replace("_", " ")
        yield Entry(
            "D",
            f"layer {kind}",
            f"{features}{plain_cell(row['date']) or 'date not known'}",
            "read from the file",
            PurePath(str(row["path"])).name,
            plain_cell(row["date"]),
        )
    for finding in result.findings:
        if finding.weight in {"loud", "caution"}:
            parts = (finding.what, one_line(finding.where), finding.done, finding.remedy)
            told = " ".join(filter(None, parts))
            yield Entry(
                "D",
                f"noticed in {finding.layer or 'the data'}",
                in_readers_units(told, result.study.units),
                "looked through before anything is measured",
                finding.layer,
                result.study.made_on,
            )
