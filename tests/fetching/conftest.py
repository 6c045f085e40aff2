"""A study to fetch for, and a server of the tests' own, in another process on this machine."""

import subprocess
import sys
from pathlib import Path

import pytest
from made_up_study import box, write_study

SERVER = Path(__file__).parent / "loopback.py"


class Served:
    """A server: its address, the folder that it serves, and what it was asked."""

    def __init__(self, address, folder, log):
        self.address, self.folder, self.log = address, folder, log

    def asked(self, verb):
        """Give what was asked with a verb (POST, GET, RANGE), without the verb."""
        lines = self.log.read_text().splitlines()
        return [line.removeprefix(f"{verb} ") for line in lines if line.startswith(f"{verb} ")]


@pytest.fixture(autouse=True)
def _own_cache(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))


@pytest.fixture
def study(tmp_path):
    file = write_study(tmp_path / "town", {"A": box(100, 100, 60, 60)}, study='criteria = ["fit"]')
    file.write_text("# my own words\n" + file.read_text())
    return file


@pytest.fixture
def server(tmp_path):
    """Serve a folder on this machine, till the test ends."""
    folder, log = tmp_path / "served", tmp_path / "asked.log"
    folder.mkdir()
    log.touch()
    command = [sys.executable, str(SERVER), str(folder), str(log)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        try:
            port = process.stdout.readline().strip()
            yield Served(f"http://127.0.0.1:{port}", folder, log)
        finally:
            process.kill()
