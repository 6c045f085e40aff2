"""Pointers of a Word document from a number to its row of the evidence table."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls

from playsite.report.memo.styles import give_style

if TYPE_CHECKING:
    from playsite.report.memo.blocks import Keys

__all__ = ["add_anchor", "add_keys", "anchor_name"]


def anchor_name(key: str) -> str:
    """Name of a key's bookmark: letters, digits and low lines alone.

    Examples
    --------
    >>> anchor_name("V4")
    'evidence_V4'
    """
    return "evidence_" + re.sub(r"\W", "_", key)


def add_keys(paragraph: Any, keys: Keys) -> None:
    """Set keys in brackets at the end of a paragraph, each a link to its row."""
    if not keys:
        return
    _add_key_run(paragraph, " [")
    for number, key in enumerate(keys):
        if number:
            _add_key_run(paragraph, ", ")
        link = parse_xml(f'<w:hyperlink {nsdecls("w")} w:anchor="{anchor_name(key)}"/>')
        link.append(_add_key_run(paragraph, key)._r)  # noqa: SLF001
        paragraph._p.append(link)  # noqa: SLF001  (python-docx makes no links within)
    _add_key_run(paragraph, "]")


def _add_key_run(paragraph: Any, text: str) -> Any:
    run = paragraph.add_run(text)
    give_style(run, "Evidence Key")
    return run


def add_anchor(paragraph: Any, key: str) -> None:
    """Let a paragraph be found by its key."""
    name = anchor_name(key)
    number = sum(map(ord, name)) * 1000 + len(name)
    body = paragraph._p  # noqa: SLF001
    for ends in ("Start", "End"):
        named = f' w:name="{name}"' if ends == "Start" else ""
        body.append(parse_xml(f'<w:bookmark{ends} {nsdecls("w")} w:id="{number}"{named}/>'))
