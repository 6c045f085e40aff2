"""How the benchmark takes its times, and how it tells them."""

import itertools
import math
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path

Work = Mapping[str, Callable[[], object]]

REPEATS = 5
LARGE = 8000
"""Side of rasters from which on two repeats are enough: the slowest peers take minutes."""
SCRIPT = Path(__file__).resolve().parents[1] / "benchmark.py"


def timed(
    work: Work, repeats: int = REPEATS, clock: Callable[[], float] = time.perf_counter
) -> dict[str, float]:
    """Least seconds of each, run in turn; each is run once before, to compile and warm up.

    Other work on the machine can only add to a time, so the least is the nearest to the truth. On a
    machine that others use, seconds of the processor (``time.process_time``) say more.
    """
    return {name: min(own) for name, own in in_turn(work, repeats, clock).items()}


def in_turn(
    work: Work, repeats: int, clock: Callable[[], float] = time.perf_counter
) -> dict[str, list[float]]:
    """Seconds of each, run in turn."""
    seconds: dict[str, list[float]] = {name: [] for name in work}
    for each in work.values():
        each()
    for _ in range(repeats):
        for name, each in work.items():
            start = clock()
            each()
            seconds[name].append(clock() - start)
    return seconds


def told(head: str, seconds: Mapping[str, float], *, ours: str) -> None:
    """Print seconds and ratios to ours."""
    print(head)
    for name, own in seconds.items():
        print(f"  {name:<38} {own:9.4f} s   {own / seconds[ours]:8.2f} x ours")


def in_sizes(
    part: str, sizes: list[int], works: Callable[[int], Work], *, repeats: int, ours: str
) -> None:
    """Time a part's works in rasters of given sides, with first call, memory and exponent."""
    least: dict[int, dict[str, float]] = {}
    for side in sizes:
        took = in_turn(works(side), repeats if side < LARGE else 2)
        least[side] = {name: min(own) for name, own in took.items()}
        print(f"{part}, {side} x {side} cells")
        for name, own in least[side].items():
            pairs = [one / of for one, of in zip(took[name], took[ours], strict=True)]
            first, megabytes = once_apart(part, name, side)
            print(
                f"  {name:<34} {own:8.3f} s {own / least[side][ours]:7.2f} x ours "
                f"(median of pairs {statistics.median(pairs):.2f}), "
                f"first call {first:6.2f} s, {megabytes:6,.0f} MB more"
            )
    for small, large in itertools.pairwise(sizes):
        grown = {
            name: math.log(least[large][name] / least[small][name]) / math.log((large / small) ** 2)
            for name in least[small]
            if name in least[large]
        }
        powers = ", ".join(f"{name} {power:.2f}" for name, power in grown.items())
        print(f"  from {small} to {large}, power of the number of cells: {powers}")


def once_apart(part: str, name: str, side: int) -> tuple[float, float]:
    """Seconds and megabytes that a first call takes in a process of its own.

    What was compiled in earlier runs is loaded from the cache, as it is for a user.
    """
    command = [sys.executable, str(SCRIPT), "--once", part, name, str(side)]
    told_back = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    seconds, megabytes = map(float, told_back.split()[-2:])
    return seconds, megabytes


def once(each: Callable[[], object]) -> None:
    """Print seconds and megabytes of one call; the other end of :func:`once_apart`."""
    # what was needed to make the inputs does not count
    Path("/proc/self/clear_refs").write_text("5", encoding="utf-8")
    before = _megabytes("VmRSS")
    start = time.perf_counter()
    each()
    seconds = time.perf_counter() - start
    print(seconds, max(_megabytes("VmHWM") - before, 0))


def _megabytes(name: str) -> float:
    """Memory of this process as Linux tells it: now (VmRSS), or at most (VmHWM)."""
    status = Path("/proc/self/status").read_text(encoding="utf-8")
    return next(float(line.split()[1]) / 1024 for line in status.splitlines() if name in line)
