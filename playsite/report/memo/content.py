"""What the memo says, in order; a part with nothing to say is left out."""

from __future__ import annotations

import hashlib
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from playsite.report.cost_words import summary_sentence
from playsite.report.memo.ballots import residents
from playsite.report.memo.blocks import Bullets, Callout, Heading, Paragraph, Table
from playsite.report.memo.charts import score_bars, total_bars
from playsite.report.memo.firm import how_firm, too_close_sentence
from playsite.report.memo.method import method
from playsite.report.memo.money import charter, money, time
from playsite.report.memo.need import need
from playsite.report.memo.program import program
from playsite.report.memo.readings import Readings, plain_name, rows_of
from playsite.report.memo.site_sheet import site_sheet
from playsite.report.memo.visits import visits
from playsite.report.people_units import area_text, pad_size_text
from playsite.report.plain_text import one_line
from playsite.report.tables import run_text
from playsite.report.wording import (
    STATUS_TEXTS,
    answer_parts,
    condition_sentence,
    data_dates,
    distance_text,
    first_rule,
    in_readers_units,
    joined,
    nearest_miss_sentence,
    ordinal,
    percent_text,
    plain_cell,
    reason_sentence,
    score_range_text,
    score_text,
    tally_sentence,
)
from playsite.result import CAUTIONS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from playsite.criteria._registry import Chosen
    from playsite.problems import Finding
    from playsite.report.memo.blocks import Block, Page, Parts
    from playsite.result import Result

__all__ = ["memo_blocks"]

_MOST_RANKED, _MOST_OUT, _MOST_MISSES, _MOST_IN_MATRIX, _ACROSS = 40, 60, 5, 10, 5


def memo_blocks(result: Result, page: Page) -> list[Block]:
    """Give every block of the memo, first to last."""
    readings = Readings(result)
    blocks: list[Block] = []
    parts = (_answer, charter, program, _land, _assumptions, _noticed, method, _results, how_firm, need, residents, visits, _sheets, money, time, _cautions, _next_steps, _appendix)  # fmt: skip
    for part in parts:
        blocks.extend(part(readings, page))
    return blocks


def _wide(page: Page, *shares: float) -> tuple[float, ...]:
    return tuple(page.text_mm * share / sum(shares) for share in shares)


def _answer(readings: Readings, page: Page) -> Iterator[Block]:
    """Give the answer, what hedges it, and the sites side by side."""
    result = readings.result
    yield Paragraph(tuple(answer_parts(result)), "title")
    yield Paragraph(tally_sentence(result), "judgment")
    for finding in result.findings:
        if finding.weight == "loud":
            told = (finding.what, finding.done, finding.remedy)
            text = " ".join(f"{part.rstrip('.')}." for part in told if part)
            yield Callout((("Before you rely on this: ", True), (_in_units(text, result), False)))
    yield Heading("Summary")
    said = [too_close_sentence(readings.firm), nearest_miss_sentence(result)]
    said += [summary_sentence(result, site) for site in readings.short_list[:1]]
    for sentence in filter(None, said):
        yield Paragraph(sentence)
    conditions = rows_of(result.conditions)
    by_parcel = {site["parcel_id"]: site for site in readings.short_list}
    for row in conditions:
        if row["parcel_id"] in by_parcel:
            head = f"Site {by_parcel[row['parcel_id']]['site_no']}: "
            yield Callout(((head, True), (condition_sentence(row, result.study.units), False)))
    if result.shows_order:
        yield _ranking(readings, page)
        if len(readings.ranked) > _MOST_RANKED:
            yield Paragraph(f"The first {_MOST_RANKED} are listed; sites.csv has all.", "note")
    elif not readings.ranked:
        yield from _nearest_misses(readings, page)
    else:
        yield Paragraph(
            "With fewer than four sites an order says little, so none is given. The sites stand by number."
        )
        yield from _matrix(readings, page)


