"""The text of a first study.toml: what was found is live, what is lacking is a comment."""

from __future__ import annotations

import json
import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from pyproj import CRS, Transformer

from playsite.drafting.columns import Mapping, map_columns
from playsite.drafting.guess import LIKELY, Guess, guesses, hazard_of
from playsite.drafting.look import FoundLayer, look_through
from playsite.errors import InputError
from playsite.layers import KINDS
from playsite.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Callable

    Ask = Callable[[str, list[str]], str | None]
    """Asks a question with choices; None: nobody is there to answer."""

__all__ = ["Draft", "draft_study"]


_OF_MANY = "hazards"
"""Kind that every likely file is taken for: rail in one, ball fields in another."""


@dataclass(frozen=True)
class Draft:
    """A study file as drafted.

    Parameters
    ----------
    file
        Where it was written.
    layers
        Kinds of layers that were found.
    lacking
        Kinds that were not.
    questions
        What the user still has to say, a sentence each.
    skipped
        Files that could not be read, with the reason.
    """

    file: Path
    layers: tuple[str, ...]
    lacking: tuple[str, ...]
    questions: tuple[str, ...]
    skipped: tuple[str, ...]


@dataclass
class _Text:
    lines: list[str] = field(default_factory=list)
    questions: list[str] = field(default_factory=list)

    def say(self, *lines: str) -> None:
        self.lines.extend(lines)

    def lack(self, kind: str, line: str) -> None:
        self.lines.append(f"# {line}")
        self.questions.append(f"[layers.{kind}] {line}")


def draft_study(folder: Path, maps: Path, *, ask: Ask | None = None) -> Draft:
    """Write a first ``study.toml`` into a folder, from the map files of another.

    Parameters
    ----------
    folder
        Where the study is to lie; made if it isn't there.
    maps
        Folder of map files, looked through with all below it.
    ask
        Asks the user where two answers are as likely; without it such things stay comments.

    Raises
    ------
    InputError
        If there is a study file already, no folder of maps, or no map file in it.
    """
    file = folder / "study.toml"
    if file.exists():
        _refuse(f"there is a study already: {file}.", "Name another folder, or move it away.")
    if not maps.is_dir():
        _refuse(f'there is no folder "{maps}".', "Give the folder that holds your map files.")
    found, skipped = look_through(maps)
    by_kind = guesses(found)
    if not found:
        _refuse(f'no map file in "{maps}" can be read.', " ".join(skipped[:5]))
    text = _Text()
    chosen = {kind: picked for kind in KINDS if (picked := _choose(kind, by_kind, ask))}
    _head(text, folder, chosen)
    prefix = Path(os.path.relpath(maps.resolve(), folder.resolve())).as_posix()
    for kind in KINDS:
        _layer(text, kind, chosen.get(kind), by_kind.get(kind, []), prefix, ask)
    _tail(text, found, by_kind, skipped)
    folder.mkdir(parents=True, exist_ok=True)
    beside = folder / ".study.toml.new"
    beside.write_text("\n".join(text.lines) + "\n", encoding="utf-8", newline="\n")
    beside.replace(file)
    lacking = tuple(kind for kind in KINDS if kind not in chosen and KINDS[kind].if_absent)
    return Draft(file, tuple(chosen), lacking, tuple(text.questions), tuple(skipped))


def _refuse(what: str, remedy: str) -> None:
    raise InputError([Problem(what, remedy)])


def _choose(kind: str, by_kind: dict[str, list[Guess]], ask: Ask | None) -> Guess | None:
    own = [guess for guess in by_kind.get(kind, []) if guess.points >= LIKELY]
    if not own:
        return None
    equal = [guess for guess in own if guess.points == own[0].points]
    if len(equal) > 1 and ask is not None and kind not in {"elevation", _OF_MANY}:
        names = {_name(guess.found): guess for guess in equal}
        answer = ask(f"Which holds the {kind}?", list(names))
        return names.get(answer or "", own[0])
    return own[0]


def _name(found: FoundLayer) -> str:
    return f"{found.path} ({found.layer})" if found.layer else found.path


def _head(text: _Text, folder: Path, chosen: dict[str, Guess]) -> None:
    feet = _in_feet(chosen.get("parcels"))
    text.say(
        "# Drafted from the map files. Each guess says its reason: look at them, then run",
        "#   playsite check .     and     playsite rank .",
        "",
        "[study]",
        f"title = {_quoted('Where should the playground go? ' + folder.resolve().name)}",
        f'units = "{"feet" if feet else "metres"}"   # of what people read; guessed from where the maps lie',
        '# least_known = "50 %"   # a parcel of which less of the weight is known is not assessed',
        '# profile = "public"     # public, school, child care, homeowners, congregation',
        "",
        "[program]",
        "# A usual playground for ages 2 to 12, with its ring for path, seats and fence. Yours may differ.",
        'pad = { length = "104 ft", width = "74.5 ft" }',
        "",
    )


