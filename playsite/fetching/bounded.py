"""Work in a process of its own, which is ended when its time is up: reads a request, answers it.

A library that waits for a busy server without end, or a server that sends a byte a minute, can't
be bounded from inside.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from playsite.errors import InputError
from playsite.problems import Problem

__all__ = ["main", "run_bounded"]

_SAID = "said: "


def run_bounded(task: str, asked: dict[str, Any], *, most_minutes: float) -> dict[str, Any]:
    """Do a task in a process of its own.

    Parameters
    ----------
    task
        ``"file"``, ``"server"`` or ``"elevation"``.
    asked
        What the task takes; ``source`` and ``remedy`` are said in sentences.
    most_minutes
        After this the process is ended.

    Returns
    -------
    dict
        What the task answers.

    Raises
    ------
    InputError
        If the task refuses, fails, or does not end in time.
    """
    root = str(Path(__file__).resolve().parents[2])
    path = os.pathsep.join([root, *filter(None, [os.environ.get("PYTHONPATH")])])
    try:
        done = subprocess.run(  # noqa: S603  # the project's own module
            # -P: a file of the folder one stands in must not be taken for a library's
            [sys.executable, "-P", "-m", "playsite.fetching.bounded", task],
            input=json.dumps(asked).encode(),
            capture_output=True,
            timeout=60 * most_minutes,
            check=False,
            env={**os.environ, "PYTHONPATH": path},
        )
    except subprocess.TimeoutExpired as error:
        what = f"it did not answer within {most_minutes:g} minutes{_last_said(error.stderr)}."
        remedy = "Try again later, or give --most-minutes."
        raise InputError([Problem(what, remedy, file=asked["source"])]) from error
    if done.returncode:
        raise InputError(_problems(done.stdout, done.stderr, asked["source"]))
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def say(sentence: str) -> None:
    """Say, from inside a task, how it stands: told to the user if its time runs out."""
    sys.stderr.write(f"{_SAID}{sentence}\n")
    sys.stderr.flush()


def _last_said(stderr: bytes | None) -> str:
    lines = (stderr or b"").decode(errors="replace").splitlines()
    said = [line.removeprefix(_SAID) for line in lines if line.startswith(_SAID)]
    return f": {said[-1]}" if said else ""


def _problems(stdout: bytes, stderr: bytes, source: str) -> list[Problem]:
    try:
        return [Problem(**each) for each in json.loads(stdout)]
    except (ValueError, TypeError):  # it died before it could say why: out of memory, ended
        last = (stderr.decode(errors="replace").strip().splitlines() or ["it said nothing"])[-1]
        return [Problem(f"reading it broke off: {last}.", file=source)]


def main() -> None:
    """Read one request from standard input, and write its answer, or why there is none."""
    asked = json.load(sys.stdin)
    try:
        answer = _task(sys.argv[1])(asked)
    except InputError as error:
        sys.stdout.write(json.dumps([vars(problem) for problem in error.problems]))
        sys.exit(2)
    except Exception as error:  # noqa: BLE001  # any library's: the sentence goes to the user
        said = (str(error).splitlines() or [""])[0].split("; It might help")[0].rstrip(". ")
        what = f"can't be read: {said or type(error).__name__}."
        sys.stdout.write(json.dumps([vars(Problem(what, asked["remedy"], file=asked["source"]))]))
        sys.exit(2)
    sys.stdout.write(json.dumps(answer))


def _task(name: str) -> Any:
    if name == "file":
        from playsite.fetching.osm_file import read_file  # noqa: PLC0415

        return read_file
    if name == "server":
        from playsite.fetching.server import ask_server  # noqa: PLC0415

        return ask_server
    from playsite.fetching.elevation import save_window  # noqa: PLC0415

    return save_window


if __name__ == "__main__":
    main()
