"""The command that drafts a study from a folder of map files."""

from __future__ import annotations

import sys
from pathlib import Path

import click

__all__ = ["new"]


@click.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option(
    "--from",
    "maps",
    required=True,
    type=click.Path(path_type=Path),
    help="Folder of map files: zips, geodatabases, shapefiles, rasters, whatever there is.",
)
def new(folder: Path, maps: Path) -> None:
    """Draft a study.toml in FOLDER from a folder of map files; each guess says its reason."""
    from playsite.drafting import draft_study  # noqa: PLC0415

    draft = draft_study(folder, maps, ask=_ask if sys.stdin.isatty() else None)
    click.echo(f"Written: {draft.file}")
    click.echo(f"Found: {', '.join(draft.layers) or 'nothing'}.")
    click.echo(f"Not found: {', '.join(draft.lacking) or 'nothing is lacking'}.")
    for question in draft.questions:
        click.echo(f"To be said by you: {question}")
    for sentence in draft.skipped[:10]:
        click.echo(f"Could not be read: {sentence}")
    click.echo(f"Next: playsite check {folder}")


def _ask(question: str, choices: list[str]) -> str | None:
    click.echo(question)
    for number, choice in enumerate(choices, start=1):
        click.echo(f"  {number}. {choice}")
    answer = click.prompt("Number, or Enter for none", default=0, type=int, show_default=False)
    return choices[answer - 1] if 1 <= answer <= len(choices) else None
