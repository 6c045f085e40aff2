"""Use zones of made-up programs for tests of packing and layout; whole feet, so ties are exact."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import numpy as np
from made_up_program import SEVEN_PIECES

from playsite._program_settings import ProgramTable
from playsite.problems import Problems
from playsite.program.equipment import SWINGS, Piece, pieces_of
from playsite.program.use_zones import handbook_zone

FT = 0.3048
STRIP_M = 12 * FT
_LENGTHS_FT = {
    "composite": (10, 28),
    "belt swing": (8, 24),
    "bucket swing": (8, 12),
    "multi-axis swing": (8, 10),
    "slide": (5, 12),
    "climber": (5, 14),
    "spinner": (3, 8),
    "rocker": (2, 6),
}
_WIDTHS_FT = {"composite": (8, 20), "slide": (2, 4), "climber": (4, 12), "rocker": (1, 3)}


def seven_zones():
    """Zones of the seven pieces; swings at an edge, the spinner anywhere."""
    table = ProgramTable.model_validate(tomllib.loads("[program]\n" + SEVEN_PIECES)["program"])
    problems = Problems()
    pieces = pieces_of(table, problems)
    problems.stop_if_any()
    return [handbook_zone(replace(piece, moving=piece.kind in SWINGS)) for piece in pieces]


def zone_of(kind, length_ft, width_ft=0.0, height_ft=4.0, *, ages="5-12", label="", **more):
    """Zone of one piece given in feet."""
    more = {key: value * FT if key.endswith("_m") else value for key, value in more.items()}
    height_m = height_ft * FT
    return handbook_zone(
        Piece(
            label or kind,
            kind,
            ages,
            length_ft * FT,
            width_ft * FT,
            height_m,
            height_m,
            **more,
        )
    )


def random_zone(rng, label, ages):
    """Zone of a piece of any kind, low or high, some with a slide's exit, some at an edge."""
    kind = str(rng.choice(list(_LENGTHS_FT)))
    length = int(rng.integers(*_LENGTHS_FT[kind], endpoint=True))
    width = int(rng.integers(*_WIDTHS_FT[kind], endpoint=True)) if kind in _WIDTHS_FT else 0
    height = int(rng.integers(2, 8, endpoint=True))
    more = {}
    if kind in SWINGS:
        more = {"pivot_height_m": int(rng.integers(5, 9)), "seat_height_m": 2, "moving": True}
    if kind == "spinner":
        width, height, more = length, 2, {"moving": bool(rng.integers(2))}
    if kind == "slide" or (kind == "composite" and rng.integers(2)):
        side = "right" if kind == "slide" else str(rng.choice(["left", "front"]))
        more = {"exit": side, "exit_height_m": height, "exit_width_m": 2}
    return zone_of(kind, length, width, height, ages=ages, label=label, **more)


def random_zones(rng, count, *, two_areas):
    """Zones of a random program; a third of the pieces in the second area, at least one."""
    younger = max(1, count // 3) if two_areas else 0
    ages = ["2-5" if i < younger else "5-12" for i in range(count)]
    return [random_zone(rng, f"piece {i}", age) for i, age in enumerate(ages)]


def rectangle_m(rng, zones, factors):
    """Sides of a rectangle whose area is that of all zones times a factor, from 1:1 to 2:1."""
    area_m2 = sum(zone.square.area for zone in zones) * rng.uniform(*factors)
    proportion = rng.uniform(1.0, 2.0)
    width_m = float(np.sqrt(area_m2 / proportion))
    return {"length_m": proportion * width_m, "width_m": width_m, "strip_m": STRIP_M}
