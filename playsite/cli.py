"""The command: check, rank, explain, criteria. Exit 0 done, 2 the input is at fault, 1 our fault."""

from __future__ import annotations

import sys
import traceback
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from playsite.compare_command import compare
from playsite.cost_command import cost
from playsite.engine import quietly
from playsite.errors import InputError, PlaysiteError
from playsite.fetch_command import fetch
from playsite.field_command import field
from playsite.memo_command import memo
from playsite.new_command import new
from playsite.program_command import program
from playsite.steps_cli import step, steps
from playsite.weights_command import weights

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from playsite.engine import Watch
    from playsite.problems import Finding

__all__ = ["main"]

STUDY = click.argument("study", type=click.Path(path_type=Path))
"""A study file, or the folder that holds a study.toml."""


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="playsite")
def commands() -> None:
    """Say where the playground should go, and why.

    Each STUDY is a study.toml, or the folder that holds one. Screening only: no result here is a
    survey or a design.
    """


@commands.command()
@STUDY
def check(study: Path) -> None:
    """Look through a study's settings and map data; say all that is wrong or was noticed."""
    from playsite.report.gate_report import gate_lines
    from playsite.study import check as gate

    settings, layers, findings = gate(study)
    units = settings.study.units
    for line in gate_lines(settings.study.title, layers.sources, findings, units):
        click.echo(line)


@commands.command()
@STUDY
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the results; else results/ beside the study.",
)
@click.option("--fresh", is_flag=True, help="Measure again even where nothing has changed.")
def rank(study: Path, out: Path | None, *, fresh: bool) -> None:
    """Rank a study's parcels; write map, memo and tables."""
    from playsite.report.wording import answer_sentence, tally_sentence
    from playsite.report.writing import write_all
    from playsite.study import run

    with _progress() as watch:
        result = run(study, watch=watch, fresh=fresh)
    folder = out if out is not None else result.study.folder / "results"
    write_all(result, folder)
    click.echo(answer_sentence(result))
    click.echo(tally_sentence(result))
    _echo_loud(result.findings, result.study.units)
    counting = int((result.visits["standing"] == "counts").sum())
    if counting:
        click.echo(
            f"Found on site visits, from visits.csv: {counting:,}. See changes.csv and the memo."
        )
    click.echo(f"Map:  {(folder / 'map.html').resolve()}")
    click.echo(f"Memo: {(folder / 'memo.pdf').resolve()}, and as .docx and .html")
    click.echo("Screening only, not a survey. Call 811 before any digging.")


@commands.command()
@STUDY
@click.argument("parcel")
@click.option("--against", help="Another parcel: why here and not there.")
def explain(study: Path, parcel: str, against: str | None) -> None:
    """Say why a PARCEL stands where it does, how firmly, or why it is out."""
    from playsite.report.explanation import explanation_lines
    from playsite.study import run

    with _progress() as watch:
        result = run(study, watch=watch)
    for line in explanation_lines(result, parcel, against=against):
        click.echo(line)


@commands.command()
def criteria() -> None:
    """List the criteria that are installed, with knots, sources and package."""
    from playsite.criteria._registry import installed, load
    from playsite.report.criteria_list import criterion_lines

    failed = []
    for name in sorted(installed()):
        try:
            criterion, package = load(name)
        except PlaysiteError as error:
            failed.append(str(error))
            continue
        for line in criterion_lines(criterion, package):
            click.echo(line)
    for sentence in failed:
        click.echo(f"Left out: {sentence}", err=True)


for _command in (new, fetch, field, compare, program, cost, memo, weights, step, steps):
    commands.add_command(_command)


def main() -> None:
    """Run the command; what goes wrong becomes one clear sentence and an exit code."""
    try:
        commands.main(standalone_mode=False)
    except click.exceptions.Abort:
        click.echo("Stopped; nothing was written.", err=True)
        sys.exit(1)
    except click.ClickException as error:
        error.show()
        sys.exit(2)
    except InputError as error:
        count = len(error.problems)
        click.echo(f"{count} problem{'s' if count != 1 else ''}; nothing was written.", err=True)
        click.echo(str(error), err=True)
        sys.exit(2)
    except PlaysiteError as error:
        click.echo(f"{error}\nNothing was written.", err=True)
        sys.exit(2)
    except Exception:  # noqa: BLE001  # the last gate: whatever is left is our fault
        traceback.print_exc()
        click.echo("This is playsite's own fault. Nothing was written.", err=True)
        sys.exit(1)


@contextmanager
def _progress() -> Iterator[Watch]:
    """Show how far long steps have come, and how long they may still take; on a terminal only."""
    if not sys.stderr.isatty():
        yield quietly
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as shown:

        def watch(items: Iterable[Any], label: str, total: int) -> Iterator[Any]:
            task = shown.add_task(label, total=total)
            for item in items:
                yield item
                shown.advance(task)
            shown.remove_task(task)

        yield watch


def _echo_loud(findings: Iterable[Finding], units: str) -> None:
    from playsite.report.people_units import in_readers_units

    for finding in findings:
        if finding.weight == "loud":
            click.echo(f"Caution: {in_readers_units(str(finding), units)}")
