"""All outputs of a run, written whole or not at all."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.ballot_page import write_ballot
from playsite.report.memo import write_memo
from playsite.report.output_folder import written_whole
from playsite.report.tables import write_tables
from playsite.report.web_map import write_map
from playsite.report.words_left import write_words_left

if TYPE_CHECKING:
    from pathlib import Path

    from playsite.result import Result

__all__ = ["write_all"]


def write_all(result: Result, folder: Path) -> None:
    """Write map, ballot, the memo as DOCX, PDF and HTML, the tables and run.json into a folder.

    Raises
    ------
    InputError
        If the folder can't be written; what stood there before is kept.
    """
    with written_whole(folder) as fresh:
        write_map(result, fresh / "map.html")
        if len(result.ranked) > 1:
            write_ballot(result, fresh / "ballot.html")
        write_memo(result, fresh)
        write_tables(result, fresh)
        if result.study.words.language != "en":
            write_words_left(result, fresh / "words_left.toml")
