"""Which steps are installed: found by entry point, loaded by name, on request."""

from __future__ import annotations

from importlib import metadata

from playsite.errors import ContractError, NotInstalledError
from playsite.problems import nearest_word
from playsite.steps._contract import Step

__all__ = ["GROUP", "installed", "load"]

GROUP = "playsite.steps"


def installed() -> dict[str, tuple[metadata.EntryPoint, ...]]:
    """Entry points of all steps by name; nothing is loaded."""
    found: dict[str, dict[str, metadata.EntryPoint]] = {}
    for point in sorted(metadata.entry_points(group=GROUP), key=lambda point: point.name):
        found.setdefault(point.name, {})[point.value] = point
    return {name: tuple(points.values()) for name, points in found.items()}


def load(name: str) -> tuple[Step, str]:
    """One step by name, and the package that it comes from.

    Raises
    ------
    NotInstalledError
        If no installed package brings it.
    ContractError
        If two bring it, or what a package brings can't be loaded or is no step of that name.
    """
    points = installed()
    if name not in points:
        raise NotInstalledError(
            f'no installed package brings a step "{name}". {nearest_word(name, points)}'
        )
    point, *others = points[name]
    package = _package(point)
    if others:
        both = " and ".join(_package(each) for each in points[name])
        raise ContractError(f'two packages bring a step "{name}": {both}. Uninstall one of them.')
    try:
        given = point.load()
    except ContractError:
        raise
    except Exception as error:
        raise ContractError(
            f'step "{name}" of {package} can\'t be loaded: {type(error).__name__}: {error}'
        ) from error
    if not isinstance(given, Step) or given.name != name:
        raise ContractError(
            f'the entry point "{name}" of {package} must name a Step called "{name}"'
        )
    return given, package


def _package(point: metadata.EntryPoint) -> str:
    return f"{point.dist.name} {point.dist.version}" if point.dist else point.value
