"""The host of the steps: it reads their files, holds them to their records and writes whole."""

from __future__ import annotations

import os
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pyogrio
import rasterio
from affine import Affine
from pyproj import CRS
from rasterio.errors import RasterioError
from rasterio.windows import Window

from playsite.errors import ContractError, InputError
from playsite.problems import Problem, Problems
from playsite.steps._contract import Input, Output, Parameter, Raster, Step
from playsite.units import Unit, in_unit

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["read_value", "run_step"]

_ROWS = 1024  # of a strip


def run_step(
    step: Step,
    files: Mapping[str, Path],
    values: Mapping[str, str],
    *,
    crs: str | None = None,
) -> dict[str, Path]:
    """Run a step from files to files.

    Parameters
    ----------
    step
        The step.
    files
        Paths by name of input and of output.
    values
        Numbers with their units, as a user types them, by name of parameter.
    crs
        System of projected metres to bring vector files to; else that of the first input.

    Returns
    -------
    dict
        Files written, by name of output; each whole or not at all.

    Raises
    ------
    InputError
        With every fault of files and numbers at once.
    ContractError
        If the step breaks its contract.
    """
    problems = Problems()
    numbers = {
        each.name: read_value(each, values.get(each.name), problems) for each in step.parameters
    }
    if step.overlap is not None:
        return _in_strips(step, files, numbers, problems)
    given = _read_all(step, files, crs, problems)
    problems.stop_if_any()
    try:
        made = step.run(given, numbers)
    except InputError:
        raise
    except Exception as error:
        raise ContractError(
            f'step "{step.name}" failed: {type(error).__name__}: {error}'
        ) from error
    wanted = [each for each in step.outputs if each.name in files]
    for each in wanted:
        _check_output(step, each, made.get(each.name))
    note = _note(step, numbers)
    for each in wanted:
        _write(made[each.name], Path(files[each.name]), note, each)
    return {each.name: Path(files[each.name]) for each in wanted}


def read_value(parameter: Parameter, text: str | None, problems: Problems) -> float:
    """Read a number with its unit; a wrong one is told and its usual value taken on."""
    if text is None:
        return parameter.default
    bare = parameter.unit in {Unit.RATIO, Unit.COUNT, Unit.DEGREE}
    try:
        value = in_unit(float(text) if bare else text, parameter.unit)
    except ValueError as error:
        problems.add(f"{error}.", key=f"--{parameter.name}")
        return parameter.default
    least, most = parameter.plausible
    if not least <= value <= most:
        problems.add(
            f"{text} is not plausible.",
            f"Expected {least:g} to {most:g} {parameter.unit.value}.",
            key=f"--{parameter.name}",
        )
    return value


def _read_all(
    step: Step, files: Mapping[str, Path], crs: str | None, problems: Problems
) -> dict[str, Any]:
    given: dict[str, Any] = {}
    target: CRS | None = None
    if crs is not None:
        try:
            target = CRS(crs)
        except Exception:  # noqa: BLE001  # whatever the library says of a wrong text
            problems.add(
                f'"{crs}" is no coordinate reference system.',
                'Give "EPSG:26918", say.',
                key="--crs",
            )
    for each in step.inputs:
        path = files.get(each.name)
        given[each.name] = None
        if path is None:
            if each.needed:
                problems.add(f"--{each.name} is missing: {each.plain}.", key=f"--{each.name}")
            continue
        if not Path(path).exists():
            problems.add("there is no such file.", file=str(path), key=f"--{each.name}")
            continue
        try:
            read = _raster(path) if each.what == "raster" else gpd.read_file(path)
        except Exception as error:  # noqa: BLE001  # a file that can't be read is the user's fault
            said = str(error).splitlines()[0] if str(error) else type(error).__name__
            problems.add(f"can't be read: {said}.", file=str(path), key=f"--{each.name}")
            continue
        given[each.name] = _checked(each, read, Path(path), target, problems)
        if target is None and given[each.name] is not None:
            target = CRS(given[each.name].crs)
    return given


def _checked(each: Input, read: Any, path: Path, target: CRS | None, problems: Problems) -> Any:
    """Give what was read, in the metres of the rest; what is wrong with it is told."""
    if read.crs is None:
        wrong: tuple[str, ...] = (
            "it doesn't say what its coordinates mean.",
            "Give it a CRS first.",
        )
    elif each.what == "raster":
        wrong = _wrong_raster(CRS(read.crs), target)
    else:
        if target is not None and not _same(CRS(read.crs), target):
            read = read.to_crs(target)
        wrong = _wrong_vector(each, read)
    if wrong:
        problems.add(*wrong, file=str(path), key=f"--{each.name}")
        return None
    return read if each.what == "raster" else read[~(read.geometry.isna() | read.geometry.is_empty)]


def _wrong_raster(own: CRS, target: CRS | None) -> tuple[str, ...]:
    if own.is_projected and (target is None or _same(own, target)):
        return ()
    return ("it is not in the projected metres of the rest.", "Warp it first.")


def _wrong_vector(each: Input, read: gpd.GeoDataFrame) -> tuple[str, ...]:
    axis = CRS(read.crs).axis_info[0]
    if not CRS(read.crs).is_projected or axis.unit_name not in {"metre", "meter"}:
        remedy = "Give --crs with a system of projected metres, such as EPSG:26918."
        return (f"its coordinates are in {axis.unit_name}s.", remedy)
    lacking = [column for column in each.columns or {} if column not in read.columns]
    if lacking:
        held = ", ".join(str(name) for name in read.columns)
        return (f'it has no column "{lacking[0]}"; it has {held}.',)
    kinds = {_kind(name) for name in read.geom_type.dropna().unique()}
    if each.shapes and not kinds <= set(each.shapes):
        due, held = " or ".join(each.shapes), ", ".join(sorted(kinds))
        return (f"{due}s are due; it holds {held}s.",)
    return ()


