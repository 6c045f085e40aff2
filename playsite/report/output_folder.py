"""Results come whole or not at all: written beside the folder, then swapped in by name.

What the last run wrote is known by name and hash, kept in ``.written.json``. Everything else in
the folder is the user's: it stays, and where a new file needs its name (a memo that was edited
by hand), it stays beside it as ``memo (kept).docx``.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import secrets
import shutil
import time
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from playsite.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["files_written_whole", "written_whole"]

_RECORD = ".written.json"
_STALE_S = 24 * 3600  # what a killed run left is cleared by the next run a day later
_FULL = {errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC)}


@contextmanager
def written_whole(folder: Path) -> Iterator[Path]:
    """Write into a new folder beside ``folder``; it takes that name only once all is written.

    A run that fails leaves nothing behind. One that is killed leaves the old results whole, or
    the new ones: the only moment without either under the name is the one between two renames,
    and then the old ones stand beside it and the next run puts them back first.

    Yields
    ------
    Path
        The empty folder to write into; it is gone when the block is left.

    Raises
    ------
    InputError
        If ``folder`` is a file, can't be written, can't be swapped, or the disk is full.
    """
    target = Path(folder).resolve()
    if target == target.parent:  # the root has no name to write beside
        raise _sorry(folder, OSError(errno.EBUSY, "a root"))
    made: list[Path] = []
    fresh = target.with_name(f".{target.name}.new-{secrets.token_hex(4)}")
    try:
        try:
            made = [parent for parent in target.parents if not parent.exists()]
            _put_right(target)
            fresh.mkdir(parents=True)
        except OSError as error:
            raise _sorry(folder, error) from error
        yield fresh
        try:
            _swap(fresh, target)
        except OSError as error:
            raise _sorry(folder, error) from error
    except BaseException as error:
        shutil.rmtree(fresh, ignore_errors=True)
        with suppress(OSError):
            for parent in made:
                parent.rmdir()
        if isinstance(error, OSError) and error.errno in _FULL:
            raise _sorry(folder, error) from error
        raise


@contextmanager
def files_written_whole(folder: Path) -> Iterator[Path]:
    """Write some files into a new folder; once all are written they take their places in ``folder``.

    All else in it stays. A file of the same name that the last run did not write stays beside the
    new one, under another name.

    Yields
    ------
    Path
        The empty folder to write into; it is gone when the block is left.

    Raises
    ------
    InputError
        If ``folder`` can't be written, or the disk is full.
    """
    target = Path(folder).resolve()
    try:
        _put_right(target)
        target.mkdir(parents=True, exist_ok=True)
        fresh = target / f".new-{secrets.token_hex(4)}"
        fresh.mkdir()
    except OSError as error:
        raise _sorry(folder, error) from error
    try:
        yield fresh
        _add(fresh, target)
    except OSError as error:
        raise _sorry(folder, error) from error
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _add(fresh: Path, target: Path) -> None:
    """Let each new file take its name, and the record know it."""
    ours = _written_before(target)
    for file in sorted(fresh.iterdir()):
        place = target / file.name
        if place.exists() and ours.get(file.name) != _sha256(place):
            place.rename(_free_name(place))
        ours[file.name] = _sha256(file)
        file.replace(place)
    record = fresh / _RECORD
    record.write_text(json.dumps(ours, indent=1, sort_keys=True) + "\n", "utf-8")
    record.replace(target / _RECORD)


def _put_right(target: Path) -> None:
    """Mend what a killed run left, and refuse a target that is no folder."""
    if target.exists() and not target.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, "a file")
    beside = list(target.parent.glob(f".{target.name}.*")) if target.parent.is_dir() else []
    olds = [path for path in beside if path.name.startswith(f".{target.name}.old-")]
    if olds and not target.exists():
        newest = max(olds, key=lambda path: path.stat().st_mtime)
        newest.rename(target)
        olds.remove(newest)
    for old in olds:  # the user's files were in the new folder before it was swapped in
        shutil.rmtree(old, ignore_errors=True)
    for left in beside:
        is_new = left.name.startswith(f".{target.name}.new-")
        if is_new and time.time() - left.stat().st_mtime > _STALE_S:
            shutil.rmtree(left, ignore_errors=True)


def _swap(fresh: Path, target: Path) -> None:
    """Let the fresh folder take the target's name, with the user's own files in it."""
    ours = {
        path.relative_to(fresh).as_posix(): _sha256(path)
        for path in sorted(fresh.rglob("*"))
        if path.is_file()
    }
    (fresh / _RECORD).write_text(json.dumps(ours, indent=1, sort_keys=True) + "\n", "utf-8")
    if not target.exists():
        fresh.rename(target)
        return
    shutil.copymode(target, fresh)
    _keep(target, fresh, _written_before(target), target)
    old = target.with_name(fresh.name.replace(".new-", ".old-"))
    target.rename(old)
    try:
        fresh.rename(target)
    except BaseException:
        old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)


def _keep(old: Path, fresh: Path, ours: dict[str, str], top: Path) -> None:
    """Bring over every file that the last run did not write, or that was changed since."""
    for path in sorted(old.iterdir()):
        name, place = path.relative_to(top).as_posix(), fresh / path.name
        if name == _RECORD:
            continue
        if path.is_dir() and not path.is_symlink():
            had = place.is_dir()
            place = place if had or not place.exists() else _free_name(place)
            place.mkdir(exist_ok=True)
            _keep(path, place, ours, top)
            if not had and not any(place.iterdir()) and any(path.iterdir()):
                place.rmdir()  # held nothing but what the last run wrote
        elif path.is_symlink() or name not in ours or ours[name] != _sha256(path):
            _bring(path, _free_name(place))


def _bring(path: Path, place: Path) -> None:
    """Give a file a second name, or copy it where the disk knows no second names."""
    try:
        os.link(path, place, follow_symlinks=False)
    except (OSError, NotImplementedError):
        shutil.copy2(path, place, follow_symlinks=False)


def _free_name(place: Path) -> Path:
    number, free = 1, place
    while free.exists() or free.is_symlink():
        again = f" {number}" if number > 1 else ""
        free, number = place.with_name(f"{place.stem} (kept{again}){place.suffix}"), number + 1
    return free


def _written_before(target: Path) -> dict[str, str]:
    try:
        record = json.loads((target / _RECORD).read_text("utf-8"))
    except (OSError, ValueError):
        return {}  # not known to be ours: all of it is kept
    return record if isinstance(record, dict) else {}


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _sorry(folder: Path, error: OSError) -> InputError:
    if error.errno in _FULL:
        why, remedy = "the disk is full", "Free some space and run again; the old results stand."
    elif error.errno == errno.ENOTDIR:
        why, remedy = "it is a file, or lies below one", "Name a folder, or move the file away."
    elif error.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
        why = "it may not be written or replaced"
        remedy = "Close files of it that are open, or name another folder with --out."
    elif error.errno in {errno.EBUSY, errno.EXDEV}:
        why, remedy = "it can't be replaced as a whole", "Name a folder inside it."
    else:
        why, remedy = error.strerror or str(error), "Name another folder."
    return InputError([f'the results can\'t be written to "{folder}": {why}. {remedy}'])
