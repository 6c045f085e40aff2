"""Ask a server for features, in a process of its own: reads a request, writes an answer."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

__all__ = ["main"]

_CHUNK = 1 << 16


def main() -> None:
    """Read one request from standard input and write its features, or say why not and fail."""
    asked = json.load(sys.stdin)
    try:
        rows = _asked(asked)
    except Exception as error:  # noqa: BLE001  # the parent tells the user
        said = str(error).splitlines()
        sys.stderr.write(f"{type(error).__name__}: {said[0] if said else ''}\n")
        sys.exit(1)
    Path(asked["out"]).write_text(json.dumps(rows), encoding="utf-8")


def _asked(asked: dict[str, Any]) -> list[dict[str, Any]]:
    import osmnx as ox  # noqa: PLC0415  # slow to import
    import requests  # noqa: PLC0415

    original = requests.post

    def bounded(*arguments: Any, **options: Any) -> Any:
        response = original(*arguments, **{**options, "stream": True})
        held = b""
        for chunk in response.iter_content(_CHUNK):
            held += chunk
            if len(held) > asked["most_bytes"]:
                raise ValueError(f"the answer is larger than {asked['most_bytes'] / 1e6:g} MB")
        if response.ok and not held.lstrip().startswith(b"{"):
            raise ValueError("the answer is no answer of an Overpass server")
        response._content = held  # noqa: SLF001  # what the library reads next
        return response

    requests.post = bounded
    ox.settings.overpass_url = asked["address"].rstrip("/").removesuffix("/interpreter")
    ox.settings.overpass_rate_limit = False
    ox.settings.doh_url_template = None
    ox.settings.use_cache = False
    wanted = {key: values or True for key, values in asked["tags"].items()}
    try:
        found = ox.features_from_bbox(tuple(asked["bounds"]), wanted)
    except ox._errors.InsufficientResponseError:  # noqa: SLF001  # nothing there is no fault
        return []
    tags = found.drop(columns="geometry").astype(object).to_dict("records")
    shapes = found.geometry.to_wkt(rounding_precision=8)
    return [
        {"wkt": wkt, "tags": {k: v for k, v in own.items() if isinstance(v, str)}}
        for wkt, own in zip(shapes, tags, strict=True)
    ]


if __name__ == "__main__":
    main()
