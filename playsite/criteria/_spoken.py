"""How people say a value that has no unit of its own: a count, a multiple, a level, a rating."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Spoken"]


@dataclass(frozen=True)
class Spoken:
    """Words for a value; a criterion without them is said by its unit alone.

    Parameters
    ----------
    form
        Text around the number: "{} children", "{} its sides".
    steps
        Least value of each step of a level or a rating, and its word, in rising order.
    beside
        Words behind a length where the criterion's bare name stands before it: "to run".
    is_height
        Whether a length is a height: then it is said in inches or centimetres.
    """

    form: str = ""
    steps: tuple[tuple[float, str], ...] = ()
    beside: str = ""
    is_height: bool = False

    def word(self, value: float) -> str:
        """Word of the step that a value has reached.

        Examples
        --------
        >>> Spoken(steps=((0, "none"), (1, "weak"))).word(1.0)
        'weak'
        """
        reached = [word for least, word in self.steps if value >= least - 1e-9]
        return reached[-1] if reached else self.steps[0][1]
