"""Take the README's pictures anew: the sample town's map on a desk and a phone, the ballot, and memo pages.

Needs chromium and chromedriver, and pdftoppm. Usage: make_pictures.py [RESULTS].
"""

import subprocess
import sys
import tempfile
from pathlib import Path

from _photograph import photograph
from _views import VIEWS

ROOT = Path(__file__).resolve().parents[1]
PICTURES = ROOT / "docs" / "pictures"
DESK, PHONE, PAGE = (1280, 800), (390, 844), (760, 1260)
SHOTS = (
    ("map_desk.png", "map.html", DESK, 0),
    ("map_phone.png", "map.html", PHONE, 0),
    ("map_layout.png", "map.html", DESK, 5),
    ("ballot.png", "ballot.html", PAGE, 0),
)


def main() -> None:
    """Photograph map and ballot, then the memo's page of the first site."""
    results = Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "results"
    for name, page, size, nearer in SHOTS:
        photograph(results / page, *size, PICTURES / name, nearer=nearer)
    for name, first in VIEWS.items():
        photograph(results / "map.html", *DESK, PICTURES / name, first=first)
    drawing = str(PICTURES / "layout.svg")
    subprocess.run(
        ["playsite", "program", str(ROOT / "sample_gis"), "--drawing", drawing], check=True
    )
    with tempfile.TemporaryDirectory() as folder:
        memo = str(results / "memo.pdf")
        subprocess.run(["pdftoppm", "-r", "70", "-png", memo, f"{folder}/page"], check=True)
        told = ["pdftotext", memo, "-"]
        texts = subprocess.run(told, check=True, capture_output=True, text=True).stdout.split("\f")
        site = next(i for i, text in enumerate(texts) if "Site sheets" in text)
        pages = sorted(Path(folder).glob("page-*.png"))
        (PICTURES / "memo_first.png").write_bytes(pages[0].read_bytes())
        (PICTURES / "memo_site.png").write_bytes(pages[site].read_bytes())


if __name__ == "__main__":
    main()
