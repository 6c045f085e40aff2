"""The command that writes a study's memo again, from what is remembered of its run."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

__all__ = ["memo"]


@click.command()
@click.argument("study", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the memo; else results/ beside the study.",
)
@click.option(
    "--letterhead",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    help="A Word document whose head and foot memo.docx takes; else the study's own letterhead.",
)
def memo(study: Path, out: Path | None, letterhead: Path | None) -> None:
    """Write a STUDY's memo again: memo.docx, memo.pdf and memo.html.

    Nothing is measured where nothing changed since the last run. Other files in the folder stay
    as they are, and so does a memo that was edited by hand, under another name.
    """
    from playsite.report.memo import write_memo  # noqa: PLC0415
    from playsite.report.output_folder import files_written_whole  # noqa: PLC0415
    from playsite.study import run  # noqa: PLC0415

    result = run(study)
    if letterhead is not None:
        result = replace(result, study=replace(result.study, letterhead=letterhead))
    folder = out if out is not None else result.study.folder / "results"
    with files_written_whole(folder) as fresh:
        write_memo(result, fresh)
    click.echo(f"Memo: {(folder / 'memo.pdf').resolve()}, and as .docx and .html")
    click.echo("Screening only, not a survey. Call 811 before any digging.")
