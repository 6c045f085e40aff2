"""[walks], [play] and [running_child]: what they say, and every fault with its line and remedy."""

from pathlib import Path

import pytest

from playsite._way_settings import LONGEST_WALK_M, ChildTable, PlayTable, WalksTable
from playsite.fetching.fetch import REACH_M
from playsite.layers.opening_hours import PLAY_TIMES, play_times
from playsite.problems import Problems
from playsite.proximity.dash import OPENING_M
from playsite.settings import read_settings

HEAD = """
[study]
title = "A test"
units = "feet"
[program]
pad = { length = "104 ft", width = "74.5 ft" }
[layers.parcels]
path = "parcels.gpkg"
"""
GIVEN = """
[walks]
cross_busy_streets = ["Main Street"]
crossing_penalty = "200 ft"
reach = "1 mi"
step_free = true
[play]
hours = "9:30-17:00"
season = "Oct 15-Apr"
country = "NZ"
[running_child]
speed = ["10 ft/s", "13 ft/s"]
gap = "4 in"
fence = "5 ft"
stopped_by = "banks"
"""


def read(folder, text):
    (folder / "study.toml").write_text(HEAD + text, encoding="utf-8")
    problems = Problems()
    return read_settings(folder, problems), [str(problem) for problem in problems.items]


def test_what_a_study_says_is_read_in_si_units_and_kept_in_the_record(tmp_path):
    settings, problems = read(tmp_path, GIVEN)
    assert not problems
    assert settings.walks.cross_busy_streets == ("Main Street",)
    assert settings.walks.crossing_penalty_m == pytest.approx(60.96)
    assert settings.walks.reach_m == pytest.approx(1609.344)
    assert settings.walks.step_free
    assert settings.play.hours == (9.5, 17)
    assert settings.play.season == ((10, 15), (4, 30))
    assert settings.running_child.speed_m_s == pytest.approx((3.048, 3.9624))
    assert settings.running_child.stopped_by == ("banks",)
    said = settings.as_read()
    assert {"walks", "play", "running_child"} <= said.keys()
    assert said["play"]["country"] == "NZ"


def test_without_a_word_the_usual_rules_hold_and_stand_in_one_place(tmp_path):
    settings, problems = read(tmp_path, "")
    assert not problems
    assert (settings.walks, settings.play, settings.running_child) == (
        WalksTable(),
        PlayTable(),
        ChildTable(),
    )
    assert play_times(settings.play) == PLAY_TIMES
    assert ChildTable().gap_m == OPENING_M
    assert REACH_M == LONGEST_WALK_M  # open data reach as far as walks are looked for


@pytest.mark.parametrize(
    ("right", "wrong", "words", "line"),
    [
        ('["Main Street"]', "3", "yes, no, or the names", 11),
        ('["Main Street"]', "[]", "yes, no, or the names", 11),
        ("cross_busy_streets", "cross_busy_street", 'Did you mean "cross_busy_streets"?', 11),
        ('"200 ft"', "200", "a bare number", 12),
        ('"1 mi"', '"3 km"', "a walk of 3,000 m can't be looked for", 13),
        ('"1 mi"', '"0 m"', "a walk of 0 m", 13),
        ("true", '"perhaps"', "valid boolean", 14),
        ('"9:30-17:00"', '"17:00-9:30"', "does not go forward", 16),
        ('"9:30-17:00"', '"all day"', 'write it as "10:00-18:00"', 16),
        ('"Oct 15-Apr"', '"summer"', 'write it as "Apr-Oct"', 17),
        ('"Oct 15-Apr"', '"Feb 30-Apr"', "no day of each year", 17),
        ('"NZ"', '"New Zealand"', "two letters", 18),
        ('["10 ft/s", "13 ft/s"]', '"10 ft"', "not a unit of speed", 20),
        ('["10 ft/s", "13 ft/s"]', '["13 ft/s", "10 ft/s"]', "the slow one and the fast one", 20),
        ('"4 in"', '"-4 in"', "greater than or equal to 0", 21),
        ('"banks"', '["hedges"]', 'expected "retaining walls" or "banks"', 23),
    ],
)
def test_a_fault_is_told_with_its_line(tmp_path, right, wrong, words, line):
    assert right in GIVEN
    _, problems = read(tmp_path, GIVEN.replace(right, wrong, 1))
    assert len(problems) == 1
    assert words in problems[0]
    assert f"line {line}," in problems[0]


def test_the_handbook_shows_the_usual_values(tmp_path):
    handbook = Path(__file__).parents[2] / "docs" / "formats.md"
    shown = handbook.read_text(encoding="utf-8").split("```toml")[1].split("```")[0]
    settings, problems = read(tmp_path, shown)
    assert not problems
    assert settings.walks == WalksTable()
    assert settings.play.model_copy(update={"country": None}) == PlayTable()
    child = settings.running_child
    assert (child.speed_m_s, child.stopped_by) == (ChildTable().speed_m_s, ())
    assert child.gap_m == pytest.approx(ChildTable().gap_m, abs=1e-3)
    assert child.fence_m == pytest.approx(ChildTable().fence_m, abs=0.02)


def test_yes_and_no_are_words_too(tmp_path):
    settings, _ = read(tmp_path, '[walks]\ncross_busy_streets = "no"\n')
    assert settings.walks.cross_busy_streets is False
