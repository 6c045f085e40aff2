"""The command as a user types it: outputs, exit codes, and nothing half-written."""

import csv
import subprocess
import sys

import pytest
from made_up_study import box, ground, line, write_study


@pytest.fixture(scope="module")
def town(tmp_path_factory):
    folder = tmp_path_factory.mktemp("town")
    parcels = {f"P-{i}": box(20 + 70 * i, 100, 45 + 3 * i, 60) for i in range(5)}
    parcels["thin"] = box(20, 20, 12, 70)
    layers = {
        "streets": ([line((0, 90), (400, 90))], {"class": ["local"], "name": ["Weir Street"]}),
        "buildings": ([box(380, 300, 10, 10)], {"kind": ["dwelling"]}),
    }
    height = ground(lambda x, y: 10 + 0.0001 * x * y)
    return write_study(
        folder, parcels, elevation=height, layers=layers, study='least_known = "10 %"'
    )


@pytest.fixture(scope="module")
def memory(tmp_path_factory):
    return tmp_path_factory.mktemp("memory")


@pytest.fixture
def playsite(memory, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(memory))

    def call(*arguments):
        command = [sys.executable, "-m", "playsite", *map(str, arguments)]
        return subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)

    return call


def test_rank_writes_all_outputs_and_says_where(playsite, town, tmp_path):
    out = tmp_path / "out"
    done = playsite("rank", town, "--out", out)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert str(out / "map.html") in done.stdout
    assert "Screening only" in done.stdout
    wanted = {"map.html", "memo.docx", "sites.csv", "measurements.csv", "ledger.csv"}
    assert wanted | {"sites.gpkg", "run.json"} <= {file.name for file in out.iterdir()}
    with (out / "sites.csv").open(newline="", encoding="utf-8") as file:
        rows = {row["parcel_id"]: row for row in csv.DictReader(file)}
    assert rows["thin"]["status"] == "does not fit"
    assert rows["thin"]["rank"] == ""
    ranks = [int(row["rank"]) for row in rows.values() if row["rank"]]
    assert min(ranks) == 1
    assert len(ranks) == 5


def test_the_same_inputs_give_the_same_tables_beside_the_study_unless_said(
    playsite, town, tmp_path
):
    assert playsite("rank", town.parent, "--fresh").returncode == 0
    assert playsite("rank", town, "--out", tmp_path, "--fresh").returncode == 0
    for table in ("sites.csv", "measurements.csv", "ledger.csv", "run.json"):
        first, second = (folder / table for folder in (town.parent / "results", tmp_path))
        assert first.read_bytes() == second.read_bytes()


def test_moved_weights_measure_nothing_again(playsite, tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))
    folder = tmp_path / "copy"
    parcels = {f"P-{i}": box(20 + 70 * i, 100, 45 + 3 * i, 60) for i in range(2)}
    study = write_study(folder, parcels, study='criteria = ["fit"]')
    assert playsite("rank", study).returncode == 0
    kept = sorted((tmp_path / "cache").iterdir())
    study.write_text(study.read_text() + "[criteria.fit]\nweight = 9\n")
    assert playsite("rank", study).returncode == 0
    assert sorted((tmp_path / "cache").iterdir()) == kept
    study.write_text(study.read_text() + "knots = { ideal = 1.5 }\n")
    assert playsite("rank", study).returncode == 0
    assert len(sorted((tmp_path / "cache").iterdir())) == len(kept) + 1


def test_check_reports_the_layers_and_what_was_noticed(playsite, town):
    done = playsite("check", town)
    assert done.returncode == 0
    assert "elevation.tif" in done.stdout
    assert "Nothing stops this study." in done.stdout


def test_explain_says_the_rule_the_value_the_margin_and_the_scale(playsite, town):
    done = playsite("explain", town, "thin")
    assert done.returncode == 0
    assert "Too tight for the play area" in done.stdout
    assert "Largest scale of the pad that would fit: 0.52" in done.stdout
    assert "Screening only" in done.stdout


def test_explain_of_a_ranked_parcel_gives_every_measurement(playsite, town):
    done = playsite("explain", town, "P-3")
    assert "of 5" in done.stdout
    assert "Weir Street" in done.stdout
    assert "slope of the ground" in done.stdout


def test_a_parcel_that_is_not_there_exits_2_with_the_nearest_ids(playsite, town):
    done = playsite("explain", town, "P-33")
    assert done.returncode == 2
    assert "P-3" in done.stderr
    assert done.stdout == ""


def test_faults_are_told_all_at_once_and_nothing_is_written(playsite, town, tmp_path):
    broken = tmp_path / "broken"
    broken.mkdir()
    text = town.read_text().replace('"31.7 m"', "31.7").replace("parcels.gpkg", "parcel.gpkg")
    (broken / "study.toml").write_text(text + "[criteria.shde]\nweight = 1\n")
    done = playsite("rank", broken, "--out", tmp_path / "nothing")
    assert done.returncode == 2
    assert "a bare number, 31.7" in done.stderr
    assert "parcel.gpkg" in done.stderr
    assert 'Did you mean "shade"?' in done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "nothing").exists()


def test_no_such_study_exits_2(playsite, tmp_path):
    done = playsite("check", tmp_path / "none.toml")
    assert done.returncode == 2
    assert "no such study file" in done.stderr


def test_criteria_are_listed_with_their_package(playsite):
    done = playsite("criteria")
    assert done.returncode == 0
    for said in ("open_water:", "knots", "source", "package", "out when"):
        assert said in done.stdout


def test_our_own_fault_exits_1_and_says_so(monkeypatch, capsys):
    from playsite import cli

    monkeypatch.setattr(cli.commands, "main", lambda **_: 1 / 0)
    with pytest.raises(SystemExit) as stop:
        cli.main()
    assert stop.value.code == 1
    assert "own fault" in capsys.readouterr().err


def test_the_api_gives_a_result_that_shows_its_map(town, memory, tmp_path, monkeypatch):
    import playsite as package

    monkeypatch.setenv("PLAYSITE_CACHE", str(memory))
    result = package.rank(town)
    assert "<iframe" in result._repr_html_()
    package.write_results(result, tmp_path / "out")
    assert (tmp_path / "out" / "map.html").exists()
    assert package.check(town)
