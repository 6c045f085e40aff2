"""Where a figure comes from: the rule, its section, its edition, and who has seen it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from playsite.units import Unit

__all__ = [
    "ADA",
    "CHECK_THE_EDITION",
    "CPSC",
    "EN_1176",
    "PRACTICE",
    "Figure",
    "Rule",
    "common_practice",
]

Seen = Literal["seen", "seen in another's copy", "from memory", "common practice, no source"]

CPSC = "CPSC Public Playground Safety Handbook, Pub. 325 (2010 text, letter of 29 December 2015)"
ADA = "2010 ADA Standards for Accessible Design"
EN_1176 = "EN 1176"
PRACTICE = "common practice"
CHECK_THE_EDITION = (
    "Check the edition in force: the rules here are those of the editions named, and a certified "
    "playground safety inspector has the last word."
)


@dataclass(frozen=True)
class Rule:
    """One rule.

    Parameters
    ----------
    text
        What it says, a sentence of our own.
    section, edition
        Where it says so.
    seen
        Whether the text was seen when the rule was written down, or is from memory.
    """

    text: str
    section: str
    edition: str
    seen: Seen

    @property
    def source(self) -> str:
        """Edition, section and whether it was seen, in one line."""
        if self.edition == PRACTICE:
            return "common practice, no source"
        tail = "" if self.seen == "seen" else f" ({self.seen})"
        return f"{self.edition}, {self.section}{tail}" if self.section else self.edition + tail


@dataclass(frozen=True)
class Figure:
    """One figure of a program, with the rule that it follows.

    Parameters
    ----------
    name
        Its key, such as ``use_zones_m2``.
    plain
        What it is, in words.
    value
        In the unit; None where it isn't known.
    unit
        Its unit.
    rule
        The rule behind it.
    """

    name: str
    plain: str
    value: float | None
    unit: Unit
    rule: Rule


def common_practice(text: str) -> Rule:
    """Rule that is common practice and has no source."""
    return Rule(text, "", PRACTICE, "common practice, no source")
