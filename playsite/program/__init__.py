"""From who plays to the pad they need."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["RequiredPad"]


@dataclass(frozen=True)
class RequiredPad:
    """The play area that is needed, to scale: a rectangle with its ring.

    Parameters
    ----------
    length_m, width_m
        Long and short side.
    why
        Where the figures come from, a sentence.
    """

    length_m: float
    width_m: float
    why: str

    @property
    def area_m2(self) -> float:
        """Area in square metres."""
        return self.length_m * self.width_m
