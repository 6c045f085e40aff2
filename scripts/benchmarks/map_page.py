"""The map's page in a headless Chromium: how large it is, when it is drawn, how fast it ranks anew."""

import os
import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
DRAWN = "return document.documentElement.dataset.drawn === 'yes'"
NEXT_FRAME = "requestAnimationFrame(() => requestAnimationFrame(arguments[0]))"
RANK_ANEW = """
const field = document.querySelector("#sliders [type=number]"), took = [];
for (let i = 0; i < 30; i++) {
  field.value = 10 + 2 * i;
  const start = performance.now();
  field.dispatchEvent(new Event("input"));
  took.push(performance.now() - start);
}
return took;
"""


def map_page() -> None:
    """Pages of made-up towns; PLAYSITE_PAGES sets how many parcels."""
    sys.path.insert(0, str(ROOT / "tests"))
    from report.made_up_result import made_up_result, with_scores_of_measurements
    from selenium import webdriver

    from playsite.report.web_map import write_map

    sizes = [int(n) for n in os.environ.get("PLAYSITE_PAGES", "12,1000,20000,100000").split(",")]
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    for word in ("--headless=new", "--no-sandbox", "--disable-gpu", "--window-size=1440,900"):
        options.add_argument(word)
    service = webdriver.ChromeService(shutil.which("chromedriver"))
    with tempfile.TemporaryDirectory() as folder, webdriver.Chrome(options, service) as browser:
        for parcels in sizes:
            path = Path(folder) / f"{parcels}.html"
            result = with_scores_of_measurements(made_up_result(parcels))
            start = time.perf_counter()
            write_map(result, path)
            written = time.perf_counter() - start
            seconds = min(opened(browser, path) for _ in range(3))
            took = browser.execute_script(RANK_ANEW)
            print(
                f"Map of {parcels:>7,} parcels: {path.stat().st_size / 1e6:5.2f} MB, written in "
                f"{written:5.1f} s, drawn after {seconds:5.2f} s; ranked anew on the page, table and "
                f"map with it, in {statistics.median(took):.1f} ms"
            )


def opened(browser: Any, path: Path) -> float:
    """Seconds from asking for a page to its second frame with the map drawn."""
    browser.get("about:blank")
    start = time.perf_counter()
    browser.get(path.as_uri())
    while not browser.execute_script(DRAWN):
        time.sleep(0.01)
    browser.execute_async_script(NEXT_FRAME)
    return time.perf_counter() - start
