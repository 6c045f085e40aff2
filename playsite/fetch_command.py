"""The command that fills missing layers from open map data."""

from __future__ import annotations

from pathlib import Path

import click

__all__ = ["fetch"]


@click.command()
@click.argument("study", type=click.Path(path_type=Path))
@click.argument("layers", nargs=-1)
@click.option("--from", "source", help="A .osm or .osm.pbf file, a saved answer, or an address.")
@click.option("--most-minutes", default=5.0, show_default=True, help="Bound on the time.")
@click.option("--most-megabytes", default=200.0, show_default=True, help="Bound on the size.")
def fetch(
    study: Path,
    layers: tuple[str, ...],
    source: str | None,
    most_minutes: float,
    most_megabytes: float,
) -> None:
    """Fill LAYERS that the STUDY lacks from OpenStreetMap; elevation from any raster or address."""
    from playsite.fetching.fetch import fetch as fill  # noqa: PLC0415
    from playsite.fetching.fetch import refuse_without_source  # noqa: PLC0415

    if source is None:
        refuse_without_source()
    done = fill(
        study, layers, source or "", most_minutes=most_minutes, most_megabytes=most_megabytes
    )
    for each in done:
        place = f": {each.file}" if each.file else ""
        click.echo(f"{each.kind}: {each.features} features{place} ({each.said})")
