"""The commands of the steps: their options and help are built from each step's record."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from playsite.steps._contract import Parameter, Step

__all__ = ["step", "steps"]


class _Steps(click.Group):
    """Steps as sub-commands; one is loaded only when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Names of all installed steps."""
        from playsite.steps._registry import installed  # noqa: PLC0415

        return sorted(installed())

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Build one step's command from its record."""
        from playsite.steps._registry import load  # noqa: PLC0415

        return _command(load(cmd_name)[0])


@click.command(cls=_Steps)
def step() -> None:
    """Run one part of the chain alone, from files to files."""


@click.command()
def steps() -> None:
    """List the steps that are installed, with what each reads, takes and writes."""
    from playsite.errors import PlaysiteError  # noqa: PLC0415
    from playsite.report.steps_list import step_lines  # noqa: PLC0415
    from playsite.steps._registry import installed, load  # noqa: PLC0415

    for name in sorted(installed()):
        try:
            found, package = load(name)
        except PlaysiteError as error:
            click.echo(f"Left out: {error}", err=True)
            continue
        for line in step_lines(found, package):
            click.echo(line)


def _command(found: Step) -> click.Command:
    options: list[click.Parameter] = []
    for each in found.inputs:
        need = "" if each.needed else " (may be left out)"
        options.append(_file(each.name, f"{each.what}: {each.plain}{need}"))
    options.extend(_number(each) for each in found.parameters)
    for place, output in enumerate(found.outputs):
        options.append(_file(output.name, f"writes {output.what}: {output.plain}", due=place == 0))
    options.append(
        click.Option(["--crs"], help="Projected metres to bring the files to: EPSG:26918.")
    )

    def run(crs: str | None, **given: Any) -> None:
        from playsite.steps._running import run_step  # noqa: PLC0415

        named = {
            name.replace("_", "-"): value for name, value in given.items() if value is not None
        }
        numbers = {each.name for each in found.parameters}
        files = {name: value for name, value in named.items() if name not in numbers}
        values = {name: value for name, value in named.items() if name in numbers}
        for path in run_step(found, files, values, crs=crs).values():
            click.echo(path)

    return click.Command(found.name, callback=run, params=options, help=found.question)


def _file(name: str, plain: str, *, due: bool = False) -> click.Option:
    return click.Option([f"--{name}"], type=click.Path(path_type=Path), required=due, help=plain)


def _number(each: Parameter) -> click.Option:
    least, most = each.plausible
    told = f"{each.plain}; usual {each.default:g} {each.unit.value}, from {least:g} to {most:g}"
    return click.Option([f"--{each.name}"], help=f"{told} ({each.source}).")
