"""Fixtures of the browser tests: axe-core, which looks for what shuts people out."""

import hashlib
import json
import os
import shutil
import subprocess
import tarfile
from collections.abc import Callable
from pathlib import Path

import pytest

from playsite.report.web_map import write_map

ROOT = Path(__file__).resolve().parents[2]
AXE = "axe-core@4.14.1"
AXE_SHA256 = "29348999450cdf2849a8e70b7912fc2da85a849da39c0d0d5394f51d4a9ed95c"


@pytest.fixture(scope="module")
def page(shown, result, tmp_path_factory):
    """Give the map of a module's own `result`, opened once for all its tests on a desk's screen."""
    path = tmp_path_factory.mktemp("map") / "map.html"
    write_map(result, path)
    return shown(path.as_uri(), 1440, 900)


@pytest.fixture(scope="session")
def _axe() -> str:
    """Give axe-core's script, fetched from npm once into the checkout's cache."""
    cache = Path(os.environ.get("PLAYSITE_TEST_CACHE") or ROOT / ".cache/fetched")
    script = cache / f"{AXE.replace('@', '-')}.js"
    if not script.exists():
        if shutil.which("npm") is None:
            pytest.skip("npm is not on PATH, so axe-core can't be had")
        cache.mkdir(parents=True, exist_ok=True)
        packed = subprocess.run(
            ["npm", "pack", AXE, "--json"], cwd=cache, capture_output=True, text=True, check=False
        )
        if packed.returncode:
            pytest.skip("axe-core can't be had from npm")
        archive = cache / json.loads(packed.stdout)[0]["filename"]
        with tarfile.open(archive) as tar:
            script.write_bytes(tar.extractfile("package/axe.min.js").read())
        archive.unlink()
    assert hashlib.sha256(script.read_bytes()).hexdigest() == AXE_SHA256
    return script.read_text(encoding="utf-8")


@pytest.fixture
def violations(_axe) -> Callable[..., list]:
    """Give `violations(driver)`: what axe-core finds amiss in the open page, empty where nothing."""

    def look(driver) -> list:
        driver.execute_script(_axe)
        return driver.execute_async_script(
            """axe.run(document, { resultTypes: ["violations"] }).then((found) => arguments[0](
            found.violations.map((v) => [v.id, v.nodes.map((n) => n.html.slice(0, 160) + " | " + n.failureSummary)])))"""
        )

    return look
