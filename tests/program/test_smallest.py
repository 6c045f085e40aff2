"""The smallest rectangle that holds a program, and what is too much for a given one.

The worked program's figures were found by a constraint solver (OR-tools CP-SAT) with the same
rules, sides in half feet; where ours is smaller, the exact check proves it, and the test says so.
"""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from made_up_zones import FT, STRIP_M, random_zones, rectangle_m, seven_zones, zone_of

from playsite.program.layout import blocks_of, layout_of, overlaps_of
from playsite.program.layout_check import faults_of
from playsite.program.packing import Block, pack
from playsite.program.smallest import least_rectangle, smallest_by_proportion, too_much

STEP_M = FT / 2


def sides_ft(held):
    return round(held.length_m / FT, 6), round(held.width_m / FT, 6)


def keeps_every_rule(zones, held, strip_m):
    layout = layout_of(
        zones, held.packing, length_m=held.length_m, width_m=held.width_m, ring_m=8 * FT
    )
    return faults_of(layout, strip_m=strip_m) == []


def worked(*, ages=None, strip_m=STRIP_M):
    """The worked program, or one age area of it: zones and what the search takes."""
    zones = [zone for zone in seven_zones() if ages in {None, zone.piece.ages}]
    return zones, {"strip_m": strip_m, "step_m": STEP_M}


def test_the_worked_program_at_one_and_a_half_to_one():
    zones, sizes = worked()
    held = smallest_by_proportion(blocks_of(zones), overlaps_of(zones), 1.5, **sizes)
    assert sides_ft(held) == (96, 64)
    assert held.proven_least
    assert keeps_every_rule(zones, held, STRIP_M)


def test_the_worked_program_in_any_proportion():
    zones, sizes = worked()
    held = least_rectangle(blocks_of(zones), overlaps_of(zones), **sizes)
    assert sides_ft(held) == (102, 54)
    assert held.area_m2 / FT**2 == pytest.approx(5508)  # "about 5,510"
    assert held.proven_least
    assert keeps_every_rule(zones, held, STRIP_M)


def test_the_worked_program_with_a_strip_of_no_width():
    zones, sizes = worked(strip_m=0.0)
    held = least_rectangle(blocks_of(zones), overlaps_of(zones), **sizes)
    assert sides_ft(held) == (75, 64)  # 4,800 sq ft: a straight cut between the ages is left
    assert held.proven_least
    assert keeps_every_rule(zones, held, 0.0)


def test_the_worked_program_with_ages_mixed_is_smaller_than_the_figure_for_no_strip():
    # 4,800 sq ft still has a straight cut between the ages. Without it ours is 4,128 (86 x 48),
    # and the exact check passes it.
    zones, sizes = worked(strip_m=0.0)
    mixed = [replace(block, area=0) for block in blocks_of(zones)]
    held = least_rectangle(mixed, overlaps_of(zones), **sizes)
    assert held.area_m2 / FT**2 <= 4128 + 1e-6
    assert keeps_every_rule(zones, held, 0.0)


@pytest.mark.parametrize(
    ("ages", "quoted", "smaller"), [("5-12", (70.5, 47), (79, 39.5)), ("2-5", (48, 32), (54, 27))]
)
def test_each_age_area_of_the_worked_program_on_its_own(ages, quoted, smaller):
    zones, sizes = worked(ages=ages)
    blocks, overlaps = blocks_of(zones), overlaps_of(zones)
    held = smallest_by_proportion(blocks, overlaps, 1.5, **sizes)
    assert sides_ft(held) == quoted
    assert held.proven_least
    # The quoted ones are 1.5 : 1; of any proportion ours are smaller, and pass the exact check.
    least = least_rectangle(blocks, overlaps, **sizes)
    assert sides_ft(least) == smaller
    assert least.proven_least
    assert keeps_every_rule(zones, least, 0.0)


def test_two_high_climbers_side_by_side():
    # Zones of 22 x 24 ft that overlap by 3: 41 x 24, by hand; stacked 45 x 22 is larger.
    zones = [zone_of("climber", 12, 10, 6, label=name) for name in "ab"]
    held = least_rectangle(blocks_of(zones), overlaps_of(zones), strip_m=0.0, step_m=STEP_M)
    assert sides_ft(held) == (41, 24)
    assert held.proven_least
    assert keeps_every_rule(zones, held, 0.0)


