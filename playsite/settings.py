"""The only reader of study.toml: shapes and units of what it knows, with file and line kept.

Names of criteria and layers, and the units of their knots, are checked by those who own them,
into the same list of problems.
"""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, model_validator

from playsite._cost_settings import (
    CharterTable,
    CostTable,
    FundTable,
    IndexTable,
    MustHaveTable,
    ScheduleTable,
)
from playsite._program_settings import EquipmentTable, PadTable, ProgramTable
from playsite._storm_settings import StormTable
from playsite._toml_lines import lines_of
from playsite._way_settings import ChildTable, PlayTable, WalksTable
from playsite.problems import Problems, nearest_word
from playsite.units import metres, percent

__all__ = ["Column", "CriterionSettings", "LayerSource", "Setbacks", "Settings", "read_settings"]

Length = Annotated[float, BeforeValidator(metres), Field(ge=0)]
Share = Annotated[float, BeforeValidator(percent), Field(ge=0, le=100)]
Profile = Literal["public", "school", "child care", "homeowners", "congregation"]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False)


class Column(_Table):
    """A column of the user's file, and the unit of its numbers where its name doesn't say."""

    column: str
    unit: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _bare_name(cls, given: Any) -> Any:
        return {"column": given} if isinstance(given, str) else given


class LayerSource(_Table):
    """One file of map data, as one ``[layers.KIND]`` table says it."""

    path: str
    layer: str | None = None
    where: str | None = None
    columns: dict[str, Column] = {}
    values: dict[str, dict[str, str]] = {}
    set: dict[str, str | int | float | bool] = {}
    height_unit: str | None = None
    noise_m: Length | None = Field(None, alias="noise")
    noise_length_m: Length | None = Field(None, alias="noise_length")
    date: str | None = None
    crs: str | None = None
    credit: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _plain_date(cls, given: Any) -> Any:
        if isinstance(given, dict) and hasattr(given.get("date"), "isoformat"):
            return {**given, "date": given["date"].isoformat()}
        return given


class Setbacks(_Table):
    """Strips that stay free; one that is not given is 0, and printed."""

    parcel_line_m: Length | None = Field(None, alias="parcel_line")
    front_m: Length | None = Field(None, alias="front")
    side_m: Length | None = Field(None, alias="side")
    rear_m: Length | None = Field(None, alias="rear")
    building_m: Length = Field(0.0, alias="building")
    water_m: Length = Field(0.0, alias="water")
    easement_m: Length = Field(0.0, alias="easement")
    overhead_line_m: Length = Field(0.0, alias="overhead_line")
    root_diameters: Annotated[float, Field(ge=0, le=30)] = Field(0.0, alias="tree_roots")
    """Radius of ground kept for a tree's roots, in diameters of its stem: 12 is usual."""
    line_error_m: Length = Field(0.0, alias="line_error")

    @property
    def by_side(self) -> bool:
        """Whether front, side and rear are told apart."""
        return any(side is not None for side in (self.front_m, self.side_m, self.rear_m))


class CriterionSettings(_Table):
    """What a study changes of one criterion; units of knots and screen are the criterion's to check."""

    weight: Annotated[float, Field(ge=0, allow_inf_nan=False)] | None = None
    knots: dict[str, str | float | int] = {}
    screen: str | float | int | None = None
    shared_error_pct: Share | None = Field(None, alias="shared_error")


class WeightsTable(_Table):
    """Whose weights: a working group's, in one CSV or a folder of them."""

    source: str = Field(alias="from")


class BallotsTable(_Table):
    """Ballots and comments of residents: counted beside the score, never in it."""

    file: str
    comments: str | None = None
    invited: Annotated[int, Field(gt=0)] | None = None


class _Study(_Table):
    title: str
    crs: str | None = None
    units: Literal["feet", "metres"]
    least_known_pct: Share = Field(50.0, alias="least_known")
    profile: Profile = "public"
    criteria: list[str] | None = None
    letterhead: str | None = None
    words: str | None = None


def _as_list(given: Any) -> Any:
    return given if isinstance(given, list) else [given]


class _File(_Table):
    study: _Study
    program: ProgramTable
    programs: dict[str, ProgramTable] = {}
    layers: dict[str, Annotated[list[LayerSource], BeforeValidator(_as_list)]]
    setbacks: Setbacks = Setbacks()
    storm: StormTable = StormTable()
    walks: WalksTable = WalksTable()
    play: PlayTable = PlayTable()
    running_child: ChildTable = ChildTable()
    criteria: dict[str, CriterionSettings] = {}
    cost: CostTable | None = None
    charter: CharterTable | None = None
    funding: list[FundTable] = []
    schedule: ScheduleTable | None = None
    weights: WeightsTable | None = None
    ballots: BallotsTable | None = None


