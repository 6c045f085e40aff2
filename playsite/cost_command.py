"""The command that prices a study's sites."""

from __future__ import annotations

from pathlib import Path

import click

__all__ = ["cost"]


@click.command()
@click.argument("study", type=click.Path(path_type=Path))
@click.option("--parcel", help="The site whose lines are listed; else the first in rank.")
def cost(study: Path, parcel: str | None) -> None:
    """Price a STUDY's ranked sites: what each would cost, and what differs between them.

    Without a [cost] table in the study the shipped prices are used, and that is said. Cost is
    never in a score.
    """
    from playsite.report.cost_report import cost_lines  # noqa: PLC0415
    from playsite.study import run  # noqa: PLC0415

    result = run(study, price=True)
    if "cost" not in result.run.get("settings", {}):
        click.echo("The study has no [cost] table: shipped prices, a professional installation.")
    for line in cost_lines(result, parcel):
        click.echo(line)
    click.echo("Screening only, not a survey. Call 811 before any digging.")
