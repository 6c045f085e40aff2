"""Take the README's pictures anew: the sample town's map on a desk and a phone, and memo pages.

Needs chromium and chromedriver, LibreOffice and pdftoppm. Usage: make_pictures.py [RESULTS].
"""

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from selenium import webdriver

ROOT = Path(__file__).resolve().parents[1]
PICTURES = ROOT / "docs" / "pictures"


def photograph(page: Path, width: int, height: int, name: str, *, nearer: int = 0) -> None:
    """Open a page at a size, so many steps nearer, and save what is seen."""
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
        browser.execute_async_script("setTimeout(arguments[0], 1500)")
        browser.save_screenshot(str(PICTURES / name))


def main() -> None:
    """Photograph the map, then the memo's page of the first site."""
    results = Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "results"
    photograph(results / "map.html", 1280, 800, "map_desk.png")
    photograph(results / "map.html", 390, 844, "map_phone.png")
    photograph(results / "map.html", 1280, 800, "map_layout.png", nearer=5)
    command = ["playsite", "program", str(ROOT / "sample_gis"), "--drawing"]
    subprocess.run([*command, str(PICTURES / "layout.svg")], check=True, capture_output=True)
    with tempfile.TemporaryDirectory() as folder:
        convert = ["soffice", "--headless", "--convert-to", "pdf", "--outdir", folder]
        subprocess.run([*convert, str(results / "memo.docx")], check=True, capture_output=True)
        pages = ["pdftoppm", "-r", "70", "-png", f"{folder}/memo.pdf", f"{folder}/page"]
        subprocess.run(pages, check=True)
        told = ["pdftotext", f"{folder}/memo.pdf", "-"]
        texts = subprocess.run(told, check=True, capture_output=True, text=True).stdout.split("\f")
        site = next(i for i, text in enumerate(texts) if "What was measured" in text)
        pages = sorted(Path(folder).glob("page-*.png"))
        (PICTURES / "memo_first.png").write_bytes(pages[0].read_bytes())
        (PICTURES / "memo_site.png").write_bytes(pages[site].read_bytes())


if __name__ == "__main__":
    main()