def test_the_least_rectangle_is_the_least_of_all_that_are_tried_one_by_one():
    rng, foot = np.random.default_rng(21), 3 * FT
    for number in range(12):
        zones = random_zones(rng, 2 + number % 3, two_areas=bool(number % 2))
        blocks, overlaps = blocks_of(zones), overlaps_of(zones)
        held = least_rectangle(blocks, overlaps, strip_m=STRIP_M, step_m=foot)
        assert held.proven_least
        assert held.width_m <= held.length_m + 1e-9 <= 2 * held.width_m + 1e-6
        cells = round(held.area_m2 / foot**2)
        smaller = [
            (long, wide)
            for wide in range(1, cells)
            for long in range(wide, 2 * wide + 1)
            if long * wide < cells
        ]
        for long, wide in smaller:
            sides = {"length_m": long * foot, "width_m": wide * foot, "strip_m": STRIP_M}
            assert pack(blocks, overlaps, **sides).outcome == "impossible"


def test_the_smallest_of_a_proportion_holds_and_one_step_less_does_not():
    rng = np.random.default_rng(22)
    for number in range(12):
        zones = random_zones(rng, 3 + number % 4, two_areas=bool(number % 2))
        blocks, overlaps = blocks_of(zones), overlaps_of(zones)
        held = smallest_by_proportion(blocks, overlaps, 1.5, strip_m=STRIP_M, step_m=0.1)
        assert keeps_every_rule(zones, held, STRIP_M)
        assert held.length_m == pytest.approx(1.5 * held.width_m, abs=0.1)
        width_m = held.width_m - 0.1
        less = {"length_m": 1.5 * width_m, "width_m": width_m, "strip_m": STRIP_M}
        assert pack(blocks, overlaps, **less).outcome == "impossible"


def test_a_search_that_was_cut_short_is_not_called_proven(monkeypatch):
    monkeypatch.setattr("playsite.program.smallest._BRANCHES", 100)
    zones, sizes = worked(strip_m=0.0)
    mixed = [replace(block, area=0) for block in blocks_of(zones)]
    held = least_rectangle(mixed, overlaps_of(zones), **sizes)
    assert not held.proven_least
    assert keeps_every_rule(zones, held, 0.0)


def test_far_more_pieces_than_a_playground_has_are_held_all_the_same():
    zones = random_zones(np.random.default_rng(24), 40, two_areas=True)
    blocks, overlaps = blocks_of(zones), overlaps_of(zones)
    held = smallest_by_proportion(blocks, overlaps, 1.5, strip_m=STRIP_M, step_m=FT)
    assert keeps_every_rule(zones, held, STRIP_M)
    sides = {"length_m": held.length_m / 2, "width_m": held.width_m / 2, "strip_m": STRIP_M}
    assert too_much(blocks, overlaps, **sides) is None  # too many choices to look through


def test_too_much_names_the_fewest_that_must_go_and_of_those_the_smallest():
    rng, counts = np.random.default_rng(23), set()
    for number in range(24):
        zones = random_zones(rng, 3 + number % 4, two_areas=bool(number % 2))
        blocks, overlaps = blocks_of(zones), overlaps_of(zones)
        sides = rectangle_m(rng, zones, (0.5, 1.4))
        dropped = too_much(blocks, overlaps, **sides)
        assert dropped is not None
        counts.add(len(dropped))
        size = [block.length_m * block.width_m for block in blocks]

        def fits(gone, blocks=blocks, overlaps=overlaps, sides=sides):
            kept = [i for i in range(len(blocks)) if i not in gone]
            part = [blocks[i] for i in kept]
            return pack(part, overlaps[np.ix_(kept, kept)], **sides).outcome == "packed"

        assert fits(dropped)
        for count in range(len(dropped) + 1):
            for other in itertools.combinations(range(len(blocks)), count):
                lighter = sum(size[i] for i in other) < sum(size[i] for i in dropped) - 1e-9
                if count < len(dropped) or lighter:
                    assert not fits(other)
    assert {0, 1, 2} <= counts


def test_nothing_is_too_much_for_a_large_pad_and_everything_for_a_small_one():
    blocks, none = [Block(3, 2), Block(2, 2)], np.zeros((2, 2))
    assert too_much(blocks, none, length_m=5, width_m=3, strip_m=0) == ()
    assert too_much(blocks, none, length_m=3, width_m=2, strip_m=0) == (1,)
    assert too_much(blocks, none, length_m=1, width_m=1, strip_m=0) == (0, 1)


def test_what_is_too_much_is_not_guessed(monkeypatch):
    monkeypatch.setattr("playsite.program.smallest._BRANCHES_TOO_MUCH", 3)
    zones, _ = worked()
    sides = {"length_m": 96 * FT, "width_m": 64 * FT, "strip_m": STRIP_M}
    assert too_much(blocks_of(zones), overlaps_of(zones), **sides) is None
