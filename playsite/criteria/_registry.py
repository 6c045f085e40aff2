"""Which criteria a study uses: found by entry point, set by the study, checked all at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache, partial
from importlib import metadata
from typing import TYPE_CHECKING, Any

from playsite.errors import ContractError, NotInstalledError
from playsite.problems import nearest_word
from playsite.program.profiles import PROFILES
from playsite.units import in_unit

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from playsite.criteria._contract import Criterion, Screen
    from playsite.criteria._curve import Curve
    from playsite.problems import Problems
    from playsite.program.profiles import Profile
    from playsite.settings import Settings

__all__ = ["GROUP", "Chosen", "choose", "installed", "load"]

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
    usual_weight
        Weight of the profile, whatever the study says: it chooses the pad on its parcel, so that
        a pad never moves when people move their weights.
    package
        Name and version of the package that brings it.
    shared_error
        Share of the variance of its error that all sites have in common, 0 to 1.
    """

    criterion: Criterion
    curve: Curve
    screens: tuple[Screen, ...]
    weight: float
    usual_weight: float
    package: str
    shared_error: float = 0.0

    @property
    def name(self) -> str:
        """Name of the criterion."""
        return self.criterion.name


def installed() -> dict[str, tuple[metadata.EntryPoint, ...]]:
    """Entry points of all criteria that installed packages bring, by name; nothing is loaded.

    More than one of a name is a fault that ``load`` tells to the study that asks for it.
    """
    found: dict[str, dict[str, metadata.EntryPoint]] = {}
    for point in sorted(metadata.entry_points(group=GROUP), key=lambda point: point.name):
        found.setdefault(point.name, {})[point.value] = point
    return {name: tuple(points.values()) for name, points in found.items()}


def load(
    name: str, points: Mapping[str, tuple[metadata.EntryPoint, ...]] | None = None
) -> tuple[Criterion, str]:
    """One criterion by name, and the package that it comes from.

    Parameters
    ----------
    points
        What is installed, where that is known already: looking takes hundredths of a second.

    Raises
    ------
    NotInstalledError
        If no installed package brings it.
    ContractError
        If two packages bring it, or what the package brings can't be loaded or is no criterion
        of that name.
    """
    from playsite.criteria._contract import Criterion  # noqa: PLC0415

    points = installed() if points is None else points
    if name not in points:
        raise NotInstalledError(
            f'no installed package brings a criterion "{name}". {nearest_word(name, points)}'
        )
    point, *others = points[name]
    if others:
        both = " and ".join(_package(each) for each in points[name])
        raise ContractError(
            f'two packages bring a criterion "{name}": {both}. Uninstall one of them.'
        )
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


def choose(settings: Settings, problems: Problems) -> tuple[Chosen, ...]:
    """Criteria of a study, with its weights, knots and limits; shares of weight add up to 1.

    Parameters
    ----------
    settings
        The study: its list of criteria, else all that its profile keeps, and ``[criteria.NAME]``.
    problems
        Takes every wrong name, unit, knot and limit, with file, line and the nearest word.
    """
    profile = PROFILES[settings.study.profile]
    points = installed()
    named = settings.study.criteria
    names = list(points) if named is None else list(dict.fromkeys(named))
    names = [name for name in names if named is not None or name not in profile.leaves_out]
    place = settings.place("study", "criteria")
    found: dict[str, tuple[Criterion, str]] = {}
    for name in names:
        try:
            found[name] = load(name, points)
        except ContractError as error:
            # A broken package harms only the study that asks for it by name.
            if named is not None or name in settings.criteria or _is_own(points[name]):
                problems.add(f"{error}", **(place if named is not None else {}))
    for name in settings.criteria:
        if name not in found:
            at = settings.place("criteria", name)
            known = name in points
            why = "is not in use in this study." if known else "is not installed."
            problems.add(
                f'criterion "{name}" {why}', "" if known else nearest_word(name, points), **at
            )
    drafts = [_as_set(found[name], settings, profile, problems) for name in found]
    total = sum(draft.weight for draft in drafts)
    if drafts and total <= 0:
        problems.add("all weights are 0: nothing can be ranked.", **settings.place("criteria"))
        return ()
    return tuple(replace(draft, weight=draft.weight / total) for draft in drafts)


def _as_set(
    found: tuple[Criterion, str], settings: Settings, profile: Profile, problems: Problems
) -> Chosen:
    criterion, package = found
    usual = profile.weights.get(criterion.name, criterion.weight)
    said = settings.criteria.get(criterion.name)
    if said is None:
        own = criterion.shared_error
        return Chosen(criterion, criterion.curve, criterion.screens, usual, usual, package, own)
    at = partial(settings.place, "criteria", criterion.name)
    curve = _curve_as_set(criterion, said.knots, at, problems)
    screens = criterion.screens
    if said.screen is not None:
        screens = _screens_as_set(criterion, said.screen, at, problems)
    weight = usual if said.weight is None else said.weight
    told = said.shared_error_pct
    shared = criterion.shared_error if told is None else told / 100
    return Chosen(criterion, curve, screens, weight, usual, package, shared)


def _curve_as_set(
    criterion: Criterion,
    knots: dict[str, Any],
    at: Callable[..., dict[str, Any]],
    problems: Problems,
) -> Curve:
    curve = criterion.curve
    moved: dict[str, float] = {}
    names = [knot.name for knot in curve.knots]
    for name, text in knots.items():
        if name not in names:
            problems.add(
                f'no knot is called "{name}".', nearest_word(name, names), **at("knots", name)
            )
            continue
        try:
            moved[name] = in_unit(text, curve.unit)
        except ValueError as error:
            problems.add(f"{error}.", **at("knots", name))
    try:
        return curve.with_knots(moved, source="set by this study") if moved else curve
    except ContractError:
        order = " < ".join(names)
        problems.add(
            "these knots are out of order.", f"Their values must rise: {order}.", **at("knots")
        )
        return curve


def _screens_as_set(
    criterion: Criterion, text: Any, at: Callable[..., dict[str, Any]], problems: Problems
) -> tuple[Screen, ...]:
    if not criterion.screens:
        problems.add(f'"{criterion.name}" has no screen to set.', **at("screen"))
        return ()
    first, *others = criterion.screens
    try:
        limit = in_unit(text, first.unit)
    except ValueError as error:
        problems.add(f"{error}.", **at("screen"))
        return criterion.screens
    return (first.moved(limit), *others)


def _is_own(points: Sequence[metadata.EntryPoint]) -> bool:
    return any(point.value.startswith("playsite.") for point in points)


def _package(point: metadata.EntryPoint) -> str:
    return _named(point.dist) if point.dist else point.value


@lru_cache(maxsize=64)  # its file is read anew each time, and one package brings many
def _named(package: metadata.Distribution) -> str:
    return f"{package.name} {package.version}"
