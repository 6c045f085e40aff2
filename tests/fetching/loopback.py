"""A server on this machine for tests: an Overpass answer, files by ranges, and bad manners."""

import http.server
import json
import sys
import time
from pathlib import Path

ANSWER = {
    "osm3s": {"timestamp_osm_base": "2026-03-01T10:00:00Z"},
    "elements": [
        {"type": "node", "id": 1, "lat": 40.6401, "lon": -74.9990, "tags": {"amenity": "toilets"}},
        {"type": "node", "id": 2, "lat": 40.6402, "lon": -75.0000},
        {"type": "node", "id": 3, "lat": 40.6402, "lon": -74.9980},
        {"type": "node", "id": 5, "lat": 40.6403, "lon": -74.9980},
        {"type": "way", "id": 4, "nodes": [2, 3], "tags": {"highway": "footway"}},
        {"type": "way", "id": 6, "nodes": [2, 3, 5, 2], "tags": {"barrier": "hedge"}},
    ],
}
LONGEST_S = 30


def answer_of(way):
    """Status, kind and body of an answer, by the first part of the path."""
    half = json.dumps({**ANSWER, "remark": "runtime error: Query timed out in 'query' at line 1"})
    return {
        "busy": (429, "text/html", "<p>too many requests</p>"),
        "gateway": (504, "text/html", "<p>timeout</p>"),
        "broken": (500, "text/html", "<p>oh</p>"),
        "wrong": (400, "text/html", "<p>parse error</p>"),
        "garbage": (200, "text/html", "<html>no</html>"),
        "cut": (200, "application/json", json.dumps(ANSWER)[:300]),
        "list": (200, "application/json", "[]"),
        "other": (200, "application/json", '{"status": "ok"}'),
        "odd": (200, "application/json", '{"elements": [1, "x", {"type": "node"}]}'),
        "half": (200, "application/json", half),
        "large": (200, "application/json", json.dumps({**ANSWER, "remark": "x" * 3_000_000})),
        "nothing": (200, "application/json", '{"elements": []}'),
    }.get(way, (200, "application/json", json.dumps(ANSWER)))


class Handler(http.server.BaseHTTPRequestHandler):
    folder = Path()
    log = Path()

    def log_message(self, *_):
        pass

    def _note(self, text):
        with self.log.open("a") as file:
            file.write(text + "\n")

    def _send(self, body, kind="application/json", status=200, headers=()):
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        for name, value in headers:
            self.send_header(name, value)
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body)

    def _drip(self, part, pause_s):
        """Send parts without an end of their own, but never for longer than the bound."""
        self.send_response(200)
        self.send_header("Content-Type", "application/json")
        self.end_headers()
        until = time.monotonic() + LONGEST_S
        try:
            while time.monotonic() < until:
                self.wfile.write(part)
                time.sleep(pause_s)
        except OSError:
            return

    def do_POST(self):
        asked = self.rfile.read(int(self.headers.get("Content-Length", 0)))
        self._note(f"POST {self.path} {asked.decode()}")
        way = self.path.split("/")[1]
        if way == "slow":
            time.sleep(LONGEST_S)
        elif way == "drip":
            self._drip(b" ", 0.2)
        elif way == "endless":
            self._drip(b" " * 65536, 0)
        elif way == "moved":
            self._send(b"", status=307, headers=[("Location", "/api/interpreter")])
        else:
            status, kind, body = answer_of(way)
            self._send(body.encode(), kind, status)

    def do_HEAD(self):
        self.do_GET()

    def do_GET(self):
        name = self.path.partition("?")[0].lstrip("/")
        path = self.folder / name.removeprefix("whole/").removeprefix("drip/")
        if not path.is_file():
            self._note(f"{self.command} {self.path} 404")
            self._send(b"", status=404)
            return
        if name.startswith("drip/") and self.command == "GET":
            self._note(f"{self.command} {self.path} drip")
            self._drip(b" ", 0.2)
            return
        body = path.read_bytes()
        asked = self.headers.get("Range") if not name.startswith("whole/") else None
        kind = "application/json" if path.suffix in {".json", ""} else "image/tiff"
        if asked:
            first, _, last = asked.removeprefix("bytes=").partition("-")
            part = body[int(first) : int(last) + 1 if last else None]
            self._note(f"RANGE {self.path} {len(part)}")
            where = ("Content-Range", f"bytes {first}-{int(first) + len(part) - 1}/{len(body)}")
            self._send(part, kind, 206, [where, ("Accept-Ranges", "bytes")])
        else:
            sent = len(body) if self.command == "GET" else 0
            self._note(f"{self.command} {self.path} {sent}")
            self._send(body, kind)


if __name__ == "__main__":
    Handler.folder, Handler.log = Path(sys.argv[1]), Path(sys.argv[2])
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    print(server.server_address[1], flush=True)  # noqa: T201  # the test reads it
    server.serve_forever()
