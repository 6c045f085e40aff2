"""For people who add a criterion or a step of their own: one call that holds it to its contract."""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import geopandas as gpd
import numpy as np
import shapely

from playsite.criteria._contract import Criterion, measured
from playsite.errors import ContractError, InputError
from playsite.steps._contract import Step
from playsite.steps._running import run_step

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from playsite.site import Site

__all__ = ["check_criterion", "check_step", "made_up_pads"]


def made_up_pads(count: int = 4) -> gpd.GeoDataFrame:
    """Pads of 32 by 22 m in a row, with all columns that a criterion is given."""
    easting = 500_016.0 + 60 * np.arange(count)
    table = {
        "parcel_id": [f"P{number}" for number in range(count)],
        "easting": easting,
        "northing": 4_500_011.0,
        "rotation_deg": 0.0,
        "length_m": 32.0,
        "width_m": 22.0,
        "largest_scale": 1.2,
        "shape": "",
    }
    shapes = shapely.box(easting - 16, 4_500_000, easting + 16, 4_500_022)
    return gpd.GeoDataFrame(table, geometry=shapes, crs="EPSG:26918").rename_axis("pad_id")


def check_criterion(criterion: Criterion, *, pads: gpd.GeoDataFrame, site: Site) -> None:
    """Hold a criterion to its contract on pads and a site of your own.

    Parameters
    ----------
    criterion
        Yours.
    pads
        What it is to measure; ``made_up_pads()`` gives some.
    site
        A site that holds the layers it needs.

    Raises
    ------
    ContractError
        If it is no criterion, says too little of itself, depends on the order or the number of
        pads, gives a value where its layer is absent, or breaks the contract otherwise.
    """
    if not isinstance(criterion, Criterion):
        raise ContractError(f"a Criterion is due, not {type(criterion).__name__}")
    for said in ("name", "question", "plain", "method", "group"):
        if not str(getattr(criterion, said)).strip():
            raise ContractError(f'criterion "{criterion.name}" says nothing under {said}')
    if not criterion.sources:
        raise ContractError(
            f'criterion "{criterion.name}" cites no source: "common practice" is one too'
        )
    whole = measured(criterion, pads, site).value
    turned = measured(criterion, pads.iloc[::-1], site).value
    if not np.allclose(whole, turned.loc[whole.index], equal_nan=True):
        raise ContractError(f'criterion "{criterion.name}" depends on the order of the pads')
    alone = measured(criterion, pads.iloc[:1], site).value
    if not np.allclose(whole.iloc[:1], alone, equal_nan=True):
        raise ContractError(f'criterion "{criterion.name}" depends on which other pads there are')
    nothing = cast("Any", SimpleNamespace(has=lambda kind: False))  # noqa: ARG005
    if criterion.needs and measured(criterion, pads, nothing).value.notna().any():
        raise ContractError(f'criterion "{criterion.name}" gives a value without its layers')


def check_step(step: Step, *, files: Mapping[str, Path], folder: Path) -> None:
    """Hold a step to its contract on files of your own.

    Parameters
    ----------
    step
        Yours.
    files
        Input files by name of input: small ones that it can run on.
    folder
        An empty folder for what it writes.

    Raises
    ------
    ContractError
        If it is no step, cites no source, gives another answer to the same question, or breaks
        the contract otherwise.
    """
    if not isinstance(step, Step):
        raise ContractError(f"a Step is due, not {type(step).__name__}")
    if not step.sources:
        raise ContractError(f'step "{step.name}" cites no source: "common practice" is one too')
    answers = []
    for turn in ("first", "second"):
        endings = {"raster": ".tif", "vector": ".gpkg"}
        outputs = {
            each.name: folder / turn / f"{each.name}{endings[each.what]}" for each in step.outputs
        }
        try:
            made = run_step(step, {**files, **outputs}, {})
        except InputError as error:
            raise ContractError(
                f'step "{step.name}" does not run on these files: {error}'
            ) from error
        answers.append({name: path.read_bytes() for name, path in _plain(made).items()})
    if answers[0] != answers[1]:
        raise ContractError(f'step "{step.name}" gives another answer when it is asked again')


def _plain(made: Mapping[str, Path]) -> dict[str, Path]:
    """Turn databases, which hold the time of writing, into text that can be compared."""
    plain = {}
    for name, path in made.items():
        plain[name] = path
        if path.suffix == ".gpkg":
            plain[name] = path.with_suffix(".txt")
            plain[name].write_text(gpd.read_file(path).to_wkt().to_csv(), encoding="utf-8")
    return plain
