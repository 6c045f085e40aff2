"""The chain in Python: load, compute, rank, render. Usage: rank_sites.py [STUDY] [FOLDER]."""

import sys
from pathlib import Path

import playsite

ROOT = Path(__file__).resolve().parents[1]


def main() -> None:
    """Rank one study and say what came out."""
    study = Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "sample_gis" / "study.toml"
    folder = Path(sys.argv[2]) if len(sys.argv) > 2 else ROOT / "results"
    for finding in playsite.check(study):  # load: the data gate says what it noticed
        print("noticed:", finding)
    result = playsite.rank(study)  # compute and rank
    for site in result.ranked.itertuples():
        print(f"{site.rank:>3}  site {site.site_no:<4} {site.name:<28} {100 * site.score:.0f}")
    playsite.write_results(result, folder)  # render
    print("map:", (folder / "map.html").resolve().as_uri())


if __name__ == "__main__":
    main()
