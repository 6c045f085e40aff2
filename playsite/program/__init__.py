"""From who plays to the pad they need."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playsite.program.pad_shapes import PadShape
    from playsite.program.required import Worked

__all__ = ["RequiredPad"]


@dataclass(frozen=True)
class RequiredPad:
    """The play area that is needed, to scale: a rectangle with its ring, or another shape.

    Parameters
    ----------
    length_m, width_m
        Long and short side of the rectangle that is looked for first.
    why
        Where the figures come from, a sentence.
    shapes
        All shapes that hold the program, the rectangle first; the others are looked for where it
        fits nowhere. Empty: the rectangle is all that is known.
    worked
        The program worked out, where there is more to it than a pad.
    """

    length_m: float
    width_m: float
    why: str
    shapes: tuple[PadShape, ...] = ()
    worked: Worked | None = None

    @property
    def area_m2(self) -> float:
        """Area in square metres."""
        return self.length_m * self.width_m