class Settings:
    """A study as its file says it, in SI units, each entry with its place in the file.

    Parameters
    ----------
    file
        The study file.
    content
        What it holds, checked for shape and units.
    lines
        Line of each entry, by its path of keys.
    """

    def __init__(self, file: Path, content: _File, lines: dict[tuple[str, ...], int]) -> None:
        self.file = file
        self.folder = file.resolve().parent
        self.study = content.study
        self.program = content.program
        self.programs = content.programs
        self.layers = {kind: tuple(given) for kind, given in content.layers.items()}
        self.setbacks = content.setbacks
        self.storm = content.storm
        self.walks = content.walks
        self.play = content.play
        self.running_child = content.running_child
        self.criteria = content.criteria
        self.cost = content.cost
        self.charter = content.charter
        self.funding = tuple(content.funding)
        self.schedule = content.schedule
        self.weights = content.weights
        self.ballots = content.ballots
        self._lines = lines

    @property
    def every_program(self) -> dict[str, ProgramTable]:
        """The program and those beside it, by the path of their tables."""
        beside = {f"programs.{name}": program for name, program in self.programs.items()}
        return {"program": self.program, **beside}

    def place(self, *keys: str) -> dict[str, Any]:
        """File, line and key of an entry (or of the nearest table around it), for a problem.

        Examples
        --------
        ``problems.add("no such file", **settings.place("layers", "trees", "path"))``
        """
        return _place(self.file, self._lines, keys)

    def as_read(self) -> dict[str, Any]:
        """All settings in SI units, for the record of a run."""
        return {
            "study": self.study.model_dump(),
            "program": self.program.model_dump(),
            "programs": {name: program.model_dump() for name, program in self.programs.items()},
            "layers": {k: [source.model_dump() for source in v] for k, v in self.layers.items()},
            "setbacks": self.setbacks.model_dump(),
            "storm": self.storm.model_dump(),
            "walks": self.walks.model_dump(),
            "play": self.play.model_dump(),
            "running_child": self.running_child.model_dump(),
            "criteria": {k: v.model_dump() for k, v in self.criteria.items()},
            **self._money_as_read(),
            "weights": self.weights and self.weights.model_dump(),
            "ballots": self.ballots and self.ballots.model_dump(),
        }

    def _money_as_read(self) -> dict[str, Any]:
        """What concerns money and time alone, where the study says it: nothing is measured by it."""
        given = {"cost": self.cost, "charter": self.charter, "schedule": self.schedule}
        read: dict[str, Any] = {name: t.model_dump() for name, t in given.items() if t is not None}
        if self.funding:
            read["funding"] = [fund.model_dump() for fund in self.funding]
        return read


def read_settings(file: str | Path, problems: Problems) -> Settings:
    """Read a study file.

    Parameters
    ----------
    file
        Path of a ``study.toml``, or of the folder that holds one.
    problems
        Takes every fault of shape or unit: file, line, what was expected, the nearest word.
        What is sound is returned all the same, so that layers and criteria can add theirs;
        the caller stops before anything is computed from it.

    Raises
    ------
    InputError
        If the file can't be read at all.
    """
    path = Path(file)
    if path.is_dir():
        path = path / "study.toml"
    content, text = _parsed(path, problems)
    problems.stop_if_any()
    lines = lines_of(text)
    try:
        return Settings(path, _File.model_validate(content), lines)
    except ValidationError as error:
        faults = sorted(error.errors(), key=lambda fault: _line_of(fault, path, lines))
    for fault in faults:
        _tell(fault, path, lines, problems)
    return Settings(path, _sound_part(content), lines)


def _sound_part(content: dict[str, Any]) -> _File:
    """Keep what is sound: faulty entries are taken out, keys that are due get a stand-in."""
    kept = copy.deepcopy(content)
    if isinstance(kept.get("layers"), dict):
        # As the model reads it, so that the places of faults are found again.
        kept["layers"] = {kind: _as_list(given) for kind, given in kept["layers"].items()}
    for _ in range(_DEEPEST):
        try:
            return _File.model_validate(kept)
        except ValidationError as error:
            for fault in error.errors():
                _take_out(kept, fault["loc"])
    return _File.model_validate(_STAND_IN)


_DEEPEST = 8
_STAND_IN: dict[str, Any] = {
    "study": {"title": "?", "units": "metres"},
    "program": {"pad": {"length": "2 m", "width": "1 m"}},
    "layers": {},
}


def _take_out(kept: dict[str, Any], loc: tuple[int | str, ...]) -> None:
    """Take a faulty entry out; where a key is missing and has no stand-in, what encloses it."""
    stand_in: Any = _STAND_IN
    path: list[tuple[Any, Any]] = []
    inside: Any = kept
    for key in loc:
        path.append((inside, key))
        stand_in = stand_in.get(key) if isinstance(stand_in, dict) else None
        if not _holds(inside, key):
            break
        inside = inside[key]
    if len(path) > 1 and path[-1][1] == "path" and loc[0] == "layers":
        path.pop()  # a layer without its file is no layer
    around, last = path[-1]
    if stand_in is not None and isinstance(around, dict):
        around[last] = copy.deepcopy(stand_in)
    elif _holds(around, last):
        around.pop(last)
    elif len(path) > 1:
        around, last = path[-2]
        around.pop(last)


