"""`playsite program`: words, JSON and a drawing of a made-up study, and its exit codes."""

import json
import subprocess
import sys
import xml.etree.ElementTree as ET

import pytest
from made_up_program import ONE_CLIMBER, SEVEN_PIECES

HEAD = """
[study]
title = "A made-up town"
units = "feet"
[layers.parcels]
path = "parcels.gpkg"
[program]
"""
BESIDE = ONE_CLIMBER.replace("[[program.", "[[programs.small.")


def playsite(*arguments):
    command = [sys.executable, "-m", "playsite", *map(str, arguments)]
    return subprocess.run(
        command, capture_output=True, text=True, encoding="utf-8", check=False, timeout=300
    )


def study_in(folder, program, more=""):
    """A study whose map files are not there: the program asks for none."""
    (folder / "study.toml").write_text(HEAD + program + more, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return study_in(tmp_path_factory.mktemp("town"), SEVEN_PIECES, f"[programs.small]\n{BESIDE}")


@pytest.fixture(scope="module")
def said(folder):
    done = playsite("program", folder, "--json", "--drawing", folder / "plan.svg")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_json_has_the_figures_of_the_worked_program(said):
    # By hand: 4,283 sq ft of zones, times 1.20; 45 children with 75 sq ft each.
    assert said["use_zones_m2"] == pytest.approx(397.9, rel=0.01)
    assert said["surfacing_m2"] == pytest.approx(477.5, rel=0.01)
    assert said["by_heads_m2"] == pytest.approx(313.5, rel=0.01)
    assert said["ring_m"] == pytest.approx(8 * 0.3048)


def test_json_has_every_key(said):
    due = {
        "name", "ages", "children_at_once", "inclusive", "rules", "edition", "use_zones_m2",
        "use_zones_union_m2", "surfacing_m2", "by_heads_m2", "ring_m", "shapes", "figures",
        "pieces", "access", "surfacing", "layout", "too_much", "cautions", "programs",
    }  # fmt: skip
    assert due <= set(said)
    assert "Check the edition in force" in said["edition"]
    shape = {"name", "length_m", "width_m", "area_m2", "parts", "is_proven_least", "has_layout"}
    assert all(shape <= set(each) for each in said["shapes"])
    assert all(
        {"name", "plain", "value", "unit", "rule", "source"} <= set(f) for f in said["figures"]
    )
    assert {"elevated", "elevated_due", "ground_due", "short", "rules"} <= set(said["access"])
    assert said["ages"] == ["2-5", "5-12"]


def test_programs_beside_it_say_the_same_of_themselves(said):
    small = said["programs"]["small"]
    assert set(small) == set(said) - {"programs"}
    assert small["name"] == "small"
    assert small["children_at_once"] == 4
    # 24 by 18 ft, one climber.
    assert small["use_zones_m2"] == pytest.approx(432 * 0.3048**2)


def test_the_drawing_is_written_beside_the_json(folder, said):
    drawn = (folder / "plan.svg").read_text(encoding="utf-8")
    root = ET.fromstring(drawn)  # noqa: S314 -- our own drawing
    assert root.tag.endswith("svg")
    assert {path.name for path in folder.iterdir()} == {"study.toml", "plan.svg"}


def test_words_name_pieces_and_set_programs_side_by_side(folder):
    done = playsite("program", folder)
    assert done.returncode == 0, done.stderr
    for words in ("zone 38 by 32 ft", "Side by side", "small", "certified playground safety"):
        assert words in done.stdout
    assert not done.stderr


def test_a_wrong_piece_is_told_with_its_line_and_exit_2(tmp_path):
    wrong = ONE_CLIMBER.replace('height = "6 ft"\n', "")
    done = playsite("program", study_in(tmp_path, wrong), "--drawing", tmp_path / "plan.svg")
    assert done.returncode == 2
    assert 'a climber needs the key "height"' in done.stderr
    assert "study.toml, line" in done.stderr
    assert "Traceback" not in done.stderr
    assert not done.stdout
    assert not (tmp_path / "plan.svg").exists()


def test_a_wrong_program_beside_the_studys_own_stops_too(tmp_path):
    wrong = BESIDE.replace('height = "6 ft"\n', "")
    done = playsite("program", study_in(tmp_path, ONE_CLIMBER, f"[programs.small]\n{wrong}"))
    assert done.returncode == 2
    assert "programs.small" in done.stderr
    assert not done.stdout


def test_a_word_that_is_no_kind_is_told_with_the_nearest(tmp_path):
    done = playsite("program", study_in(tmp_path, ONE_CLIMBER.replace('"climber"', '"climbr"')))
    assert done.returncode == 2
    assert '"climbr"' in done.stderr
    assert '"climber"' in done.stderr


def test_no_study_there_is_exit_2(tmp_path):
    done = playsite("program", tmp_path / "nowhere")
    assert done.returncode == 2
    assert "Traceback" not in done.stderr


def test_a_drawing_is_never_written_over_the_study(tmp_path):
    study = study_in(tmp_path, ONE_CLIMBER)
    before = (study / "study.toml").read_text(encoding="utf-8")
    done = playsite("program", study, "--drawing", study / "study.toml")
    assert done.returncode == 2
    assert ".svg" in done.stderr
    assert (study / "study.toml").read_text(encoding="utf-8") == before


def test_a_drawing_that_cannot_be_written_ends_in_a_sentence(tmp_path):
    study = study_in(tmp_path, ONE_CLIMBER)
    done = playsite("program", study, "--drawing", tmp_path / "no such folder" / "plan.svg")
    assert done.returncode == 2
    assert "the drawing can't be written" in done.stderr
    assert "Traceback" not in done.stderr
    assert {path.name for path in tmp_path.iterdir()} == {"study.toml"}
