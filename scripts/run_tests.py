"""Set up the environment with the test extras and check everything; the exit code is honest.

python scripts/run_tests.py                      all of it, with the coverage gate
python scripts/run_tests.py --quick              no slow, browser or fetched tests, no gate
python scripts/run_tests.py tests/laws -k grade  these tests; the gate is for the whole only
"""

import argparse
import sys

from _environment import ready, run

QUICK = ["-m", "not slow and not browser and not fetched"]
ON_ALL_CORES = ["-n", "auto", "--dist", "loadfile"]  # a file's fixtures are made once


def main() -> int:
    """Give 0 when every step passed."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--quick", action="store_true", help="leave out slow tests and the gate")
    options, chosen = parser.parse_known_args()
    ready("test")
    gate = [] if options.quick or chosen else ["--cov"]
    cores = [] if chosen else ON_ALL_CORES
    steps = {
        "ruff check": lambda: run("ruff", "check", "."),
        "ruff format": lambda: run("ruff", "format", "--check", "."),
        "mypy": lambda: run("mypy"),
        "import-linter": lambda: run("lint-imports", module=False),
        # Last, so that its closing line stays in sight.
        "pytest": lambda: run("pytest", *cores, *gate, *(QUICK if options.quick else []), *chosen),
    }
    failed = []
    for name, step in steps.items():
        print(f"\n== {name}", flush=True)
        if step():
            failed.append(name)
    if failed:
        print(f"\nFailed: {', '.join(failed)}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
