"""Pieces of equipment as someone writes them down, right and wrong."""

import pytest

from playsite._program_settings import ProgramTable
from playsite.problems import Problems
from playsite.program.accessible import access
from playsite.program.equipment import ages_of, pieces_of

COMPOSITE = {
    "kind": "composite",
    "ages": "5-12",
    "length": "26 ft",
    "width": "20 ft",
    "height": "6 ft",
}
SLIDE = {"kind": "slide", "ages": "5-12", "length": "12 ft", "width": "3 ft", "height": "6 ft"}
SWING = {"kind": "belt swing", "ages": "5-12", "length": "20 ft", "pivot_height": "8 ft"}
BUCKET = {
    "kind": "bucket swing",
    "ages": "2-5",
    "length": "10 ft",
    "pivot_height": "8 ft",
    "seat_height": "2 ft",
}
TIRE = {**BUCKET, "kind": "multi-axis swing"}
ROCKER = {"kind": "rocker", "ages": "2-5", "length": "3 ft", "width": "1 ft"}
TURNING = {"kind": "merry-go-round", "ages": "5-12", "length": "8 ft"}


def read(*equipment, place=None, **program):
    problems = Problems()
    table = ProgramTable.model_validate({**program, "equipment": list(equipment)})
    return pieces_of(table, problems, place), [str(problem) for problem in problems.items]


def without(piece, key):
    return {name: value for name, value in piece.items() if name != key}


def test_several_alike_are_told_apart_and_one_is_not_numbered():
    pieces, told = read({**ROCKER, "count": 2}, {**ROCKER, "name": "frog"}, SLIDE)
    assert not told
    assert [piece.label for piece in pieces] == ["rocker 1", "rocker 2", "frog", "slide"]


def test_what_is_not_said_follows_from_the_kind():
    (slide, swing, turning, rocker), told = read(SLIDE, {**SWING, "bays": 2}, TURNING, ROCKER)
    assert not told
    assert (slide.exit, slide.exit_height_m, slide.moving) == ("right", slide.height_m, False)
    assert (swing.moving, swing.ground_components, swing.width_m) == (True, 2, 0)
    assert (turning.moving, turning.width_m) == (True, turning.length_m)
    assert (rocker.height_m, rocker.surface_height_m) == (None, None)  # not known, never 0


def test_a_slides_exit_goes_by_its_own_height_where_that_is_given():
    low = {"exit": "front", "exit_height": "4 ft", "exit_width": "2 ft"}
    (both,), told = read({**COMPOSITE, **low})
    assert not told
    assert both.exit_height_m == pytest.approx(4 * 0.3048)
    assert both.exit_width_m == pytest.approx(2 * 0.3048)


def test_a_composite_that_does_not_say_its_components_is_not_called_complete():
    (unsaid,), _ = read(COMPOSITE)
    assert unsaid.elevated_components is None
    assert access([unsaid]).short == (
        "elevated components of composite are not given (elevated_components), so more may be due",
    )
    (said,), _ = read({**COMPOSITE, "elevated_components": 0})
    assert access([said]).short == ()


def test_ages_are_those_given_else_the_equipments_youngest_first():
    table = {"equipment": [SLIDE, BUCKET, SLIDE]}
    assert ages_of(ProgramTable.model_validate(table)) == ("2-5", "5-12")
    table["ages"] = ["5-12", "2-5", "6-23 months"]
    assert ages_of(ProgramTable.model_validate(table)) == ("6-23 months", "2-5", "5-12")


@pytest.mark.parametrize(
    ("piece", "key"),
    [
        (COMPOSITE, "width"),
        (COMPOSITE, "height"),
        (SLIDE, "length"),
        (SWING, "length"),
        (SWING, "pivot_height"),
        (BUCKET, "seat_height"),
        (TIRE, "seat_height"),
        (ROCKER, "width"),
        (TURNING, "length"),
    ],
)
def test_what_a_kind_needs_is_asked_for_with_an_example(piece, key):
    pieces, told = read(without(piece, key))
    assert not pieces
    kind = piece["kind"]
    start = f'[program.equipment]: piece 1 ({kind}): a {kind} needs the key "{key}". Expected {key}'
    assert len(told) == 1
    assert told[0].startswith(start)


