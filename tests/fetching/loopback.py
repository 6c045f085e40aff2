"""A server on this machine for tests: an Overpass answer, files by ranges, and bad manners."""

import http.server
import json
import sys
import time
from pathlib import Path

ANSWER = {
    "elements": [
        {"type": "node", "id": 1, "lat": 40.6401, "lon": -74.9990, "tags": {"amenity": "toilets"}},
        {"type": "node", "id": 2, "lat": 40.6402, "lon": -75.0000},
        {"type": "node", "id": 3, "lat": 40.6402, "lon": -74.9980},
        {"type": "way", "id": 4, "nodes": [2, 3], "tags": {"highway": "footway"}},
    ]
}


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

    def do_POST(self):
        self.rfile.read(int(self.headers.get("Content-Length", 0)))
        self._note(f"POST {self.path}")
        way = self.path.split("/")[1]
        if way == "slow":
            time.sleep(30)
        if way == "busy":
            self._send(b"{}", status=429)
        elif way == "garbage":
            self._send(b"<html>no</html>", "text/html")
        elif way == "large":
            self._send(json.dumps({"elements": [], "remark": "x" * 3_000_000}).encode())
        elif way == "nothing":
            self._send(json.dumps({"elements": []}).encode())
        else:
            self._send(json.dumps(ANSWER).encode())

    def do_HEAD(self):
        self.do_GET()

    def do_GET(self):
        path = self.folder / self.path.lstrip("/")
        if not path.is_file():
            self._send(b"", status=404)
            return
        body = path.read_bytes()
        asked = self.headers.get("Range")
        kind = "application/json" if path.suffix == ".json" else "image/tiff"
        if asked:
            first, _, last = asked.removeprefix("bytes=").partition("-")
            part = body[int(first) : int(last) + 1 if last else None]
            self._note(f"RANGE {len(part)}")
            where = ("Content-Range", f"bytes {first}-{int(first) + len(part) - 1}/{len(body)}")
            self._send(part, kind, 206, [where, ("Accept-Ranges", "bytes")])
        else:
            self._note(f"GET {len(body) if self.command == 'GET' else 0}")
            self._send(body, kind, headers=[("Accept-Ranges", "bytes")])


if __name__ == "__main__":
    Handler.folder, Handler.log = Path(sys.argv[1]), Path(sys.argv[2])
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    print(server.server_address[1], flush=True)  # noqa: T201  # the test reads it
    server.serve_forever()
