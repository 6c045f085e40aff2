"""The fixture `fetched`: real data, the same bytes everywhere, never something else."""

import tomllib
from pathlib import Path

import pytest

REPO = Path(__file__).resolve().parents[2]
TABLE = tomllib.loads((REPO / "tests/fetched.toml").read_text(encoding="utf-8"))
FILES = [(package, name) for package, row in TABLE.items() for name in row["holds"]]


@pytest.mark.fetched
@pytest.mark.parametrize(("package", "name"), FILES)
def test_each_file_of_the_table_can_be_had(fetched, package, name):
    file = fetched(package, TABLE[package]["version"], name)
    assert file.stat().st_size > 0


@pytest.mark.fetched
def test_the_other_parts_of_a_shapefile_lie_beside_it(fetched):
    shapes = fetched("rasterstats", "0.21.0", "tests/data/polygons.shp")
    assert shapes.with_suffix(".dbf").exists()


def test_a_package_without_a_hash_is_refused(fetched):
    with pytest.raises(AssertionError, match=r"no SHA-256 for geographiclib 2\.0"):
        fetched("geographiclib", "2.0", "geographiclib/geodesic.py")


@pytest.mark.fetched
def test_another_archive_under_the_same_name_fails_and_leaves_nothing(
    fetched, tmp_path, monkeypatch
):
    monkeypatch.setenv("PLAYSITE_TEST_CACHE", str(tmp_path))
    with pytest.raises(AssertionError, match="not 0000"):
        fetched("geographiclib", "2.1", "geographiclib/geodesic.py", sha256="0" * 64)
    assert list(tmp_path.iterdir()) == []


@pytest.fixture
def no_network(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_TEST_CACHE", str(tmp_path))
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    monkeypatch.setenv("PIP_FIND_LINKS", str(tmp_path))


@pytest.mark.usefixtures("no_network")
def test_what_cannot_be_had_is_skipped_with_the_reason(fetched, monkeypatch):
    monkeypatch.delenv("PLAYSITE_FETCHED_TESTS", raising=False)
    with pytest.raises(pytest.skip.Exception, match=r"geographiclib==2\.1 can't be had: ERROR"):
        fetched("geographiclib", "2.1", "geographiclib/geodesic.py")


@pytest.mark.usefixtures("no_network")
def test_what_cannot_be_had_fails_where_it_is_required(fetched, monkeypatch):
    monkeypatch.setenv("PLAYSITE_FETCHED_TESTS", "required")
    with pytest.raises(pytest.fail.Exception, match="PLAYSITE_FETCHED_TESTS=required"):
        fetched("geographiclib", "2.1", "geographiclib/geodesic.py")
