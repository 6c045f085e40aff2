"""The command that fills missing layers from open map data."""

from __future__ import annotations

from pathlib import Path

import click

__all__ = ["fetch"]


@click.command()
@click.argument("study", type=click.Path(path_type=Path))
@click.argument("layers", nargs=-1)
@click.option(
    "--from",
    "source",
    metavar="FILE_OR_SERVER",
    help="A .osm or .osm.pbf file, a saved answer (.json), a server's address, or the word "
    "overpass for the public server; for elevation a raster, its address, or a STAC item's.",
)
@click.option("--most-minutes", default=5.0, show_default=True, help="Bound on the time.")
@click.option("--most-megabytes", default=200.0, show_default=True, help="Bound on the size.")
def fetch(
    study: Path,
    layers: tuple[str, ...],
    source: str | None,
    most_minutes: float,
    most_megabytes: float,
) -> None:
    """Fill LAYERS that the STUDY lacks from OpenStreetMap, or elevation from any raster.

    Without LAYERS all that the study lacks, but for elevation, which comes from a source of its
    own. Dated files go to open_data/ beside the study, and a table for each to its end.
    """
    from playsite.fetching.fetch import fetch as fill  # noqa: PLC0415

    bounds = {"most_minutes": most_minutes, "most_megabytes": most_megabytes}
    done = fill(study, layers, source, **bounds)
    for each in done:
        place = f"{each.features:,} in {each.file}: " if each.file else ""
        click.echo(f"{each.kind}: {place}{each.said}.")
    for note in dict.fromkeys(note for each in done for note in each.notes):
        click.echo(f"Note: {note}.")
    if any(each.file for each in done):
        click.echo(f"Next: playsite check {study}")
    if not done:
        click.echo("The study has every layer that can be fetched.")
