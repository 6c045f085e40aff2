"""The command that sets two runs side by side."""

from __future__ import annotations

from pathlib import Path

import click

__all__ = ["compare"]

_RUN = click.Path(path_type=Path, file_okay=False)


@click.command()
@click.argument("before", type=_RUN)
@click.argument("after", type=_RUN)
@click.option(
    "--table",
    type=click.Path(path_type=Path, dir_okay=False),
    help="CSV file for the sites that changed.",
)
def compare(before: Path, after: Path, table: Path | None) -> None:
    """Say what changed between two runs, BEFORE and AFTER, and why: two folders of results.

    Inputs, settings, weights, visits and versions; then, site by site, statuses, ranks, scores and
    measured values.
    """
    from playsite.report.changes import site_changes  # noqa: PLC0415
    from playsite.report.comparing import comparison_lines, read_run  # noqa: PLC0415
    from playsite.report.tables import changes_text  # noqa: PLC0415
    from playsite.whole_file import write_whole  # noqa: PLC0415

    runs = read_run(before), read_run(after)
    for line in comparison_lines(*runs):
        click.echo(line)
    if table is not None:
        changes = site_changes(runs[0].picture, runs[1].picture)
        write_whole(table, changes_text(changes), "the table")
        click.echo(f"Table: {table.resolve()}")
