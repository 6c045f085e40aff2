"""A made-up program for tests: two age areas with seven pieces, and pads worked out from text."""

from __future__ import annotations

import tomllib

from playsite._program_settings import ProgramTable
from playsite.problems import Problems
from playsite.program.required import required_pad

SEVEN_PIECES = """
ages = ["2-5", "5-12"]
children_within_reach = 900
share = "5 %"
[[program.equipment]]
kind = "composite"
ages = "5-12"
length = "26 ft"
width = "20 ft"
height = "6 ft"
elevated_components = 5
[[program.equipment]]
kind = "belt swing"
ages = "5-12"
length = "20 ft"
pivot_height = "8 ft"
bays = 2
[[program.equipment]]
kind = "spinner"
ages = "5-12"
length = "3 ft"
height = "2 ft"
[[program.equipment]]
kind = "climber"
ages = "5-12"
length = "12 ft"
width = "6 ft"
height = "6 ft"
[[program.equipment]]
kind = "composite"
name = "small composite"
ages = "2-5"
length = "14 ft"
width = "10 ft"
height = "4 ft"
[[program.equipment]]
kind = "rocker"
name = "two rockers"
ages = "2-5"
length = "10 ft"
width = "1 ft"
height = "2 ft"
[[program.equipment]]
kind = "bucket swing"
ages = "2-5"
length = "10 ft"
pivot_height = "8 ft"
seat_height = "2 ft"
"""
ZONES_FT = {
    "composite": (38, 32),
    "belt swing": (32, 32),
    "spinner": (15, 15),
    "climber": (24, 18),
    "small composite": (26, 22),
    "two rockers": (22, 13),
    "bucket swing": (22, 24),
}
"""Use zones with square corners by hand: 6 ft all round, twice the height before a swing."""

ONE_CLIMBER = """
ages = ["5-12"]
children_at_once = 4
[[program.equipment]]
kind = "climber"
ages = "5-12"
length = "12 ft"
width = "6 ft"
height = "6 ft"
"""


def pad_of(text, *, units="feet", name=""):
    """Pad of the table [program] with this text."""
    table = ProgramTable.model_validate(tomllib.loads("[program]\n" + text)["program"])
    problems = Problems()
    pad = required_pad(table, problems, units=units, name=name)
    problems.stop_if_any()
    return pad
