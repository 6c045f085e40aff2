"""Set playsite up, rank the sample town, and say where the map and the memo lie.

python scripts/try_it.py
"""

import sys

from _environment import PYTHON, ROOT, ready, run

OUT = ROOT / "results"


def main() -> int:
    """Give 0 when the map and the memo are there."""
    ready()
    code = run("playsite", "rank", "sample_gis/study.toml", "--out", OUT.name)
    if code:
        print("\nThe sample could not be ranked: see the lines above.")
        return code
    map_file, memo_file = OUT / "map.html", OUT / "memo.pdf"
    missing = [str(file) for file in (map_file, memo_file) if not file.exists()]
    if missing:
        print(f"\nThe run ended without {' and '.join(missing)}.")
        return 1
    print(f"""
The sample town is ranked.
  Map:  {map_file.as_uri()}
        Open it in a browser. It needs no network.
  Memo: {memo_file}
        The same to edit is memo.docx, and for the web memo.html.

Next: copy the folder sample_gis, put your own map files in it, and say in its study.toml
who will play and what matters. Then
  {PYTHON} -m playsite check YOUR_FOLDER   tells what is wrong with the files,
  {PYTHON} -m playsite rank YOUR_FOLDER    writes map and memo to YOUR_FOLDER/results.""")
    return 0


if __name__ == "__main__":
    sys.exit(main())
