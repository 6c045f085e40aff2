"""Where the readers say what is wrong and what they noticed, with the place in the study file."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from pyogrio.errors import DataLayerError, DataSourceError, FeatureError, GeometryError
from pyproj.exceptions import ProjError
from rasterio.errors import RasterioError
from shapely.errors import ShapelyError

from playsite.problems import Finding

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from playsite.problems import Problems, Weight
    from playsite.settings import Settings

__all__ = ["Notes", "listed"]

_EXAMPLES = 5
_OF_LIBRARIES = (
    DataSourceError,
    DataLayerError,
    FeatureError,
    GeometryError,
    RasterioError,
    ProjError,
    ShapelyError,
    ValueError,
    OSError,
    MemoryError,
)


@dataclass
class Notes:
    """Problems and findings of one reading, and the settings that give them their place."""

    settings: Settings
    problems: Problems
    findings: list[Finding] = field(default_factory=list)

    def problem(self, kind: str, what: str, remedy: str = "", *keys: str) -> None:
        """Add what stops the run; ``keys`` lead from ``[layers.KIND]`` to the entry at fault."""
        place = self.settings.place("layers", kind, *keys)
        self.problems.add(what, remedy, layer=kind, **place)

    def finding(
        self,
        kind: str,
        what: str,
        done: str = "",
        remedy: str = "",
        *,
        where: str = "",
        count: int | None = None,
        weight: Weight = "note",
    ) -> None:
        """Add what was noticed about a kind of layer."""
        self.findings.append(
            Finding(what, done, remedy, layer=kind, where=where, count=count, weight=weight)
        )

    @contextmanager
    def no_traceback(self, kind: str, label: str, *keys: str) -> Iterator[None]:
        """Turn what a library raises while it reads a file into a problem, in its own words."""
        try:
            yield
        except _OF_LIBRARIES as error:
            cause = error.__cause__ or error  # the one behind "see previous exception"
            sentence = str(cause).split("; It might help")[0].rstrip(". ") or "nobody knows why"
            remedy = "Ask who made it for a whole copy." if "path" in keys else "Look at it."
            self.problem(kind, f"{label} can't be read: {sentence}.", remedy, *keys)

    def problems_of(self, kind: str) -> bool:
        """Whether a kind of layer has a problem."""
        return any(problem.layer == kind for problem in self.problems.items)


def listed(items: Iterable[object], most: int = _EXAMPLES) -> str:
    """List items in words, the first few of many.

    Examples
    --------
    >>> listed(["a", "b", "c"], most=2)
    'a, b and 1 more'
    """
    words = [str(item) for item in items]
    more = len(words) - most
    return ", ".join(words[:most]) + (f" and {more} more" if more > 0 else "")