def _nearest_misses(readings: Readings, page: Page) -> Iterator[Block]:
    """Give the parcels that miss by the smallest part of a limit, where none is ranked."""
    misses = readings.result.misses
    part = (misses["margin"] / misses["limit"].abs()).abs()
    worst = part.groupby(misses["parcel_id"]).max().dropna().sort_values(kind="stable")
    sites = readings.result.sites.set_index("parcel_id", drop=False)
    near = [sites.loc[parcel].to_dict() for parcel in worst.index[:_MOST_MISSES]]
    rows = tuple((readings.title(site), reason_sentence(site, readings.result)) for site in near)
    if rows:
        yield Table(
            "The nearest misses, nearest first",
            ("Nearest misses", "Why not"),
            rows,
            _wide(page, 0.3, 0.7),
        )


def _ranking(readings: Readings, page: Page) -> Table:
    ranks = [int(site["rank"]) for site in readings.ranked]
    needs = readings.result.conditions.groupby("parcel_id")["needs"].agg(list).to_dict()
    rows = []
    for site in readings.ranked[:_MOST_RANKED]:
        rank = int(site["rank"])
        rows.append(
            (
                ordinal(rank) + (", tied" if ranks.count(rank) > 1 else ""),
                readings.title(site),
                score_text(site["score"]),
                score_range_text(site["score_low"], site["score_high"]),
                percent_text(100 * float(site["known_share"])),
                joined([plain_cell(need) for need in needs.get(site["parcel_id"], [])]),
            )
        )
    return Table(
        "Ranked sites, best first",
        ("Rank", "Site", "Score of 100", "Range", "Known", "Only with"),
        tuple(rows),
        _wide(page, 0.11, 0.32, 0.11, 0.14, 0.09, 0.23),
        bold=(0, 2),
    )


