"""On a real terminal progress is shown, nested steps and all; nothing of it stays behind."""

import os
import subprocess
import sys

import pytest
from made_up_study import box, ground, write_study


@pytest.mark.skipif(os.name == "nt", reason="no pseudo-terminal there")
def test_progress_on_a_terminal_is_shown_and_cleared(tmp_path):
    import pty

    parcels = {f"P-{i}": box(20 + 70 * i, 100, 50, 60) for i in range(5)}
    study = write_study(
        tmp_path,
        parcels,
        elevation=ground(lambda x, y: 10 + 0.01 * x),
        study='criteria = ["fit", "grade"]',
    )
    ours, theirs = pty.openpty()
    environment = {**os.environ, "PLAYSITE_CACHE": str(tmp_path / "cache"), "TERM": "xterm"}
    command = [sys.executable, "-m", "playsite", "rank", str(study)]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=theirs, env=environment, text=True
    ) as process:
        os.close(theirs)
        shown = b""
        while True:
            try:
                part = os.read(ours, 4096)
            except OSError:
                break
            if not part:
                break
            shown += part
        said = process.stdout.read()
    os.close(ours)
    assert process.returncode == 0, shown.decode()
    assert "Map:" in said
    assert b"Parts of the town" in shown
    assert b"Traceback" not in shown
