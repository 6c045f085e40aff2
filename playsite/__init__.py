"""Where should the playground go, and can we defend it: a toolkit on real map data.

>>> import playsite
>>> result = playsite.rank("sample_gis/study.toml")  # doctest: +SKIP
>>> result.sites.head()  # doctest: +SKIP
"""

from __future__ import annotations

from importlib import metadata
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

    from playsite.problems import Finding
    from playsite.result import Result

__all__ = ["check", "rank", "write_results"]

__version__ = metadata.version("playsite")


def rank(study: str | Path, **options: Any) -> Result:
    """Rank the parcels of a study; in a notebook the result shows its map.

    Parameters
    ----------
    study
        A study file, or the folder that holds a ``study.toml``.
    **options
        ``fresh=True`` measures again even where an earlier run is remembered.

    Raises
    ------
    InputError
        If the input is at fault, with every problem at once.
    """
    from dataclasses import replace  # noqa: PLC0415  # imports wait until they are needed

    from playsite.report.web_map import notebook_html  # noqa: PLC0415
    from playsite.study import run  # noqa: PLC0415

    return replace(run(study, **options), notebook=notebook_html)


def check(study: str | Path) -> tuple[Finding, ...]:
    """Run the data gate alone; give what was noticed, or raise ``InputError`` with every problem."""
    from playsite.study import check as gate  # noqa: PLC0415

    return gate(study)[2]


def write_results(result: Result, folder: str | Path) -> None:
    """Write map, memo, tables and record of a run into a folder, all or nothing.

    Raises
    ------
    InputError
        If the folder can't be written; what stood there before is kept.
    """
    from pathlib import Path  # noqa: PLC0415

    from playsite.report.writing import write_all  # noqa: PLC0415

    write_all(result, Path(folder))
