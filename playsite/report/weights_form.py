"""The paper form of swing weighting: each criterion from its worst to its best, points beside it."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from playsite.report.firm_facts import criterion_name
from playsite.report.ink import INK, SANS, SERIF
from playsite.report.people_units import in_readers_units
from playsite.report.wording import knot_text
from playsite.units import Unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from playsite.criteria._registry import Chosen

__all__ = ["form_csv", "form_html", "swing_text"]

_STYLE = f"""
body {{ font: 11pt/1.35 '{SANS}', system-ui, 'Noto Sans', 'Liberation Sans', Arial, sans-serif;
  color: {INK["ink"]}; max-width: 180mm; margin: 14mm auto; padding: 0 4mm; }}
h1 {{ font: 700 19pt/1.15 '{SERIF}', Palatino, P052, 'Noto Serif', Georgia, serif; margin: 0 0 3mm; }}
ol {{ padding-left: 6mm; }} li {{ margin: 1mm 0; }}
table {{ border-collapse: collapse; width: 100%; margin: 4mm 0; }}
th, td {{ text-align: left; vertical-align: top; padding: 2mm 2mm 2mm 0; font-weight: 400;
  border-bottom: .2mm solid {INK["rule"]}; }}
thead th {{ font-weight: 700; border-bottom: .4mm solid {INK["ink"]}; }}
td.fill {{ border: .3mm solid {INK["ink"]}; width: 20mm; height: 9mm; }}
tr {{ break-inside: avoid; }} small {{ color: {INK["ink-3"]}; }}
@page {{ margin: 12mm; }} @media print {{ body {{ margin: 0; }} }}
"""
_STEPS = """
Work alone and in silence. Nobody knows yet how any site scores.
Imagine a site that is at its worst on everything below. You may move one line from its worst to its \
best. Which one first? Give it 100.
Now each of the others: how much is its move from worst to best worth beside that one? Give 0 to 100; \
two may have the same.
Weigh the move that is printed, not the word: “traffic” may matter most to you, and its move from worst \
to best may still be small.
If you can only say an order, leave the points empty and write 1, 2, 3 under Order.
""".strip().split("\n")


def form_html(title: str, chosen: Sequence[Chosen], units: str) -> str:
    """Give the form as one page of HTML that prints on paper.

    Parameters
    ----------
    units
        ``"feet"`` or ``"metres"``: the units that people read.
    """
    rows = "\n".join(
        f"<tr><th scope='row'><b>{escape(_capital(criterion_name(each.name)))}</b><br>"
        f"<small>{escape(in_readers_units(each.criterion.question, units))}</small></th>"
        f"<td>{escape(_capital(in_readers_units(each.criterion.plain, units)))}: "
        f"{escape(swing_text(each, units))}</td><td class='fill'></td><td class='fill'></td></tr>"
        for each in chosen
        if each.weight > 0
    )
    steps = "".join(f"<li>{escape(step)}</li>" for step in _STEPS)
    return (
        f"<!DOCTYPE html>\n<html lang='en'><head><meta charset='utf-8'>"
        f"<meta name='viewport' content='width=device-width, initial-scale=1'>"
        f"<title>{escape(title)}: weights</title><style>{_STYLE}</style></head><body>\n"
        f"<h1>What matters, and how much?</h1>\n<p>{escape(title)}. "
        f"Member (a letter or a role, no name): ____________ Date: ____________</p>\n"
        f"<ol>{steps}</ol>\n<table><thead><tr><th>Question</th><th>From worst to best</th>"
        f"<th>Points</th><th>Order</th></tr></thead>\n<tbody>\n{rows}\n</tbody></table>\n"
        f"<p><small>The weights of every member are kept and shown; the median of all is what the score "
        f"uses. Below its worst a line scores 0, above its best 100; 50 is acceptable. Screening only, "
        f"not a survey.</small></p>\n</body></html>\n"
    )


def swing_text(chosen: Chosen, units: str) -> str:
    """Worst and best of a criterion's line: "from 200 ft to 60 ft"."""
    curve = chosen.curve
    text = [
        f"{knot.at:g}" if curve.unit is Unit.RATIO else knot_text(chosen, knot.at, units)
        for knot in curve.knots
    ]
    score = [knot.score for knot in curve.knots]
    worst = [t for t, s in zip(text, score, strict=True) if s == min(score)]
    best = [t for t, s in zip(text, score, strict=True) if s == max(score)]
    reads = f" ({in_readers_units(curve.reads, units)})" if curve.reads else ""
    between = "between " if len(best) > 1 else ""
    return f"from {' or '.join(worst)} to {between}{' and '.join(best)}{reads}"


def form_csv(chosen: Sequence[Chosen]) -> str:
    """Give the empty table of one member."""
    rows = "".join(f",{each.name},,\n" for each in chosen if each.weight > 0)
    return f"member,criterion,swing,rank\n{rows}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
