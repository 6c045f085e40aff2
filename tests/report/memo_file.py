"""A memo of a result as a Word document, opened again."""

from docx import Document

from playsite.report.memo import memo_of
from playsite.report.memo.document import save_document


def opened_memo(result, folder):
    save_document(memo_of(result), folder / "memo.docx")
    return Document(str(folder / "memo.docx"))
