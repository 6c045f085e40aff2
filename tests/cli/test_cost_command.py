"""`playsite cost` as a user types it."""

import subprocess
import sys

from made_up_study import box, ground, write_study

COST = """
[cost]
equipment = "neighborhood"
built = "2027-06"
"""


def test_it_tells_sites_lines_programs_and_what_is_not_known(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "memory"))
    lots = {f"P-{at}": box(20 + 90 * at, 100, 60, 60) for at in range(4)}
    height = ground(lambda x, y: 10 + 0.02 * y + 0 * x)
    study = write_study(
        tmp_path / "town", lots, elevation=height, study='least_known = "5 %"', more=COST
    )

    def cost(*arguments):
        command = [sys.executable, "-m", "playsite", "cost", str(study), *arguments]
        return subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)

    done = cost("--parcel", "P-2")
    assert done.returncode == 0, done.stderr
    for text in (
        "Even odds that it costs less than $",
        "is the same wherever it is built",
        "of June 2027, the middle of construction",
        "\nSite 3\n",
        "equipment, neighborhood",
        "Not known, and in no figure: bench",
        "class 5, screening",
        "Cost is in no score",
        "Call 811",
    ):
        assert text in done.stdout, text
    wrong = cost("--parcel", "P-22")
    assert wrong.returncode == 2
    assert 'Did you mean "P-2"' in wrong.stderr
