"""The project's own environment, `.venv`, made with the standard library alone.

It is installed into again only when what it was made from has changed. A stamp
inside it says what that was. Types stand in quotes, so that an old Python too gets
as far as the sentence that says it is old.
"""

import hashlib
import importlib.util
import json
import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
STAMP = VENV / "playsite-stamp.json"
OLDEST = (3, 11)


def ready(*extras: str) -> None:
    """Have `.venv` hold the package, editable, with these extras.

    Raises
    ------
    SystemExit
        With one sentence that says what is missing and what to do.
    """
    _demand_python()
    stamp = _stamp()
    base = {key: value for key, value in stamp.items() if key != "extras"}
    wanted = set(extras) | set(stamp.get("extras", []))
    if PYTHON.exists() and base == _made_from() and wanted == set(stamp["extras"]):
        return
    STAMP.unlink(missing_ok=True)  # a run that is broken off leaves no stamp behind
    if not _usable():
        _make()
    _install(sorted(wanted))
    STAMP.write_text(json.dumps({**_made_from(), "extras": sorted(wanted)}), encoding="utf-8")


def run(*command: str, module: bool = True) -> int:
    """Run a module (or a program) of the environment at the project's root; give its exit code."""
    words = [str(PYTHON), "-m", *command]
    if not module:
        words = [str(PYTHON.parent / command[0]), *command[1:]]
    sys.stdout.flush()
    # UTF-8 also where a Windows console would choose an older code page.
    return subprocess.run(
        words, cwd=ROOT, env={**os.environ, "PYTHONUTF8": "1"}, check=False
    ).returncode


def _demand_python() -> None:
    if sys.version_info < OLDEST:
        here = ".".join(map(str, sys.version_info[:3]))
        sys.exit(
            f"playsite needs Python 3.11 or newer; this is {here} ({sys.executable}). Install a newer one and run this script with it."
        )
    if importlib.util.find_spec("ensurepip") is None:
        sys.exit(
            "This Python can't make environments: its ensurepip is missing. On Debian or Ubuntu: sudo apt install python3-venv. Then run this again."
        )


def _made_from() -> "dict[str, str]":
    return {
        "python": _minor(sys.version_info),
        "root": str(ROOT),
        "pyproject": hashlib.sha256((ROOT / "pyproject.toml").read_bytes()).hexdigest(),
    }


def _stamp() -> "dict[str, object]":
    try:
        return json.loads(STAMP.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}


def _minor(version: "tuple[int, ...]") -> str:
    return ".".join(map(str, version[:2]))


def _usable() -> bool:
    """Whether `.venv` runs, and runs the Python that runs this script."""
    ask = "import pip, sys; print('%d.%d' % sys.version_info[:2])"
    try:
        told = subprocess.run([str(PYTHON), "-c", ask], capture_output=True, text=True, check=False)
    except OSError:
        return False
    return told.returncode == 0 and told.stdout.strip() == _minor(sys.version_info)


def _make() -> None:
    if Path(sys.prefix).resolve() == VENV.resolve():
        sys.exit(
            f"{VENV} must be made again, which it can't do itself: run this with the Python outside it."
        )
    print(f"Making {VENV}", flush=True)
    try:
        venv.create(VENV, clear=True, with_pip=True, symlinks=os.name != "nt")
    except (OSError, subprocess.CalledProcessError) as error:
        sys.exit(
            f"{VENV} could not be made ({error}). Is the folder writable, and python3-venv installed?"
        )


def _install(extras: "list[str]") -> None:
    print(
        "Installing playsite and its libraries (about 400 MB the first time; minutes)", flush=True
    )
    what = str(ROOT) + (f"[{','.join(extras)}]" if extras else "")
    pip = [str(PYTHON), "-m", "pip", "install", "--disable-pip-version-check", "--editable", what]
    told = subprocess.run(
        pip, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False
    )
    if told.returncode:
        lines = [line.strip() for line in told.stdout.splitlines() if line.strip()]
        # In a failure inside a failure the cause is not at the end.
        last = "\n  ".join(([line for line in lines if "ERROR" in line] or lines)[-6:])
        sys.exit(
            f"The libraries could not be installed. Check the network (or your proxy), then run this again. pip's last words:\n  {last}"
        )
