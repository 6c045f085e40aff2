"""The sound town, written once, and what is noticed of it."""

import shutil

import pytest
from campaign.town import write_town

from playsite.study import run


@pytest.fixture(scope="session")
def sound(tmp_path_factory):
    """Folder of the sound town: to be copied, never changed."""
    folder = tmp_path_factory.mktemp("sound")
    write_town(folder)
    return folder


@pytest.fixture
def town(sound, tmp_path, monkeypatch):
    """Give a copy of the sound town, with a memory of its own."""
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "memory"))
    return shutil.copytree(sound, tmp_path / "town")


@pytest.fixture(scope="session")
def usual(sound, tmp_path_factory):
    """What is noticed of the sound town."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PLAYSITE_CACHE", str(tmp_path_factory.mktemp("memory")))
        return {str(finding) for finding in run(sound).findings}


@pytest.fixture(autouse=True)
def untraced(no_cover):
    """Don't count lines here: it costs a quarter of the time and shows none that is new."""
