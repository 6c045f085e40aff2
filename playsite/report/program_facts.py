"""What every report of a program says: editions, what proves a shape, and the cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.program.layout import CONCEPT
from playsite.program.rules import ADA, CHECK_THE_EDITION, CPSC, EN_1176
from playsite.report.plain_text import one_line
from playsite.report.wording import joined

if TYPE_CHECKING:
    from collections.abc import Iterable

    from playsite.program import RequiredPad
    from playsite.program.layout import Layout
    from playsite.program.pad_shapes import PadShape
    from playsite.program.required import Worked
    from playsite.program.rules import Rule

__all__ = [
    "NO_LAYOUT",
    "cautions",
    "edition",
    "first_layout",
    "names",
    "proof_text",
    "standing",
    "worked_of",
]

NO_LAYOUT = "Areas alone, not a design: no layout shows that the equipment can stand here."
_NOT_DRAWN_UP = (
    "Screening only: a licensed professional draws up the play area, and a certified playground "
    "safety inspector looks at it before children play. Call 811 before any digging."
)


def worked_of(pad: RequiredPad) -> Worked:
    """Program behind a pad.

    Raises
    ------
    ValueError
        If the pad comes without one.
    """
    if pad.worked is None:
        raise ValueError("this pad comes without its program")
    return pad.worked


def first_layout(pad: RequiredPad) -> Layout | None:
    """Layout of the first shape that has one whole; None where only areas are known."""
    return next((s.concepts[0].layout for s in pad.shapes if len(s.concepts) == 1), None)


def edition(worked: Worked) -> str:
    """Editions that the rules are those of, and the advice to check which one is in force."""
    zones = EN_1176 if worked.rules == "europe" else CPSC
    return f"Use zones by {zones}; access by the {ADA}. {CHECK_THE_EDITION}"


def standing(pad: RequiredPad) -> str:
    """What is shown, a sentence: a concept that a layout proves, or areas alone."""
    return CONCEPT if any(shape.concepts for shape in pad.shapes) else NO_LAYOUT


def cautions(pad: RequiredPad) -> list[str]:
    """What whoever reads the program must know, sentences; labels in them are one line each."""
    worked = worked_of(pad)
    said = [standing(pad), edition(worked)]
    if worked.unknown_falls:
        said.append(
            "The fall height isn't known, and no depth of surfacing is checked, for: "
            f"{names(worked.unknown_falls)}."
        )
    if tested := [zone.piece.label for zone in worked.zones if zone.needs_test]:
        said.append(f"The maker's tested use zone may be larger, for: {names(tested)}.")
    if any(rule.seen in {"from memory", "seen in another's copy"} for rule in _rules(worked)):
        said.append(
            "Rules marked as from memory, or as seen in another's copy, were not read in the "
            "original: look them up before anything is built on them."
        )
    return [*said, _NOT_DRAWN_UP]


def proof_text(shape: PadShape) -> str:
    """What proves that a shape holds the program."""
    if not shape.concepts:
        return "by area alone; no layout proves it"
    if shape.is_proven_least:
        return "a layout proves it; every smaller one that was tried is proven impossible"
    return "a layout proves that it holds the equipment; that it is the least is not proven"


def _rules(worked: Worked) -> list[Rule]:
    """Every rule that was followed, each once."""
    found = [rule for zone in worked.zones for rule in zone.rules]
    found += [figure.rule for figure in worked.figures]
    found += [*worked.access.rules, *(depth.rule for depth in worked.depths)]
    return list(dict.fromkeys(found))


def names(labels: Iterable[str]) -> str:
    """Labels as a list in a sentence, each one line."""
    return joined([one_line(label) for label in labels])
