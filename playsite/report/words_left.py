"""Which texts of map and ballot have no words yet in the study's language."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.report.ballot_page import page as ballot
from playsite.report.web_map import page as web_map
from playsite.report.web_map.words import Translation, texts_of_script

if TYPE_CHECKING:
    from pathlib import Path

    from playsite.result import Result

__all__ = ["write_words_left"]


def write_words_left(result: Result, path: Path) -> None:
    """Write the texts that lack words as a file of words, to be filled in."""
    told = Translation(result.study.words)
    web_map.page_html(result, told)
    if len(result.ranked) > 1:
        ballot.ballot_html(result, told)
    script = texts_of_script(web_map.own_script() + ballot.own_script())
    path.write_text(told.as_toml(script), encoding="utf-8", newline="\n")