def _same(one: CRS, other: CRS) -> bool:
    return one.equals(other, ignore_axis_order=True)


def _kind(name: str) -> str:
    plain = name.removeprefix("Multi")
    return {"Point": "point", "LineString": "line", "Polygon": "polygon"}.get(plain, plain)


def _raster(path: Path) -> Raster:
    with rasterio.open(path) as opened:
        array = opened.read(1, masked=True)
        crs = CRS(opened.crs.to_wkt()) if opened.crs else None
        filled = np.ma.filled(array.astype("float32"), np.nan)
        return Raster(filled, opened.transform, crs)  # type: ignore[arg-type]


def _check_output(step: Step, due: Output, made: Any) -> None:
    kind = Raster if due.what == "raster" else gpd.GeoDataFrame
    if not isinstance(made, kind):
        raise ContractError(
            f'step "{step.name}" gave no {due.what} for "{due.name}", but {type(made).__name__}'
        )
    lacking = [column for column in due.columns or {} if column not in getattr(made, "columns", ())]
    if lacking:
        raise ContractError(f'step "{step.name}": "{due.name}" lacks {", ".join(lacking)}')


def _note(step: Step, numbers: Mapping[str, float]) -> str:
    """What every output carries: who made it, and with which numbers."""
    said = [f"{each.name} {numbers[each.name]:g} {each.unit.value}" for each in step.parameters]
    return ", ".join([f"playsite {metadata.version('playsite')}", f"step {step.name}", *said])


def _in_strips(
    step: Step, files: Mapping[str, Path], numbers: Mapping[str, float], problems: Problems
) -> dict[str, Path]:
    """Run a step from one raster to one raster in strips of rows, in bounded memory."""
    (source,), (due,) = step.inputs, step.outputs
    path = files.get(source.name)
    if path is None or not Path(path).exists():
        what = "is missing" if path is None else "there is no such file"
        problems.add(f"{what}: {source.plain}.", file=str(path or ""), key=f"--{source.name}")
    problems.stop_if_any()
    out, over = Path(files[due.name]), step.overlap or 0
    beside = out.with_name(f".{os.getpid()}-{out.name}")
    try:
        with rasterio.open(path) as opened:
            crs = CRS(opened.crs.to_wkt()) if opened.crs else None
            wrong = (
                ("it doesn't say what its coordinates mean.",)
                if crs is None
                else _wrong_raster(crs, None)
            )
            if crs is None or wrong:
                said = " ".join(wrong)
                raise InputError([Problem(said, file=str(path), key=f"--{source.name}")])
            out.parent.mkdir(parents=True, exist_ok=True)
            profile = _profile(
                Raster(np.empty((opened.height, opened.width)), opened.transform, crs)
            )
            with rasterio.open(beside, "w", **profile) as written:
                for top in range(0, opened.height, _ROWS):
                    first = max(0, top - over)
                    last = min(opened.height, top + _ROWS + over)
                    window = Window(0, first, opened.width, last - first)
                    read = opened.read(1, window=window, masked=True).astype("float32")
                    here = Raster(
                        np.ma.filled(read, np.nan), _moved_down(opened.transform, first), crs
                    )
                    made = step.run({source.name: here}, numbers)[due.name]
                    kept = made.array[top - first : top - first + _ROWS].astype("float32")
                    written.write(kept, 1, window=Window(0, top, opened.width, len(kept)))
                written.update_tags(made_by=_note(step, numbers))
                written.units = (due.unit,)
        beside.replace(out)
    except RasterioError as error:
        raise InputError([Problem(f"can't be read: {error}.", file=str(path))]) from error
    finally:
        beside.unlink(missing_ok=True)
    return {due.name: out}


def _moved_down(transform: Affine, rows: int) -> Affine:
    """Transform of the part of a north-up raster that begins so many rows further south."""
    a, b, c, d, e, f = transform[:6]
    return Affine(a, b, c, d, e, f + rows * e)


def _write(made: Any, path: Path, note: str, due: Output) -> None:
    """Write beside, then rename: a file is there whole or not at all."""
    beside = path.with_name(f".{os.getpid()}-{path.name}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if due.what == "raster":
            _write_raster(made, beside, note, due)
        else:
            driver = "GPKG" if path.suffix.lower() == ".gpkg" else None
            pyogrio.write_dataframe(
                made,
                beside,
                driver=driver,
                layer=due.name if driver else None,
                layer_metadata={"made_by": note} if driver else None,
            )
        beside.replace(path)
    except Exception as error:
        raise InputError([f"{path} can't be written: {error}"]) from error
    finally:
        beside.unlink(missing_ok=True)


def _write_raster(made: Raster, path: Path, note: str, due: Output) -> None:
    with rasterio.open(path, "w", **_profile(made)) as opened:
        opened.write(made.array.astype("float32"), 1)
        opened.update_tags(made_by=note)
        opened.units = (due.unit,)


def _profile(made: Raster) -> dict[str, Any]:
    return {
        "driver": "GTiff",
        "height": made.array.shape[0],
        "width": made.array.shape[1],
        "count": 1,
        "dtype": "float32",
        "crs": made.crs.to_wkt(),
        "transform": made.transform,
        "nodata": float("nan"),
        "compress": "deflate",
        "tiled": True,
        "bigtiff": "if_safer",
    }
