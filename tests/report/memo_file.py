"""A memo of a result as a Word document, opened again."""

import io

from docx import Document
from pypdf import PdfReader

from playsite.report.memo import memo_of
from playsite.report.memo.document import save_document
from playsite.report.memo.pdf import pdf_of


def opened_memo(result, folder):
    save_document(memo_of(result), folder / "memo.docx")
    return Document(str(folder / "memo.docx"))


def pages_of_heads(memo):
    """Heads of the PDF, each with its page, in order."""
    reader = PdfReader(io.BytesIO(pdf_of(memo)))

    def flat(items):
        for item in items:
            yield from flat(item) if isinstance(item, list) else [item]

    return [
        (str(item.title), reader.get_destination_page_number(item)) for item in flat(reader.outline)
    ]
