"""One tree of errors.

::

    PlaysiteError                 caught by nobody in the package but the command line
    ├── InputError                the input is at fault: carries every problem found (exit 2)
    └── ContractError             a criterion or step breaks its contract (exit 2)
        └── NotInstalledError     a study names one that no installed package brings
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["ContractError", "InputError", "NotInstalledError", "PlaysiteError"]


class PlaysiteError(Exception):
    """Anything playsite says no to, in a sentence for the person at the keyboard."""


class InputError(PlaysiteError):
    """The input is at fault; nothing was written.

    Parameters
    ----------
    problems
        Every problem found, each one printable: all are told at once.
    """

    def __init__(self, problems: Sequence[object]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class ContractError(PlaysiteError):
    """A criterion or a step does not keep to its contract."""


class NotInstalledError(ContractError):
    """A criterion that is named and that no installed package brings."""
