"""Write docs/low_spots.md: how often low spots told with a probability are real.

Usage: reliability_of_low_spots.py [WINDOWS]; 200 without a word, some minutes.
"""

import sys
from pathlib import Path

from playsite.terrain.reliability import conditional, judged, noise_added, table

OUT = Path(__file__).resolve().parents[1] / "docs" / "low_spots.md"

HEAD = """# Low spots: how far a probability can be taken at its word

Made by `scripts/reliability_of_low_spots.py`; {windows} windows of made-up ground for each table.

Ground: 96 x 96 m in cells of 1 m, relief of 0.12 m that is alike over 7 m, slopes of 0 to 2 %. It is observed with noise of 5 cm. A spot is real if the true ground holds 10 cm of water inside its outline. Judged are hollows of 5 cm and 9 m² or more.

*Possible grounds* is what the toolkit does: grounds are drawn that may lie under the observed one, given how ground and noise share its waves, and the probability is the share of them that hold water there. *Noise added* is a much used way, for comparison: noise is added to the observed ground again and again, and the share of copies that hold water is told. The hollows that the first noise made are in all its copies.

The Brier score is the mean square of probability less truth: 0 is perfect, and saying one half each time scores 0.25. Made-up ground is Gaussian and its noise is known; real ground is not, and neither is its noise. These are desk figures for screening: look at a spot in wet weather before you rely on it.
"""

NOISES = {0.0: "independent from cell to cell", 4.0: "correlated over 4 m"}
WAYS = {"Possible grounds": conditional, "Noise added": noise_added}


def main() -> None:
    """Judge both ways under both noises, and write the tables."""
    windows = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    parts = [HEAD.format(windows=windows)]
    for length_m, what in NOISES.items():
        for name, way in WAYS.items():
            found = judged(way, windows=windows, noise_m=0.05, noise_length_m=length_m)
            figures = f"Brier score {found.brier:.3f}; of spots at 0.6 or more, {found.real_share:.0%} are real."
            parts.append(f"## {name}, noise {what}\n\n{figures}\n\n{table(found)}\n")
    OUT.write_text("\n".join(parts), encoding="utf-8")


if __name__ == "__main__":
    main()