def _matrix(readings: Readings, page: Page) -> Iterator[Table]:
    """Put criteria against sites, value and word; some sites a table, so that it can be read."""
    sites = readings.ranked[:_MOST_IN_MATRIX]
    tables = -(-len(sites) // _ACROSS)
    across = -(-len(sites) // max(tables, 1))  # of even width, not five and one
    for start in range(0, len(sites), max(across, 1)):
        some = sites[start : start + across]
        rows = []
        for chosen in readings.weighed:
            name = plain_name(chosen)
            cells = [_value_and_word(readings, site, chosen) for site in some]
            rows.append((name[:1].upper() + name[1:], *cells))
        total = [f"{score_text(s['score'])} of 100" for s in some]
        names = [f"Site {site['site_no']}" for site in some]
        rows.append(("Score", *total))
        yield Table(
            f"Measured values and words of {joined(names)}",
            ("Question", *names),
            tuple(rows),
            tuple(
                share * page.text_mm / (1.1 + max(across, 3)) for share in (1.1, *[1.0] * len(some))
            ),
            bold=(0,),
        )


def _value_and_word(readings: Readings, site: dict[str, Any], chosen: Chosen) -> Parts:
    value, word = readings.value(site, chosen), readings.marked_word(site, chosen)
    return word if word.endswith(value) else ((f"{value} ", True), (word, False))


def _land(readings: Readings, page: Page) -> Iterator[Block]:
    result = readings.result
    out = result.sites[result.sites["status"] != "ranked"]
    if out.empty and result.ledger.empty:
        return
    yield Heading("Land considered, and what was left out")
    misses: dict[Any, list[dict[str, Any]]] = {}
    for miss in rows_of(result.misses):
        misses.setdefault(miss["parcel_id"], []).append(miss)
    rules: dict[str, int] = {}
    rows = []
    for site in rows_of(out):
        own = misses.get(site["parcel_id"], [])
        rule = first_rule(site, own, result.study.units)
        rules[rule] = rules.get(rule, 0) + 1
        reason = reason_sentence(site, result, misses=own)
        rows.append((readings.title(site), STATUS_TEXTS[site["status"]], reason))
    if rows:
        tally = sorted(rules.items(), key=lambda item: (-item[1], item[0]))
        yield Table(
            "Parcels left out by rule; each is counted once, under the first rule that it misses",
            ("Rule, each parcel counted once", "Parcels"),
            tuple((rule[:1].upper() + rule[1:], f"{count:,}") for rule, count in tally),
            _wide(page, 0.8, 0.2),
        )
        yield Table(
            "Parcels left out, with the reason",
            ("Parcel", "Verdict", "Why"),
            tuple(rows[:_MOST_OUT]),
            _wide(page, 0.27, 0.21, 0.52),
        )
        if len(rows) > _MOST_OUT:
            yield Paragraph(
                f"The first {_MOST_OUT} of {len(rows):,} are listed; sites.csv has all.", "note"
            )
    yield from _ledger(result, page)


def _ledger(result: Result, page: Page) -> Iterator[Block]:
    """What was taken off the parcels before the play area was placed."""
    taken = result.ledger[result.ledger["removed_m2"] > 0]
    if taken.empty:
        return
    rows = []
    for rule, part in taken.groupby("rule", sort=True):
        sources = sorted({plain_cell(source) for source in part["source"]} - {""})
        area = area_text(float(part["removed_m2"].sum()), result.study.units)
        rows.append(
            (
                in_readers_units(str(rule), result.study.units),
                f"{part['parcel_id'].nunique():,}",
                area,
                joined(sources),
            )
        )
    yield Heading("What could not be built on", 2)
    yield Table(
        "Land taken off the parcels, by rule",
        ("Rule", "Parcels", "Area, all together", "Source"),
        tuple((rule[:1].upper() + rule[1:], *rest) for rule, *rest in rows),
        _wide(page, 0.38, 0.1, 0.2, 0.32),
    )


def _assumptions(readings: Readings, page: Page) -> Iterator[Block]:  # noqa: ARG001
    result = readings.result
    study, pad = result.study, result.pad
    size = pad_size_text(pad.length_m, pad.width_m, study.units)
    off = distance_text(study.line_error_m, study.units)
    why = in_readers_units(pad.why, study.units).rstrip(".")
    items = [
        f"The play area is {size} ({area_text(pad.area_m2, study.units)}): {why}.",
        f"Kept clear of lot lines: {in_readers_units(study.setbacks, study.units)}."
        if study.setbacks
        else "",
        f"Lot lines on the map may be off by {off}. Only a boundary survey settles them.",
        _whose_weights(result),
        f"A site is ranked only where at least {percent_text(study.least_known_pct)} of the weight could be measured.",
        data_dates(result, tuple(dict.fromkeys(result.layers["kind"]))),
    ]
    yield Heading("What was assumed")
    yield Bullets(tuple(item for item in items if item))


def _whose_weights(result: Result) -> str:
    if len(result.members):
        return f"The weights are the medians of those that {len(result.members)} members of a working group gave."
    return (
        f"The weights are those of the {result.study.profile} profile."
        if result.study.profile
        else ""
    )


def _noticed(readings: Readings, page: Page) -> Iterator[Block]:
    said = [f for f in readings.result.findings if f.weight in {"loud", "caution"}]
    said.sort(key=lambda finding: finding.weight != "loud")
    if said:
        yield Heading("What was noticed in the data")
        yield _findings(said, readings.result, page)


def _findings(findings: Sequence[Finding], result: Result, page: Page) -> Table:
    rows = tuple(
        (
            finding.layer.replace("_", " "),
            _in_units(
                f"{finding.what}{f' ({finding.where})' if one_line(finding.where) else ''}", result
            ),
            _in_units(finding.done, result),
            _in_units(finding.remedy, result),
        )
        for finding in findings
    )
    return Table(
        "What was noticed in the data, what was done, and what is left to do",
        ("Layer", "Noticed", "Done about it", "Left to do"),
        rows,
        _wide(page, 0.13, 0.37, 0.25, 0.25),
    )


def _in_units(text: str, result: Result) -> str:
    return in_readers_units(text, result.study.units)


def _results(readings: Readings, page: Page) -> Iterator[Block]:
    if not readings.ranked:
        return
    yield Heading("Results")
    if readings.result.shows_order:
        yield total_bars(readings.result, page.text_mm)
    yield score_bars(readings, page.text_mm)
    if readings.result.shows_order:
        yield Heading("Site by site", 2)
        yield from _matrix(readings, page)
        if len(readings.ranked) > _MOST_IN_MATRIX:
            yield Paragraph(f"The first {_MOST_IN_MATRIX} sites; measurements.csv has all.", "note")


def _sheets(readings: Readings, page: Page) -> Iterator[Block]:
    if readings.short_list:
        yield Heading("Site sheets", new_page=True)
    for number, site in enumerate(readings.short_list):
        yield from site_sheet(readings, site, page, is_first=number == 0)


def _cautions(readings: Readings, page: Page) -> Iterator[Block]:  # noqa: ARG001
    yield Heading("Cautions", new_page=bool(readings.short_list))
    yield Bullets(CAUTIONS)


def _next_steps(readings: Readings, page: Page) -> Iterator[Block]:
    """Say who does what next, by role."""
    result = readings.result
    by_parcel = {site["parcel_id"]: f"Site {site['site_no']}" for site in readings.short_list}
    steps = []
    open_at = list(
        dict.fromkeys(by_parcel[p] for p in result.unknowns["parcel_id"] if p in by_parcel)
    )
    if open_at:
        steps.append(
            (
                "Parks staff",
                f"Visit {joined(open_at)} and settle what is not known yet; the site sheets list the tasks.",
            )
        )
    steps += [
        (
            "Parks staff",
            f"Plan {plain_cell(row['needs'])} at {by_parcel[row['parcel_id']]}, and its cost.",
        )
        for row in rows_of(result.conditions)
        if row["parcel_id"] in by_parcel
    ]
    steps += [
        ("Keeper of the map data", _in_units(finding.remedy, result))
        for finding in result.findings
        if finding.remedy and finding.weight != "note"
    ]
    if by_parcel:
        steps += [
            ("Council", "Choose the site or sites to take to survey and design."),
            ("Licensed surveyor", "Survey boundary and ground of the chosen site."),
            ("Whoever digs", "Call 811 (or the local one-call service) before any digging, soil tests too; have private lines located."),
            ("Licensed landscape architect or engineer", "Prepare layout, grading, drainage and the step-free way in."),
            ("Certified playground safety inspector", "Check layout, surfacing and what was built against the standards in force."),
        ]  # fmt: skip
    else:
        steps.append(
            (
                "Council",
                "Decide whether to look at more land, at a smaller play area, or at the rules that can be changed.",
            )
        )
    yield Heading("Next steps")
    yield Table(
        "Next steps by role",
        ("Who", "Step"),
        tuple(dict.fromkeys(steps)),
        _wide(page, 0.28, 0.72),
        bold=(0,),
    )


def _appendix(readings: Readings, page: Page) -> Iterator[Block]:
    result = readings.result
    yield Heading("Appendix: sources and record")
    if len(result.layers):
        rows = tuple(
            (
                str(row["kind"]).replace("_", " "),
                PurePath(str(row["path"])).name,
                plain_cell(row["date"]) or "not known",
                f"{int(row['features']):,}" if plain_cell(row["features"]) else "",
                plain_cell(row["credit"]),
                plain_cell(row["sha256"])[:12],
            )
            for row in rows_of(result.layers)
        )
        head = ("Layer", "File", "Date", "Features", "Credit", "SHA-256 begins")
        yield Table(
            "Sources and dates of the layers",
            head,
            rows,
            _wide(page, 0.14, 0.22, 0.11, 0.1, 0.26, 0.17),
        )
    notes = [finding for finding in result.findings if finding.weight == "note"]
    if notes:
        yield Heading("Also noticed", 2)
        yield _findings(notes, result, page)
    yield Heading("Record of the run", 2)
    digest = hashlib.sha256(run_text(result).encode()).hexdigest()
    study = result.study
    yield Paragraph(
        f"{study.title}. Made on {study.made_on} with version {study.version}, coordinates {study.crs}. "
        f"SHA-256 of run.json: {digest}.",
        "note",
    )
