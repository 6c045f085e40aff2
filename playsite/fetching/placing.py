"""Files that are there whole, under a name of their own with the day's date, or not at all."""

from __future__ import annotations

import datetime as dt
import tempfile
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from pyogrio.errors import DataSourceError

from playsite.errors import InputError
from playsite.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["Place", "Places", "today", "written_whole"]


@dataclass(frozen=True)
class Place:
    """Where a file is written, and where it will stand."""

    inside: Path
    final: Path


@dataclass
class Places:
    """Files of one fetch, written in a hidden folder until all are there."""

    inside: Path
    folder: Path
    given: list[Place] = field(default_factory=list)

    def new(self, kind: str, suffix: str) -> Place:
        """Give a dated name that nothing has: what was fetched before stays."""
        number, path = 1, self.folder / f"{kind}_{today()}{suffix}"
        while path.exists():
            number += 1
            path = self.folder / f"{kind}_{today()}_{number}{suffix}"
        self.given.append(Place(self.inside / path.name, path))
        return self.given[-1]

    def settle(self) -> None:
        """Move all that was written to where it will stand."""
        if self.given:
            self.folder.mkdir(exist_ok=True)
        for place in self.given:
            place.inside.rename(place.final)

    def take_back(self) -> None:
        """Take away all that was moved."""
        for place in self.given:
            place.final.unlink(missing_ok=True)
        if self.folder.is_dir() and not any(self.folder.iterdir()):
            self.folder.rmdir()


@contextmanager
def written_whole(folder: Path) -> Iterator[Places]:
    """Write files beside a study; if anything goes wrong inside, none is left.

    Raises
    ------
    InputError
        If they can't be written.
    """
    try:
        with tempfile.TemporaryDirectory(prefix=".fetching_", dir=folder) as inside:
            places = Places(Path(inside), folder / "open_data")
            try:
                yield places
            except BaseException:
                places.take_back()
                raise
    except (OSError, DataSourceError) as error:
        said = getattr(error, "strerror", None) or str(error).split("; It might")[0]
        problem = Problem(f"can't be written to: {said.rstrip('. ')}.", file=str(folder))
        raise InputError([problem]) from error


def today() -> str:
    """Today's date in Greenwich, so that one fetch has one date everywhere."""
    return dt.datetime.now(tz=dt.UTC).date().isoformat()
