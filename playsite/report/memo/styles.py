"""The memo's letters, sizes and lines as styles of a Word document."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from docx.enum.style import WD_STYLE_TYPE
from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls, qn
from docx.shared import Mm, Pt, RGBColor

from playsite.report.ink import INK, SERIF
from playsite.report.memo.letters import STYLES

__all__ = ["TABLE_STYLE", "add_styles", "give_style"]

TABLE_STYLE = "Sheet Table"


def give_style(place: Any, name: str) -> None:
    """Give a paragraph or a run one of the styles: named lookups pass all of them each time."""
    element = place._p if hasattr(place, "_p") else place._r  # noqa: SLF001
    element.style = _style_ids(place.part)[name]


@lru_cache(maxsize=1)
def _style_ids(part: Any) -> dict[str, str]:
    return {style.name: style.style_id for style in part.document.styles}


def add_styles(document: Any) -> None:
    """Set every style that the memo uses, in a document made from the plain template."""
    for style in list(document.styles):
        if style.type == WD_STYLE_TYPE.TABLE and style.name != "Normal Table":
            style.delete()  # a hundred of the template's, which every look-up would pass
    known = {style.name for style in document.styles}
    for name, look in STYLES.items():
        there = name in known
        style = (
            document.styles[name]
            if there
            else document.styles.add_style(name, WD_STYLE_TYPE.PARAGRAPH)
        )
        if not there:
            style.base_style = document.styles["Normal"]
        _set_letters(style, look)
        _set_space(style, look)
        _set_lines(style, look)
    bullet = document.styles["List Bullet"]
    for numbering in bullet.element.findall(f"{qn('w:pPr')}/{qn('w:numPr')}"):
        numbering.getparent().remove(numbering)  # the mark says the word, so it stands in the text
    bullet.paragraph_format.left_indent, bullet.paragraph_format.first_line_indent = (
        Mm(4.5),
        Mm(-4.5),
    )
    bullet.paragraph_format.tab_stops.add_tab_stop(Mm(4.5))
    number = document.styles.add_style("Score Number", WD_STYLE_TYPE.CHARACTER)
    _set_letters(number, {"font": SERIF, "size": 24, "ink": "overprint-deep"})
    key = document.styles.add_style("Evidence Key", WD_STYLE_TYPE.CHARACTER)
    _set_letters(key, {"size": 7.5, "ink": "ink-3"})
    for name in ("Header", "Footer"):
        document.styles[name].paragraph_format.tab_stops.clear_all()
    _add_table_style(document)


def _set_letters(style: Any, look: dict[str, Any]) -> None:
    font = style.font
    font.size, font.bold, font.italic = Pt(look["size"]), look.get("bold", False), False
    font.color.rgb = RGBColor.from_string(INK[look.get("ink", "ink")][1:])
    if "font" not in look:
        return
    font.name = look["font"]
    fonts = style.element.rPr.rFonts
    for name in ("asciiTheme", "hAnsiTheme", "eastAsiaTheme", "cstheme"):
        fonts.attrib.pop(qn(f"w:{name}"), None)  # a font of the theme would win over the named one
    for name in ("eastAsia", "cs"):
        fonts.set(qn(f"w:{name}"), look["font"])


def _set_space(style: Any, look: dict[str, Any]) -> None:
    space = style.paragraph_format
    space.space_before, space.space_after = Pt(look.get("before", 0)), Pt(look["after"])
    space.line_spacing = look.get("leading", 1.0)
    space.keep_with_next = look.get("keep", False)
    space.widow_control = True


def _set_lines(style: Any, look: dict[str, Any]) -> None:
    properties = style.element.get_or_add_pPr()
    for old in properties.findall(qn("w:pBdr")) + properties.findall(qn("w:shd")):
        properties.remove(old)
    line = ""
    if "rule" in look:
        line = f'<w:{look["rule"]} w:val="single" w:sz="8" w:space="3" w:color="{INK["ink"][1:]}"/>'
    elif "wash" in look:
        line = f'<w:left w:val="single" w:sz="24" w:space="6" w:color="{INK["caution-edge"][1:]}"/>'
    if line:
        _insert(properties, f"<w:pBdr {nsdecls('w')}>{line}</w:pBdr>")
    if "wash" in look:
        wash = INK["caution-wash"][1:]
        _insert(properties, f'<w:shd {nsdecls("w")} w:val="clear" w:color="auto" w:fill="{wash}"/>')


def _insert(properties: Any, xml: str) -> None:
    """Put an element where the order of the schema wants it: before tabs and spacing."""
    later = {qn(f"w:{name}") for name in ("shd", "tabs", "suppressAutoHyphens", "spacing", "ind", "contextualSpacing", "jc", "outlineLvl")}  # fmt: skip
    element = parse_xml(xml)
    for place, child in enumerate(properties):
        if child.tag in later:
            properties.insert(place, element)
            return
    properties.append(element)


def _add_table_style(document: Any) -> None:
    """Hairlines between rows, an ink line under the head; no boxes, no stripes."""
    style = document.styles.add_style(TABLE_STYLE, WD_STYLE_TYPE.TABLE)
    hair, ink = INK["rule"][1:], INK["ink"][1:]
    style.element.append(
        parse_xml(
            f"<w:tblPr {nsdecls('w')}><w:tblBorders>"
            f'<w:bottom w:val="single" w:sz="4" w:color="{hair}"/>'
            f'<w:insideH w:val="single" w:sz="4" w:color="{hair}"/></w:tblBorders>'
            '<w:tblCellMar><w:left w:w="0" w:type="dxa"/><w:right w:w="85" w:type="dxa"/></w:tblCellMar></w:tblPr>'
        )
    )
    style.element.append(
        parse_xml(
            f'<w:tblStylePr {nsdecls("w")} w:type="firstRow"><w:tcPr><w:tcBorders>'
            f'<w:bottom w:val="single" w:sz="8" w:color="{ink}"/></w:tcBorders></w:tcPr></w:tblStylePr>'
        )
    )
