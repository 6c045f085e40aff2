"""A run killed at chance moments leaves the old results whole, or the new."""

import hashlib
import json
import os
import random
import signal
import subprocess
import sys
import time

import pytest
from made_up_study import box, ground, write_study

from playsite.report.writing import write_all
from playsite.study import run

KILLS = 8


def _marks(folder):
    """Sums of all files of a folder that is whole: its own record says what must be there."""
    record = json.loads((folder / ".written.json").read_text(encoding="utf-8"))
    there = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    assert there == {*record, ".written.json"}
    for name, sum_of in record.items():
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == sum_of, name
    return record


class Town:
    """A study of two weights of a criterion, the results of both, and what stands in the folder."""

    def __init__(self, folder):
        elevation = ground(lambda x, y: 10 + 0.01 * x + 0.0001 * y**2)
        parcels = {f"P-{i}": box(10 + 65 * i, 100, 55, 60) for i in range(2)}
        study = 'least_known = "5 %"'
        self.file = write_study(folder / "town", parcels, elevation=elevation, study=study)
        self.out = folder / "out"
        plain = self.file.read_text(encoding="utf-8")
        self.texts = (plain, plain + "[criteria.grade]\nweight = 30\n")
        self.results, self.wholes = [], []
        for number in (0, 1):
            self.turn_to(number)
            self.results.append(run(self.file))
            started = time.monotonic()
            write_all(self.results[-1], self.out)
            self.writing_s = time.monotonic() - started
            self.wholes.append(_marks(self.out))
        assert self.wholes[0] != self.wholes[1]
        self.stands, self.seen = 1, {"old": 0, "new": 0}

    def turn_to(self, number):
        self.file.write_text(self.texts[number], encoding="utf-8")

    def look(self):
        """Hold what is found after a kill to be one of the two, whole."""
        if not self.out.exists():  # between two renames: the next run puts the old ones back
            write_all(self.results[self.stands], self.out)
        found = _marks(self.out)
        assert found in self.wholes
        self.seen["old" if found == self.wholes[self.stands] else "new"] += 1
        self.stands = self.wholes.index(found)


@pytest.fixture(scope="module")
def two(tmp_path_factory):
    folder = tmp_path_factory.mktemp("killed")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PLAYSITE_CACHE", str(folder / "cache"))
        patch.setenv("SOURCE_DATE_EPOCH", "1700000000")  # the same run gives the same bytes
        yield Town(folder)


pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="signals of another kind"),
    pytest.mark.filterwarnings("ignore:.*multi-threaded.*fork:DeprecationWarning"),
]


def test_killed_at_chance_moments_of_writing_the_results_are_whole(two):
    chance = random.Random(1)  # noqa: S311  # moments, not secrets
    for _ in range(KILLS):
        child = os.fork()
        if child == 0:  # pragma: no cover -- another process
            try:
                write_all(two.results[1 - two.stands], two.out)
            finally:
                os._exit(0)
        time.sleep(two.writing_s * chance.uniform(0, 1.2))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        two.look()
    assert sum(two.seen.values()) == KILLS
    assert two.seen["old"], "no kill came before the end"
    write_all(two.results[0], two.out)
    assert _marks(two.out) == two.wholes[0]


@pytest.mark.parametrize("share", [0.8])
def test_the_command_killed_on_its_way_leaves_the_results_whole(two, share):
    two.turn_to(two.stands)
    command = [sys.executable, "-m", "playsite", "rank", str(two.file), "--out", str(two.out)]
    started = time.monotonic()
    subprocess.run(command, check=True, capture_output=True)
    took = time.monotonic() - started
    assert _marks(two.out) == two.wholes[two.stands]
    two.turn_to(1 - two.stands)
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    time.sleep(took * share)
    process.send_signal(signal.SIGKILL)
    process.wait()
    two.look()
