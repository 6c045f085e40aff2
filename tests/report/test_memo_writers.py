"""One memo, three writers: the same words and numbers, and files that others can open and read out."""

import io
import itertools
import re
import shutil
import subprocess
from collections import Counter
from dataclasses import replace

import pytest
from docx import Document
from docx.oxml.ns import qn
from docx.shared import Mm
from lxml import html
from pypdf import PdfReader
from report.made_up_result import made_up_result
from report.memo_file import opened_memo

from playsite.errors import InputError
from playsite.problems import Finding
from playsite.report.memo import memo_of
from playsite.report.memo.blocks import Bullets, Figure, Heading, Page, Table
from playsite.report.memo.document import save_document
from playsite.report.memo.pdf import pdf_of
from playsite.report.memo.web import html_of
from playsite.report.memo.words import cell_pieces, figure_caption, pieces, table_caption

NUMBER = re.compile(r"\d+(?:[.,]\d+)*")
RESULTS = {
    "feet": made_up_result(findings=(Finding("12 trees <b>lie</b> & in streets", layer="trees"),)),
    "metres": made_up_result(units="metres"),
    "none": made_up_result(9, statuses=("screened out", "does not fit")),
}


@pytest.fixture(scope="module", params=RESULTS)
def made(request, tmp_path_factory):
    memo = memo_of(RESULTS[request.param])
    file = tmp_path_factory.mktemp(request.param) / "memo.docx"
    save_document(memo, file)
    pdf = PdfReader(io.BytesIO(pdf_of(memo)))
    return memo, Document(str(file)), pdf, html.fromstring(html_of(memo))


def packed(text):
    """Text without blanks: where a line ends is the page's own affair."""
    return re.sub(r"\s+", "", text)


def sayings(memo):
    """Every text of the model, as it is to be read."""
    for block in memo.blocks:
        if isinstance(block, Heading):
            yield block.text
        elif isinstance(block, Bullets):
            yield from block.items
        elif isinstance(block, Figure):
            yield " ".join(figure_caption(block))
        elif isinstance(block, Table):
            yield " ".join(table_caption(block))
            yield from block.head
            for row in block.rows:
                for at, cell in enumerate(row):
                    given = cell_pieces(block, at, cell)
                    for one in given if isinstance(cell, Bullets) else [given]:
                        yield "".join(text for text, _ in one)
        else:
            yield "".join(text for text, _ in pieces(block.parts))


def docx_text(document):
    return "\n".join(
        "".join(t.text or "" for t in p.iter(qn("w:t")))
        for p in document.element.body.iter(qn("w:p"))
    )


def pdf_text(pdf, memo):
    """Text of all pages without what stands at the head and foot of each."""
    said = []
    for page in pdf.pages:
        text = packed(page.extract_text())
        for edge in ("".join(memo.head), memo.foot):
            assert packed(edge) in text
            text = text.replace(packed(edge), "")
        said.append(re.sub(r"page\d+of\d+$", "", text))
    return "".join(said)


def html_text(page):
    return " ".join(page.xpath("//main//text()"))


def test_each_output_says_every_text_of_the_memo(made):
    memo, document, pdf, page = made
    outputs = (packed(docx_text(document)), pdf_text(pdf, memo), packed(html_text(page)))
    said = [packed(text) for text in sayings(memo)]
    assert len(said) > 30
    for output in outputs:
        assert not [text for text in said if text not in output]


def test_the_three_outputs_hold_the_same_numbers_equally_often(made):
    _, document, _, page = made
    assert Counter(NUMBER.findall(docx_text(document))) == Counter(NUMBER.findall(html_text(page)))


def test_the_pdf_holds_no_letter_more_or_less_than_the_document(made):
    """All but the heads of tables, which stand again on each page that a table runs over."""
    memo, document, pdf, _ = made
    of_pdf, of_docx = Counter(pdf_text(pdf, memo)), Counter(packed(docx_text(document)))
    heads = Counter(packed("".join("".join(b.head) for b in memo.blocks if isinstance(b, Table))))
    bullets = Counter("•●○?")  # pypdf reads a mark beside its line as it likes
    assert not (of_docx - of_pdf) - bullets
    more = of_pdf - of_docx
    assert all(heads[letter] for letter in more if letter not in bullets)


def structure(node, kinds):
    """Every element of the tree of tags, with its kind."""
    node = node.get_object()
    if "/S" in node:
        kinds.append((node["/S"], node))
    children = node.get("/K", [])
    for each in children if isinstance(children, list) else [children]:
        child = each.get_object() if hasattr(each, "get_object") else each
        if isinstance(child, dict) and child.get("/Type") != "/MCR":
            structure(child, kinds)
    return kinds


def test_the_pdf_is_tagged_with_language_title_heads_and_words_for_pictures(made):
    """PDF/UA-1 (ISO 14289-1): 7.1 marked, titled; 7.2 language; 7.3 alternatives of figures; 7.5 table headers."""
    memo, _, pdf, _ = made
    root = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert str(root["/Lang"]).lower() == "en-us"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert pdf.metadata.title == memo.title
    assert not pdf.metadata.author
    assert "pdfuaid" in root["/Metadata"].get_object().get_data().decode()
    kinds = structure(root["/StructTreeRoot"], [])
    count = Counter(kind for kind, _ in kinds)
    figures = [block for block in memo.blocks if isinstance(block, Figure)]
    told = {str(node["/Alt"]) for kind, node in kinds if kind == "/Figure"}
    assert {packed(figure.alt) for figure in figures} <= {packed(text) for text in told}
    tables = [block for block in memo.blocks if isinstance(block, Table)]
    assert count["/Table"] == len(tables)
    assert count["/TH"] == sum(len(table.head) for table in tables)
    heads = [block for block in memo.blocks if isinstance(block, Heading)]
    assert sum(count[f"/H{level}"] for level in range(1, 7)) == len(heads)