def _holds(inside: Any, key: int | str) -> bool:
    if isinstance(inside, list):
        return isinstance(key, int) and key < len(inside)
    return isinstance(inside, dict) and key in inside


def _parsed(path: Path, problems: Problems) -> tuple[dict[str, Any], str]:
    try:
        text = path.read_bytes().decode("utf-8-sig")
        return tomllib.loads(text), text
    except FileNotFoundError:
        problems.add(
            "there is no such study file.", "Give the path of a study.toml.", file=str(path)
        )
    except UnicodeDecodeError as error:
        problems.add(f"is not UTF-8 text ({error.reason}).", "Save it as UTF-8.", file=str(path))
    except tomllib.TOMLDecodeError as error:
        problems.add(f"is not valid TOML: {error}.", file=str(path))
    except OSError as error:
        problems.add(f"can't be read: {error.strerror}.", file=str(path))
    return {}, ""


def _place(file: Path, lines: dict[tuple[str, ...], int], keys: tuple[str, ...]) -> dict[str, Any]:
    named = ".".join(key for key in keys if not key.isdecimal())
    found = (lines[keys[:end]] for end in range(len(keys), 0, -1) if keys[:end] in lines)
    return {"file": str(file), "line": next(found, None), "key": named}


def _line_of(fault: Any, path: Path, lines: dict[tuple[str, ...], int]) -> int:
    return _place(path, lines, _path(fault["loc"]))["line"] or 0


def _tell(fault: Any, path: Path, lines: dict[tuple[str, ...], int], problems: Problems) -> None:
    """Turn one of pydantic's faults into a sentence in the words of the study file."""
    table, keys = _walk(fault["loc"])
    place = {**_place(path, lines, _path(fault["loc"])), "key": ".".join(keys)}
    last = keys[-1] if keys else ""
    if fault["type"] == "extra_forbidden":
        problems.add(f'there is no key "{last}" here.', nearest_word(last, _words(table)), **place)
    elif fault["type"] == "missing":
        problems.add(f'the key "{last}" is missing.', _EXPECTED.get(last, ""), **place)
    elif fault["type"] == "literal_error":
        words = fault["ctx"]["expected"].replace("'", '"')
        problems.add(f'"{fault["input"]}" is not known; expected {words}.', **place)
    elif fault["type"] == "value_error":
        problems.add(f"{fault['ctx']['error']}.", **place)
    else:
        problems.add(f"{fault['msg']}; given {fault['input']!r}.", _EXPECTED.get(last, ""), **place)


_EXPECTED = {
    "title": 'Expected a text: title = "Where to put the playground".',
    "units": 'Expected units = "feet" or units = "metres": the units that people read.',
    "pad": 'Expected pad = { length = "104 ft", width = "74.5 ft" }.',
    "path": 'Expected the path of a map file, relative to the study file: path = "parcels.gpkg".',
    "study": "Expected a table [study] with title and units.",
    "program": 'Expected a table [program] with pad = { length = "104 ft", width = "74.5 ft" }.',
    "layers": "Expected tables such as [layers.parcels] and [layers.elevation].",
    "from": 'Expected a CSV or a folder of them: from = "working_group".',
    "file": 'Expected a CSV of ballots: file = "ballots.csv".',
    "date": 'Expected a text: date = "2023".',
}


def _path(loc: tuple[int | str, ...]) -> tuple[str, ...]:
    """Path of keys and numbers, without pydantic's own marks."""
    marks = {"str", "float", "int", "constrained-float"}
    return tuple(str(part) for part in loc if part not in marks)


def _walk(loc: tuple[int | str, ...]) -> tuple[type[BaseModel] | None, tuple[str, ...]]:
    """Table that a fault lies in, and its path of keys without pydantic's own marks."""
    keys = tuple(part for part in _path(loc) if not part.isdecimal())
    tables: dict[str, type[BaseModel]] = {
        "study": _Study,
        "program": ProgramTable,
        "program.pad": PadTable,
        "program.equipment": EquipmentTable,
        "setbacks": Setbacks,
        "storm": StormTable,
        "walks": WalksTable,
        "play": PlayTable,
        "running_child": ChildTable,
        "cost": CostTable,
        "cost.index": IndexTable,
        "charter": CharterTable,
        "charter.must_haves": MustHaveTable,
        "funding": FundTable,
        "schedule": ScheduleTable,
        "weights": WeightsTable,
        "ballots": BallotsTable,
    }
    inside = keys[:-1]
    if not inside:
        return _File, keys
    if inside[0] == "programs" and len(inside) > 1:
        inside = ("program", *inside[2:])
    if inside[0] == "layers" and len(inside) == 2:
        return LayerSource, keys
    if inside[0] == "layers":
        return Column, keys
    if inside[0] == "criteria":
        return CriterionSettings, keys
    return tables.get(".".join(inside)), keys


def _words(table: type[BaseModel] | None) -> list[str]:
    if table is None:
        return []
    return [field.alias or name for name, field in table.model_fields.items()]
