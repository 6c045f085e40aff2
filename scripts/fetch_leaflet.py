"""Make playsite/report/web_map/leaflet again from the npm package `leaflet` (needs npm).

python scripts/fetch_leaflet.py
"""

import hashlib
import re
import shutil
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

VERSION = "1.9.4"
PACKAGE_SHA256 = "84c65a256e50657896f54c33bd857b6849ebe94c817803be818bf32a3dde0b77"
TARGET = Path(__file__).resolve().parent.parent / "playsite/report/web_map/leaflet"
FILES = {
    "package/dist/leaflet.js": "leaflet.js",
    "package/dist/leaflet.css": "leaflet.css",
    "package/LICENSE": "LICENSE",
}


def main() -> None:
    """Write Leaflet's files and their hashes; stop when the package is not the one that was read."""
    npm = shutil.which("npm") or sys.exit("npm is missing: it comes with Node.js.")
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([npm, "pack", f"leaflet@{VERSION}", "--silent"], cwd=folder, check=True)
        package = Path(folder) / f"leaflet-{VERSION}.tgz"
        got = hashlib.sha256(package.read_bytes()).hexdigest()
        if got != PACKAGE_SHA256:
            sys.exit(
                f"leaflet {VERSION} has SHA-256 {got}, not {PACKAGE_SHA256}: nothing was written."
            )
        with tarfile.open(package) as archive:
            texts = {name: archive.extractfile(member).read() for member, name in FILES.items()}
    # The map is one file: a pointer to a second one would be asked for in vain.
    texts["leaflet.js"] = re.sub(rb"//# sourceMappingURL=\S*\n?", b"", texts["leaflet.js"])
    TARGET.mkdir(parents=True, exist_ok=True)
    sums = {name: hashlib.sha256(text).hexdigest() for name, text in sorted(texts.items())}
    texts["SHA256SUMS.txt"] = "".join(
        f"{digest}  {name}\n" for name, digest in sums.items()
    ).encode()
    for name, text in texts.items():
        (TARGET / name).write_bytes(text)


if __name__ == "__main__":
    main()
