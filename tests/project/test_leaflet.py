"""Leaflet in the package is the published one, and asks for no second file of scripts."""

import base64
import hashlib

import pytest


@pytest.fixture
def leaflet(repo):
    return repo / "playsite/report/web_map/leaflet"


def test_every_file_is_as_it_was_fetched(leaflet):
    lines = (leaflet / "SHA256SUMS.txt").read_text(encoding="ascii").splitlines()
    sums = {name: digest for digest, name in (line.split("  ") for line in lines)}
    assert set(sums) == {"LICENSE", "leaflet.css", "leaflet.js"}
    for name, digest in sums.items():
        assert hashlib.sha256((leaflet / name).read_bytes()).hexdigest() == digest, name


def integrity(content: bytes) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(content).digest()).decode()


def test_script_and_style_are_the_ones_that_leaflets_authors_publish(leaflet):
    # The `integrity` of each tag in Leaflet's own quick start guide for 1.9.4.
    script = "sha256-20nQCchB9co0qIjJZRGuk2/Z9VM+kNiyxNV1lvTlZBo="
    style = "sha256-p4NxAoJBhIIN+hmNHrzRCf9tD/miZyoHS5obTRR9BMY="
    stripped = b"//# sourceMappingURL=leaflet.js.map"  # it would be asked for in vain
    kept = (leaflet / "leaflet.js").read_bytes()
    assert b"sourceMappingURL" not in kept
    assert integrity(kept + stripped) == script
    assert integrity((leaflet / "leaflet.css").read_bytes()) == style


def test_the_licence_is_there(leaflet):
    assert "BSD 2-Clause" in (leaflet / "LICENSE").read_text(encoding="utf-8")
