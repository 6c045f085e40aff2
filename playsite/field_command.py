"""The commands of the field visit: sheets to take along, and values that come back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from playsite.study.field_return import Returned

__all__ = ["field"]


@click.group()
@click.argument("study", type=click.Path(path_type=Path))
@click.pass_context
def field(context: click.Context, study: Path) -> None:
    """Take a STUDY to the field, and bring back what was found.

    Screening only. Call 811 (or the local one-call service) before any digging, soil tests too.
    """
    context.obj = study


@field.command()
@click.argument("parcels", nargs=-1)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the kit; else field_kit/ beside the study.",
)
@click.pass_obj
def kit(study: Path, parcels: tuple[str, ...], out: Path | None) -> None:
    """Make a sheet to print for each site of the short list, or for PARCELS, and a CSV to fill in.

    Each sheet has the corners of the play area, its plan to scale, and what to measure there, the
    most doubtful first.
    """
    from playsite.report.field_kit import CSV_FILE, write_kit  # noqa: PLC0415
    from playsite.study import run  # noqa: PLC0415

    result = run(study)
    folder = out if out is not None else result.study.folder / "field_kit"
    for name in write_kit(result, folder, parcels):
        click.echo(f"Sheet: {(folder / name).resolve()}")
    click.echo(f"To fill in: {(folder / CSV_FILE).resolve()}")
    click.echo(f"Then: playsite field {study} read {folder / CSV_FILE}")
    click.echo("Screening only. Call 811 before any digging, soil tests too.")


@field.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.pass_obj
def read(study: Path, file: Path) -> None:
    """Read a filled-in FILE into visits.csv beside the study, and say what it changes.

    A value from a visit counts in place of the map's, which is kept. A row is taken back by one
    of the same parcel_id, criterion and date with "withdrawn" as its value, and why in its note.
    """
    from playsite.report.cost_changes import note_lines  # noqa: PLC0415
    from playsite.study.field_return import read_visits  # noqa: PLC0415

    done = read_visits(study, file)
    for line in _counted(done):
        click.echo(line)
    for finding in done.after.findings:
        if finding not in done.before.findings:
            click.echo(f"Caution: {finding}")
    for line in note_lines(done.before, done.after):
        click.echo(line)
    if done.added:
        click.echo(f"Log: {(done.before.study.folder / 'visits.csv').resolve()}")
        click.echo(f"Next: playsite rank {study}")


def _counted(done: Returned) -> list[str]:
    rows = len(done.added)
    said = [f"{rows} row{'s' if rows != 1 else ''} read." if rows else "Nothing new was read."]
    if done.known:
        said.append(f"Already in the log: {done.known}.")
    if done.left_out:
        lines = ", ".join(map(str, done.left_out))
        said.append(f"Left out, since they have no value: line {lines}.")
    return said
