"""A page as a headless Chromium shows it."""

import shutil
from pathlib import Path

from selenium import webdriver


def photograph(
    page: Path, width: int, height: int, file: Path, *, nearer: int = 0, first: str = ""
) -> None:
    """Open a page at a size, so many steps nearer, run a script first, and save what is seen."""
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    driver = webdriver.ChromeService(shutil.which("chromedriver"))
    for word in ("--headless=new", "--no-sandbox", "--hide-scrollbars"):
        options.add_argument(word)
    with webdriver.Chrome(options=options, service=driver) as browser:
        size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 500}
        browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        browser.get(page.resolve().as_uri())
        browser.implicitly_wait(3)
        browser.find_element("css selector", "h1")
        for _ in range(nearer):
            browser.find_element("id", "zoom-in").click()
        browser.execute_script(first)
        browser.execute_async_script("setTimeout(arguments[0], 1500)")
        browser.save_screenshot(str(file))
