"""What a step is: a record of what it reads, takes and writes, and the function."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from playsite.errors import ContractError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    import numpy as np
    import numpy.typing as npt
    from affine import Affine
    from pyproj import CRS

    from playsite.units import Unit

__all__ = ["Input", "Output", "Parameter", "Raster", "Step"]

What = Literal["vector", "raster"]


@dataclass(frozen=True)
class Input:
    """One file that a step reads.

    Parameters
    ----------
    name
        Its option.
    what
        ``vector`` or ``raster`` (one band, heights in metres).
    plain
        What it holds, in words.
    shapes
        Geometries that it may have: point, line, polygon.
    columns
        Columns that it must have, with what they hold.
    needed
        Whether the step can't do without it.
    """

    name: str
    what: What
    plain: str
    shapes: tuple[str, ...] = ()
    columns: Mapping[str, str] | None = None
    needed: bool = True


@dataclass(frozen=True)
class Parameter:
    """One number that a step takes, with its unit, usual value, plausible range and source."""

    name: str
    unit: Unit
    default: float
    plausible: tuple[float, float]
    plain: str
    source: str = "common practice, no source"


@dataclass(frozen=True)
class Output:
    """One file that a step writes; ``columns`` says what each column holds, with its unit."""

    name: str
    what: What
    plain: str
    columns: Mapping[str, str] | None = None
    unit: str = ""


@dataclass(frozen=True, eq=False)
class Raster:
    """Cells in metres, NaN where nothing is known."""

    array: npt.NDArray[np.floating[Any]]
    transform: Affine
    crs: CRS


@dataclass(frozen=True)
class Step:
    """One part of the chain, usable alone.

    Parameters
    ----------
    name
        Words joined by hyphens.
    question
        What it answers.
    inputs, parameters, outputs
        What it reads, takes and writes.
    run
        ``run(inputs, values)``: GeoDataFrames and Rasters by name of input (None where one that
        is not needed was not given), numbers by name of parameter, in; the same by name of
        output out.
    sources
        Who says so.
    overlap
        For a step from one raster to one raster: rows that a strip needs beyond its own. Such a
        step is run strip by strip, so that no raster is too large; None: all at once.
    """

    name: str
    question: str
    inputs: tuple[Input, ...]
    parameters: tuple[Parameter, ...]
    outputs: tuple[Output, ...]
    run: Callable[[Mapping[str, Any], Mapping[str, float]], Mapping[str, Any]]
    sources: tuple[str, ...] = ()
    overlap: int | None = None

    def __post_init__(self) -> None:
        """Hold the record itself to the contract."""
        if not (self.name and self.question and self.inputs and self.outputs):
            raise ContractError(f'step "{self.name}" must say its question, inputs and outputs')
        for each in self.parameters:
            least, most = each.plausible
            if not least <= each.default <= most:
                raise ContractError(
                    f'step "{self.name}": the usual {each.name} {each.default:g} lies outside '
                    f"what is plausible ({least:g} to {most:g})"
                )
        parts: list[Any] = [*self.inputs, *self.parameters, *self.outputs]
        names = [each.name for each in parts]
        if len(names) != len(set(names)):
            raise ContractError(f'step "{self.name}" uses a name twice: {", ".join(names)}')