@pytest.mark.parametrize(
    ("piece", "what", "remedy"),
    [
        ({**SLIDE, "pivot_height": "8 ft"}, 'a slide has no "pivot_height".', "belt swing or"),
        ({**SWING, "exit": "left"}, 'a belt swing has no "exit".', "slide or composite or other."),
        ({**SLIDE, "deck_height": "3 ft"}, 'a slide has no "deck_height".', "Leave it out"),
        ({**ROCKER, "bays": 2}, 'a rocker has no "bays".', "Leave it out"),
        ({**COMPOSITE, "exit_height": "5 ft"}, '"exit_height" needs the key "exit".', "exit ="),
        (
            {**COMPOSITE, "kind": "other", "exit_width": "3 ft"},
            '"exit_width" needs the key "exit".',
            "exit =",
        ),
        ({**COMPOSITE, "surface_height": "7 ft"}, '"surface_height" is more than', "height ="),
        ({**COMPOSITE, "deck_height": "7 ft"}, '"deck_height" is more than', "height ="),
        ({**SLIDE, "exit_height": "7 ft"}, '"exit_height" is more than', "height ="),
        ({**BUCKET, "seat_height": "8 ft"}, "the seat is not below the pivot.", "seat_height"),
        ({**TIRE, "bays": 2}, "each multi-axis swing has its own zone", "count = 2"),
        ({**COMPOSITE, "ramped_components": 3}, "elevated_components", "elevated_components = 8"),
        (
            {**COMPOSITE, "ramped_components": 3, "elevated_components": 2},
            "more components are reached by ramp than are elevated.",
            "Check ramped_components",
        ),
        ({**BUCKET, "pivot_height": "9 ft"}, "pivot stands 108 in", "at most 96 in (5.3.8.3.2)"),
        ({**BUCKET, "pivot_height": "2.44 m"}, "pivot stands 96.1 in", "at most 96 in"),
        ({**TURNING, "height": "20 in"}, "platform stands 20 in", "18 in for ages 5-12 (5.3.4)"),
        ({**TURNING, "ages": "6-23 months"}, "is not for toddlers.", "5.3.4"),
    ],
)
def test_what_can_not_be_is_told_in_one_sentence_with_a_remedy(piece, what, remedy):
    pieces, told = read(piece)
    assert not pieces
    assert len(told) == 1
    assert what in told[0]
    assert remedy in told[0]


def test_ages_that_the_program_is_not_for_are_told():
    _, told = read(BUCKET, ages=["5-12"])
    (only,) = told
    assert only == (
        "[program.equipment]: piece 1 (bucket swing): is for ages 2-5, and the program is for "
        "5-12. Add the age group to ages, or change the piece's."
    )


def test_european_rules_ask_for_the_seat_of_a_swing_and_not_for_the_handbooks_limits():
    _, told = read(SWING, rules="europe")
    assert len(told) == 1
    assert 'needs the key "seat_height" under rules = "europe".' in told[0]
    pieces, told = read({**BUCKET, "pivot_height": "9 ft"}, rules="europe")
    assert len(pieces) == 1
    assert not told


def test_every_fault_of_every_piece_is_told_at_once_with_its_place():
    def place(*keys):
        return {"file": "study.toml", "line": 10 + int(keys[-1]), "key": ".".join(keys[:-1])}

    bare = {"kind": "climber", "ages": "5-12"}
    pieces, told = read(bare, SLIDE, without(SWING, "length"), place=place)
    assert [piece.label for piece in pieces] == ["slide"]
    heads = [sentence.partition(": ")[0] for sentence in told]
    assert heads == ["study.toml, line 10, [program.equipment]"] * 3 + [
        "study.toml, line 12, [program.equipment]"
    ]
