"""Which criteria a study uses: found by entry point, set by the study, checked all at once."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import metadata
from typing import TYPE_CHECKING

from playsite.errors import ContractError, NotInstalledError
from playsite.problems import nearest_word

if TYPE_CHECKING:
    from playsite.criteria._contract import Criterion, Screen
    from playsite.criteria._curve import Curve

__all__ = ["GROUP", "Chosen", "installed", "load"]

GROUP = "playsite.criteria"


@dataclass(frozen=True)
class Chosen:
    """A criterion as one study uses it.

    Parameters
    ----------
    criterion
        As its maker declares it.
    curve, screens
        As used: the maker's, or with the study's own knots and limit.
    weight
        Share of all weight in use, 0 to 1.
    package
        Name and version of the package that brings it.
    """

    criterion: Criterion
    curve: Curve
    screens: tuple[Screen, ...]
    weight: float
    package: str

    @property
    def name(self) -> str:
        """Name of the criterion."""
        return self.criterion.name


def installed() -> dict[str, metadata.EntryPoint]:
    """Entry points of all criteria that installed packages bring, by name; nothing is loaded.

    Raises
    ------
    ContractError
        If two packages bring one of the same name.
    """
    found: dict[str, metadata.EntryPoint] = {}
    for point in sorted(metadata.entry_points(group=GROUP), key=lambda point: point.name):
        other = found.get(point.name)
        if other is not None and other.value != point.value:
            raise ContractError(
                f'two packages bring a criterion "{point.name}": {_package(other)} and '
                f"{_package(point)}. Uninstall one of them."
            )
        found[point.name] = point
    return found


def load(name: str) -> tuple[Criterion, str]:
    """One criterion by name, and the package that it comes from.

    Raises
    ------
    NotInstalledError
        If no installed package brings it.
    ContractError
        If what the package brings can't be loaded or is no criterion of that name.
    """
    from playsite.criteria._contract import Criterion  # noqa: PLC0415

    points = installed()
    if name not in points:
        raise NotInstalledError(
            f'no installed package brings a criterion "{name}". {nearest_word(name, points)}'
        )
    point = points[name]
    try:
        given = point.load()
    except ContractError:
        raise
    except Exception as error:
        raise ContractError(
            f'criterion "{name}" of {_package(point)} can\'t be loaded: {type(error).__name__}: {error}'
        ) from error
    if not isinstance(given, Criterion) or given.name != name:
        raise ContractError(
            f'the entry point "{name}" of {_package(point)} must name a Criterion called "{name}"'
        )
    return given, _package(point)


def _package(point: metadata.EntryPoint) -> str:
    return f"{point.dist.name} {point.dist.version}" if point.dist else point.value
