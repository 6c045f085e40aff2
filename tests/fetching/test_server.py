"""A server is asked within bounds; whatever it does, it ends in features or in a sentence."""

import urllib.parse
from concurrent.futures import ThreadPoolExecutor

import pytest

from playsite.errors import InputError
from playsite.fetching.fetch import fetch
from playsite.fetching.server import ask_server
from playsite.fetching.sources import features_from

TOWN = (-75.01, 40.63, -74.99, 40.65)


def ask(address, *, most_minutes=1.0, most_megabytes=1.0, kinds=("restrooms", "paths", "fences")):
    return features_from(
        address, TOWN, kinds, most_minutes=most_minutes, most_megabytes=most_megabytes
    )


def test_a_server_of_ones_own_is_asked_for_what_is_wanted(server):
    found = ask(f"{server.address}/api")
    assert [len(found.of_kind(kind)) for kind in ("restrooms", "paths", "fences")] == [1, 1, 1]
    assert found.of_kind("fences").geom_type.tolist() == ["LineString"], "a hedge is no area"
    assert found.date == "2026-03-01", "the day that its data is of, not the day of asking"
    (asked,) = server.asked("POST")
    query = urllib.parse.unquote_plus(asked)
    assert query.startswith("/api/interpreter")
    assert all(tag in query for tag in ("amenity", "toilets", "highway", "footway", "hedge"))
    assert "building" not in query
    assert not server.asked("GET"), "no other page of it is asked"


def test_the_same_question_is_not_asked_twice_a_day(server, tmp_path):
    first = ask(f"{server.address}/api")
    again = ask(f"{server.address}/api/")
    assert len(again.rows) == len(first.rows)
    again = ask(f"{server.address}/api")
    assert again.date == first.date
    assert len(server.asked("POST")) == 2, "another spelling, then none"
    (kept, _) = sorted((tmp_path / "cache" / "open_data").iterdir())
    kept.rename(kept.with_name("2001" + kept.name[4:]))
    ask(f"{server.address}/api", kinds=("trees",))
    assert not kept.with_name("2001" + kept.name[4:]).exists(), "old answers are thrown away"


def test_an_answer_that_holds_nothing_is_no_fault(server):
    found = ask(f"{server.address}/nothing")
    assert found.rows.empty
    assert found.of_kind("restrooms").empty


def test_a_server_that_has_moved_is_followed(server):
    assert len(ask(f"{server.address}/moved").of_kind("restrooms")) == 1
    assert len(server.asked("POST")) == 2


@pytest.mark.parametrize(
    ("way", "said"),
    [
        ("garbage", "is no answer of an Overpass server"),
        ("cut", "is no answer of an Overpass server"),
        ("list", "is no answer of an Overpass server"),
        ("other", "is no answer of an Overpass server"),
        ("odd", "is no answer of an Overpass server"),
        ("half", "broke its answer off: runtime error: Query timed out"),
        ("broken", "answers with status 500"),
        ("wrong", "answers with status 400"),
        ("large", "larger than 1 MB"),
        ("endless", "larger than 1 MB"),
    ],
)
def test_bad_answers_end_in_a_sentence(server, way, said):
    with pytest.raises(InputError, match=said) as told:
        ask(f"{server.address}/{way}")
    assert f"{server.address}/{way}" in str(told.value)
    assert len(server.asked("POST")) == 1, "not asked again"


def test_what_never_ends_is_ended(server):
    """osmnx sleeps 55 seconds at 429 and 504, and asks again without end."""
    ways = {"busy": "status 429", "gateway": "status 504", "slow": "", "drip": ""}

    def tried(way):
        with pytest.raises(InputError, match=r"did not answer within 0.3 minutes") as told:
            ask(f"{server.address}/{way}", most_minutes=0.3)
        return str(told.value)

    with ThreadPoolExecutor() as pool:
        for said, status in zip(pool.map(tried, ways), ways.values(), strict=True):
            assert status in said
            assert "--most-minutes" in said


def test_nobody_at_home_ends_in_a_sentence():
    with pytest.raises(InputError, match=r"127\.0\.0\.1:9"):
        ask("http://127.0.0.1:9/api")


def test_the_public_server_is_asked_only_by_its_word(server, tmp_path, monkeypatch):
    """Its address is osmnx's own: here that address is one of this machine."""
    import osmnx

    for name in vars(osmnx.settings):  # the settings are put back: asking changes them
        if not name.startswith("_"):
            monkeypatch.setattr(osmnx.settings, name, getattr(osmnx.settings, name))
    monkeypatch.setattr(osmnx.settings, "overpass_url", f"{server.address}/public")
    monkeypatch.setattr(osmnx._overpass, "_get_overpass_pause", lambda _: 0)
    asked = {
        "source": "overpass",
        "bounds": TOWN,
        "kinds": ["restrooms"],
        "most_bytes": 1e6,
        "most_minutes": 1,
        "out": str(tmp_path / "features.gpkg"),
    }
    assert ask_server(asked)["features"] == 1
    assert server.asked("POST")[0].startswith("/public/interpreter")
    assert osmnx.settings.overpass_rate_limit, "its own way to queue is kept"


def test_a_server_at_fault_leaves_the_study_as_it_was(study, server):
    before = study.read_bytes(), sorted(study.parent.iterdir())
    with pytest.raises(InputError):
        fetch(study, ["restrooms"], f"{server.address}/half")
    assert (study.read_bytes(), sorted(study.parent.iterdir())) == before
