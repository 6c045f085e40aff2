"""`playsite memo` as a user types it: the memo again, from what is remembered."""

import os
import subprocess
import sys

import pytest
from docx import Document
from made_up_study import box, ground, write_study

LETTERHEAD = "Parks office of a made-up town"


@pytest.fixture(scope="module")
def town(tmp_path_factory):
    """A town that was ranked, with the cache that remembers it."""
    folder = tmp_path_factory.mktemp("memo")
    lots = {f"P-{at}": box(20 + 90 * at, 100, 60, 60) for at in range(4)}
    height = ground(lambda x, y: 10 + 0.02 * y + 0 * x)
    study = write_study(folder / "town", lots, elevation=height, study='least_known = "5 %"')
    assert command(folder, "rank", study).returncode == 0
    return folder, study


def command(folder, *words):
    return subprocess.run(
        [sys.executable, "-m", "playsite", *map(str, words)],
        capture_output=True, text=True, check=False, timeout=120,
        env={**os.environ, "PLAYSITE_CACHE": str(folder / "memory")},
    )  # fmt: skip


def test_the_memo_is_written_again_and_all_else_stays(town):
    folder, study = town
    results = folder / "town" / "results"
    before = {file.name: file.read_bytes() for file in results.iterdir()}
    (results / "memo.docx").write_text("edited by hand", "utf-8")
    (results / "memo.pdf").unlink()
    done = command(folder, "memo", study)
    assert done.returncode == 0, done.stderr
    assert "Call 811" in done.stdout
    after = {file.name: file.read_bytes() for file in results.iterdir()}
    assert after.pop("memo (kept).docx") == b"edited by hand"
    assert after.keys() == before.keys()
    assert [name for name in before if after[name] != before[name]] == []


def test_a_letterhead_can_be_given_and_the_next_memo_takes_its_place(town):
    folder, study = town
    document = Document()
    document.sections[0].header.paragraphs[0].text = LETTERHEAD
    document.save(folder / "office.docx")
    out = folder / "elsewhere"
    for _ in range(2):
        done = command(folder, "memo", study, "--out", out, "--letterhead", folder / "office.docx")
        assert done.returncode == 0, done.stderr
    head = Document(str(out / "memo.docx")).sections[0].header.paragraphs[0].text
    assert head == LETTERHEAD
    names = {file.name for file in out.iterdir()}
    assert names == {"memo.docx", "memo.pdf", "memo.html", ".written.json"}


def test_a_letterhead_of_the_study_that_is_not_there_is_told(town):
    folder, study = town
    text = study.read_text("utf-8")
    study.write_text(text.replace("[study]", '[study]\nletterhead = "no.docx"', 1), "utf-8")
    try:
        done = command(folder, "memo", study)
    finally:
        study.write_text(text, "utf-8")
    assert done.returncode == 2
    assert 'There is no file "no.docx"' in done.stderr
    assert "letterhead" in done.stderr