def _in_feet(parcels: Guess | None) -> bool:
    """Whether people there read feet: the United States without its far parts."""
    if parcels is None or not parcels.found.crs:
        return False
    import pyogrio  # noqa: PLC0415  # only here

    bounds = pyogrio.read_info(
        parcels.found.opened, layer=parcels.found.layer or None, force_total_bounds=True
    )["total_bounds"]
    if bounds is None:
        return False
    middle = (bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2
    to_degrees = Transformer.from_crs(CRS(parcels.found.crs), 4326, always_xy=True)
    lon, lat = to_degrees.transform(*middle)
    return bool(-125 < lon < -66.5 and 24.5 < lat < 49)


def _layer(  # one table of the file
    text: _Text,
    kind: str,
    guess: Guess | None,
    own: list[Guess],
    prefix: str,
    ask: Ask | None,
) -> None:
    others = [each for each in own if guess is None or each.found is not guess.found]
    if guess is None:
        if KINDS[kind].if_absent or KINDS[kind].needed:
            text.say(f"# [layers.{kind}]   # not found: {KINDS[kind].plain}")
            text.say(*(_mention(each) for each in others[:3]), "")
        return
    if kind == _OF_MANY:
        for each in (each for each in own if each.points >= LIKELY):
            text.say(f"[[layers.{kind}]]", f"# {'; '.join(each.reasons)}.")
            _of_file(text, kind, each.found, prefix, ask)
        return
    text.say(f"[layers.{kind}]", f"# {'; '.join(guess.reasons)}.")
    text.say(*(_mention(each) for each in others[:3]))
    _of_file(text, kind, guess.found, prefix, ask)


def _of_file(text: _Text, kind: str, found: FoundLayer, prefix: str, ask: Ask | None) -> None:
    """Keys of one file: where it lies, what its columns are, what is still to be said."""
    text.say(f"path = {_quoted(_joined(prefix, found.path))}")
    if found.layer:
        text.say(f"layer = {_quoted(found.layer)}")
    if not found.crs:
        text.lack(kind, 'crs = "EPSG:..."   # the file does not say it: ask who made it')
    if kind in {"elevation", "surface"}:
        _height_unit(text, kind, found, ask)
    else:
        mapping = map_columns(found, kind)
        _columns(text, kind, mapping)
        word = hazard_of(found) if kind == _OF_MANY and "kind" not in mapping.columns else ""
        if word and "kind" not in found.fields:
            text.say(f"set.kind = {_quoted(word)}   # by its name")
    text.say('# date = "..."   # when it was made', "")


def _height_unit(text: _Text, kind: str, found: FoundLayer, ask: Ask | None) -> None:
    if found.raster["unit"] or found.raster["compound"]:
        text.say("# its height unit stands in the file itself")
        return
    answer = (
        ask(f"In which unit are the heights of {found.path}?", ["m", "ft", "us-ft"])
        if ask
        else None
    )
    if answer:
        text.say(f'height_unit = "{answer}"   # as you said')
    else:
        text.lack(kind, 'height_unit = "m"   # or "ft": the file does not say it, never guess')
    if kind == "elevation":
        text.say('# noise = "5 cm"   # the standard deviation of its random error, if you know it')


def _columns(text: _Text, kind: str, mapping: Mapping) -> None:
    text.say(*(f"# {reason}" for reason in mapping.reasons))
    if mapping.where:
        text.say(f"where = {_quoted(mapping.where)}")
    if kind == "parcels":
        text.say("# where = \"LAND_USE = 'PARK'\"   # to look at some of the parcels only")
    if mapping.columns:
        pairs = [f"{ours} = {_column(theirs)}" for ours, theirs in mapping.columns.items()]
        text.say(f"columns = {{ {', '.join(pairs)} }}")
    for column, words in mapping.words.items():
        if words:
            pairs = [f"{_quoted(theirs)} = {_quoted(ours)}" for theirs, ours in words.items()]
            text.say(f"values.{column} = {{ {', '.join(pairs)} }}")
    for line in mapping.lacks:
        text.lack(kind, line)


def _column(theirs: str | tuple[str, str]) -> str:
    if isinstance(theirs, str):
        return _quoted(theirs)
    return f"{{ column = {_quoted(theirs[0])}, unit = {_quoted(theirs[1])} }}"


def _mention(guess: Guess) -> str:
    return f"# also possible: {_one_line(_name(guess.found))} ({guess.found.features:,} features)"


def _tail(
    text: _Text, found: list[FoundLayer], by_kind: dict[str, list[Guess]], skipped: list[str]
) -> None:
    text.say(
        "[setbacks]",
        "# One not given is 0. Usual where the code is silent: 10 ft from a side or rear line and 20 ft",
        "# from the front (common practice, no source).",
        '# parcel_line = "10 ft"',
        '# building = "20 ft"',
        'line_error = "0 m"   # how far parcel lines may be off',
        "",
    )
    guessed = {id(guess.found) for own in by_kind.values() for guess in own}
    unused = [_name(layer) for layer in found if id(layer) not in guessed]
    if unused:
        text.say("# Not used: " + _one_line("; ".join(unused[:40])))
    text.say(*(f"# Could not be read: {_one_line(sentence)}" for sentence in skipped[:20]))


def _joined(prefix: str, path: str) -> str:
    return path if prefix == "." else f"{prefix}/{path}"


def _one_line(text: str) -> str:
    return "".join(c if c.isprintable() else " " for c in text)


def _quoted(text: str) -> str:
    """Give a TOML string: JSON's escapes are TOML's own."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