def test_every_font_of_the_pdf_is_in_it(made):
    _, _, pdf, _ = made
    fonts = {}
    for page in pdf.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            given = font.get_object()
            inner = (
                given["/DescendantFonts"][0].get_object() if "/DescendantFonts" in given else given
            )
            about = inner["/FontDescriptor"].get_object()
            fonts[given["/BaseFont"]] = any(f"/FontFile{n}" in about for n in ("", "2", "3"))
    assert fonts
    assert all(fonts.values())


def test_a_level_of_heads_is_never_left_out(made):
    levels = [block.level for block in made[0].blocks if isinstance(block, Heading)]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))


def test_the_page_needs_nothing_from_outside_and_can_be_read_out(made):
    memo, _, _, page = made
    assert page.get("lang") == "en-US"
    assert page.findtext("head/title") == memo.title
    assert not page.xpath("//script|//link|//iframe")
    assert all(src.startswith("data:image/svg+xml;base64,") for src in page.xpath("//img/@src"))
    assert all(len(alt) > 30 for alt in page.xpath("//img/@alt"))
    assert len(page.xpath("//h1")) == 1
    assert all(th.get("scope") == "col" for th in page.xpath("//th"))
    assert all(table.find("caption") is not None for table in page.xpath("//table"))
    targets = set(page.xpath("//@id"))
    assert all(link.startswith("#") and link[1:] in targets for link in page.xpath("//a/@href"))


def test_letters_that_no_font_has_are_boxes_in_the_pdf_and_stay_in_the_others(tmp_path):
    result = made_up_result(4, names={1: "日本語 \U0001f6dd green", 2: "العربية"})
    memo = memo_of(result)
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf_of(memo))).pages)
    assert "green" in text
    assert "日本語" in html_of(memo)
    assert "日本語" in docx_text(opened_memo(result, tmp_path))


@pytest.fixture
def letterhead(tmp_path):
    document = Document()
    section = document.sections[0]
    section.header.paragraphs[0].text = "Parks office of a made-up town"
    section.footer.paragraphs[0].text = "1 Harrow Road"
    section.top_margin = Mm(45)
    document.add_paragraph("What the office's template says in its body.")
    document.save(tmp_path / "letterhead.docx")
    return tmp_path / "letterhead.docx"


def test_a_letterhead_gives_head_foot_and_room_and_the_memo_its_own_words(letterhead, tmp_path):
    memo = memo_of(RESULTS["feet"])
    save_document(memo, tmp_path / "memo.docx", letterhead=letterhead)
    document = Document(str(tmp_path / "memo.docx"))
    section = document.sections[0]
    assert section.header.paragraphs[0].text == "Parks office of a made-up town"
    foot = [paragraph.text for paragraph in section.footer.paragraphs]
    assert foot[0] == "1 Harrow Road"
    assert foot[1].startswith("Screening only, not a survey. Call 811 before any digging.")
    assert section.top_margin == pytest.approx(Mm(45), abs=700)
    assert section.left_margin == pytest.approx(Mm(memo.page.side_mm), abs=700)
    text = packed(docx_text(document))
    assert "template" not in text
    assert all(packed(said) in text for said in sayings(memo))


def test_what_is_no_letterhead_is_said_with_its_file(tmp_path):
    file = tmp_path / "office.docx"
    file.write_text("no document", "utf-8")
    with pytest.raises(InputError, match=r"office\.docx.*can't be opened as a Word document"):
        save_document(memo_of(RESULTS["none"]), tmp_path / "memo.docx", letterhead=file)


@pytest.mark.slow
@pytest.mark.skipif(not shutil.which("soffice"), reason="LibreOffice (soffice) is not installed")
def test_libreoffice_opens_the_document_and_says_the_same(tmp_path):
    memo = memo_of(RESULTS["metres"])
    save_document(memo, tmp_path / "memo.docx")
    home = f"-env:UserInstallation=file://{tmp_path}/office"
    command = ["soffice", home, "--headless", "--convert-to", "pdf", "--outdir", tmp_path, tmp_path / "memo.docx"]  # fmt: skip
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    pdf = PdfReader(tmp_path / "memo.pdf")
    text = packed("".join(page.extract_text() for page in pdf.pages))
    titles = [packed(block.text) for block in memo.blocks if isinstance(block, Heading)]
    assert all(title in text for title in titles)
    width = float(pdf.pages[0].mediabox.width) / 72 * 25.4
    assert width == pytest.approx(memo.page.width_mm, abs=1)


def test_pages_of_other_sizes_are_set_as_asked():
    memo = memo_of(RESULTS["none"])
    wide = replace(memo, page=Page(width_mm=300, height_mm=200, side_mm=20, plan_height_mm=80))
    box = PdfReader(io.BytesIO(pdf_of(wide))).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((300 / 25.4 * 72, 200 / 25.4 * 72), abs=0.5)  # fmt: skip
