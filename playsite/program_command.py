"""The command that works a study's program out, before any ground is looked at."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from playsite.program import RequiredPad

__all__ = ["program"]


@click.command()
@click.argument("study", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Say it for other programs, in SI units.")
@click.option(
    "--drawing",
    type=click.Path(path_type=Path, dir_okay=False),
    help="SVG file for a concept drawing to scale, 1:200 on paper.",
)
def program(study: Path, drawing: Path | None, *, as_json: bool) -> None:
    """Work out a STUDY's program: use zones, areas, access, surfacing, and the pad it needs.

    Map files are not read. Programs beside the study's own are set side by side with it.
    """
    from playsite.problems import Problems  # noqa: PLC0415
    from playsite.settings import read_settings  # noqa: PLC0415
    from playsite.study import needed_pad, needed_pads  # noqa: PLC0415

    if drawing is not None and drawing.suffix.lower() != ".svg":
        raise click.BadParameter("name a file that ends in .svg.", param_hint="--drawing")
    problems = Problems()
    settings = read_settings(study, problems)
    problems.stop_if_any()
    pad, beside, units = needed_pad(settings), needed_pads(settings), settings.study.units
    if drawing is not None:
        _draw(pad, drawing, units)
    if as_json:
        _echo_json(pad, beside)
    else:
        _echo_text(pad, beside, units)
        if drawing is not None:
            click.echo(f"\nDrawing: {drawing.resolve()}")


def _echo_json(pad: RequiredPad, beside: dict[str, RequiredPad]) -> None:
    from playsite.report.program_report import program_json  # noqa: PLC0415

    programs = {name: program_json(each) for name, each in beside.items()}
    click.echo(json.dumps({**program_json(pad), "programs": programs}, indent=2, allow_nan=False))


def _echo_text(pad: RequiredPad, beside: dict[str, RequiredPad], units: str) -> None:
    from playsite.report.program_report import program_lines  # noqa: PLC0415
    from playsite.report.program_table import comparison_lines  # noqa: PLC0415

    for each in (pad, *beside.values()):
        for line in program_lines(each, units):
            click.echo(line)
        click.echo()
    if beside:
        click.echo("Side by side")
        for line in comparison_lines({"the study's program": pad, **beside}, units):
            click.echo(line)


def _draw(pad: RequiredPad, file: Path, units: str) -> None:
    """Write the drawing beside its place and give it its name: whole, or not at all."""
    from playsite.report.program_drawing import layout_svg  # noqa: PLC0415
    from playsite.whole_file import write_whole  # noqa: PLC0415

    write_whole(file, layout_svg(pad, units), "the drawing")
