"""The numbers of a memo's text, held against its evidence table."""

import itertools
import re

from playsite.report.memo.blocks import Bullets, Callout, Figure, Heading, Paragraph, Table
from playsite.report.memo.words import pieces
from playsite.result import CAUTIONS

NUMBER = re.compile(r"\d[\d,]*(?:\.\d+)?")
NAMES = re.compile(
    r"56R-08|Site \d+|Figure \d+|Table \d+|\b811\b|\b\d+-year\b|\b(?:class|Pub\.|Part) ?\d\w*|ASTM \w+|"
    r"1:[\d,]+|drawn \d+ times|ISO \d+|SHA-256|EPSG:\d+"
)
"""Numbers that are names, or the scale of a drawing: they measure nothing."""
EXEMPT = (*CAUTIONS, "SHA-256 of run.json", "Use zones by CPSC", "Keys in brackets, as [S4]")
"""Texts that cite or caution, the same in every memo; and the record of the run."""


def evidence(memo, names=()):
    """Numbers that each key's rows hold."""
    rows, key = {}, ""
    for block in memo.blocks:
        if isinstance(block, Table) and block.is_evidence:
            for row in block.rows:
                key = row[0] or key
                rows.setdefault(key, []).append(f"{row[1]} {row[2]}")
    return {key: set(numbers(" ".join(texts), names)) for key, texts in rows.items()}


def numbers(text, names=()):
    for name in names:
        text = text.replace(name, "")
    return [found.rstrip(",").removesuffix(".") for found in NUMBER.findall(NAMES.sub("", text))]


def running_text(memo):
    """Texts outside of tables, with their keys."""
    for block in memo.blocks:
        if isinstance(block, (Paragraph, Callout)):
            yield "".join(text for text, _ in pieces(block.parts)), block.evidence
        elif isinstance(block, Bullets):
            for item in block.items:
                yield item, block.evidence
        elif isinstance(block, Figure):
            yield f"{block.finding} {block.key}", block.evidence


def numbers_without_source(memo, names=()):
    """Numbers of the text that no row under its keys holds; names of places measure nothing."""
    held = evidence(memo, names)
    for text, keys in running_text(memo):
        if not text.startswith(EXEMPT) and not any(part in text for part in EXEMPT):
            own = set().union(*(held.get(key, set()) for key in keys))
            lost = [number for number in numbers(text, names) if number not in own]
            if lost:
                yield lost, keys, text


def cells_without_source(memo, names=()):
    """Numbers in the tables of body and site sheets that no row under the table's keys holds."""
    held = evidence(memo, names)
    for block in memo.blocks:
        if isinstance(block, Heading) and block.text == "Appendix":
            return
        if isinstance(block, Table):
            own = set().union(*(held.get(key, set()) for key in block.evidence))
            for cell in itertools.chain(*block.rows):
                if isinstance(cell, Bullets) and cell.mark == "?":
                    continue  # what to do in the field measures nothing yet
                texts = cell.items if isinstance(cell, Bullets) else [said_in(cell)]
                lost = [n for text in texts for n in numbers(text, names) if n not in own]
                if lost:
                    yield lost, block.title


def said_in(parts):
    return "".join(text for text, _ in pieces(parts))
