"""Features of OpenStreetMap from an Overpass server, through osmnx: it asks, waits and draws."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

from playsite.errors import InputError
from playsite.fetching.bounded import say
from playsite.fetching.osm_file import keep_features
from playsite.fetching.placing import today
from playsite.fetching.saved_answer import date_of_answer, fault_of_answer
from playsite.fetching.tags import TAGS
from playsite.problems import Problem

__all__ = ["PUBLIC", "ask_server"]

PUBLIC = "overpass"
"""Word for the public server that osmnx knows: asked only when the user says so."""

_CHUNK = 1 << 16


def ask_server(asked: dict[str, Any]) -> dict[str, Any]:
    """Ask a server for features, and keep them. Settings of osmnx are changed: use a process.

    Parameters
    ----------
    asked
        ``source`` (address, or ``"overpass"``), ``bounds`` (degrees), ``kinds``, ``most_bytes``,
        ``most_minutes``, ``out``.

    Returns
    -------
    dict
        ``date`` of the server's data, else today; ``notes``.

    Raises
    ------
    InputError
        If the answer is too large, or none.
    """
    import osmnx as ox  # noqa: PLC0415  # slow to import
    from osmnx._errors import InsufficientResponseError  # noqa: PLC0415

    answers = _Answers(asked["source"], asked["most_bytes"])
    if asked["source"] != PUBLIC:
        ox.settings.overpass_url = asked["source"].rstrip("/").removesuffix("/interpreter")
        ox.settings.overpass_rate_limit = False  # the public one's own way to queue
    ox.settings.doh_url_template = None  # a name is looked up here, not by a public resolver
    ox.settings.use_cache = False
    ox.settings.requests_timeout = max(1, min(180, int(60 * asked["most_minutes"])))
    ox.settings.requests_kwargs = {"stream": True, "hooks": {"response": answers.take}}
    try:
        found = ox.features_from_bbox(tuple(asked["bounds"]), _tags(asked["kinds"]))
        tags = found.drop(columns="geometry").astype(object).to_dict("records")
        found["tags"] = [{k: v for k, v in row.items() if isinstance(v, str)} for row in tags]
        kept = keep_features(found, asked["kinds"], Path(asked["out"]))
    except InsufficientResponseError:
        if not answers.whole:
            raise
        kept = 0  # a whole answer that holds nothing: no fault
    return {"features": kept, "date": min(answers.dates, default=today()), "notes": []}


def _tags(kinds: list[str]) -> dict[str, Any]:
    wanted: dict[str, Any] = {}
    for kind in kinds:
        for key, values in TAGS[kind].tags.items():
            both = not values or wanted.get(key) is True
            wanted[key] = True if both else [*wanted.get(key, []), *values]
    return wanted


class _Answers:
    """What the server sends, read no further than the bound, before osmnx sees it."""

    def __init__(self, source: str, most_bytes: int) -> None:
        self.source, self.most_bytes = source, most_bytes
        self.whole = False
        self.dates: list[str] = []

    def take(self, response: Any, **_: Any) -> Any:
        held = bytearray()
        for chunk in response.iter_content(_CHUNK):
            held += chunk
            if len(held) > self.most_bytes:
                what = f"its answer is larger than {self.most_bytes / 1e6:g} MB."
                self._refuse(what, "Fetch fewer layers at once, or give --most-megabytes.")
        if response.status_code in {429, 504}:
            say(f"it is busy (status {response.status_code})")  # and osmnx asks again, without end
        elif not response.ok:
            self._refuse(f"it answers with status {response.status_code} {response.reason}.")
        elif not response.is_redirect:
            self._look_into(bytes(held))
        # Its content is read: osmnx gets another response that says the same.
        again = type(response)()
        again.status_code, again.reason, again.url = (
            response.status_code,
            response.reason,
            response.url,
        )
        again.headers, again.request = response.headers, response.request
        again.raw, again.encoding = io.BytesIO(bytes(held)), "utf-8"
        return again

    def _look_into(self, held: bytes) -> None:
        try:
            answer = json.loads(held)
        except ValueError:
            answer = None
        fault = fault_of_answer(answer)
        if fault:
            self._refuse(f"{fault}.")
        self.whole = True
        date = date_of_answer(answer)
        if date:
            self.dates.append(date)

    def _refuse(self, what: str, remedy: str = "Look at the address, or give a file.") -> None:
        raise InputError([Problem(what, remedy, file=self.source)])
