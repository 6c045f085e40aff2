"""The command that makes the form on which a working group gives its weights."""

from __future__ import annotations

from pathlib import Path

import click

__all__ = ["weights"]


@click.command()
@click.argument("study", type=click.Path(path_type=Path))
@click.argument("what", type=click.Choice(["form"]))
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the form; else weights_form/ beside the study.",
)
def weights(study: Path, what: str, out: Path | None) -> None:  # noqa: ARG001
    """Make the paper form on which each member of a working group weighs a STUDY's criteria.

    Beside it lies an empty CSV, a row a criterion. Name the folder of the filled ones in the
    study: [weights] from = "working_group". Map files are not read.
    """
    from playsite.criteria._registry import choose  # noqa: PLC0415
    from playsite.problems import Problems  # noqa: PLC0415
    from playsite.report.output_folder import written_whole  # noqa: PLC0415
    from playsite.report.weights_form import form_csv, form_html  # noqa: PLC0415
    from playsite.settings import read_settings  # noqa: PLC0415

    problems = Problems()
    settings = read_settings(study, problems)
    chosen = choose(settings, problems)
    problems.stop_if_any()
    folder = out if out is not None else settings.folder / "weights_form"
    with written_whole(folder) as fresh:
        page = form_html(settings.study.title, chosen, settings.study.units)
        (fresh / "form.html").write_text(page, "utf-8", newline="\n")
        (fresh / "member.csv").write_text(form_csv(chosen), "utf-8", newline="\n")
    click.echo(f"Form to print: {(folder / 'form.html').resolve()}")
    click.echo(f"Empty CSV, one a member: {(folder / 'member.csv').resolve()}")
