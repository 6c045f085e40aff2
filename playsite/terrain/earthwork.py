"""All the earth that one pad asks for: levelling, banks, topsoil, box-out, bad soil and haul."""

import math
from dataclasses import dataclass

import shapely
from affine import Affine
from numpy.typing import ArrayLike
from shapely.geometry.base import BaseGeometry

from playsite.terrain.earth_volumes import (
    LOOSE_TO_BANK,
    Volume,
    average_end_area_volume,
    grid_volume,
    haul_m3,
    loose_m3,
    noise_volume_m3,
    prismoidal_volume,
)
from playsite.terrain.grid import cell_size_m
from playsite.terrain.levelling import (
    COMPACTED_TO_BANK,
    GRADES_PCT,
    Finish,
    Levelled,
    level_pad,
)
from playsite.terrain.pad_pieces import Rectangle
from playsite.terrain.pad_section import Section, section
from playsite.terrain.tie_in import TieIn, Wall, tie_in
from playsite.terrain.two_levels import TwoLevels, ramp_length_m, two_levels

__all__ = [
    "Allowances",
    "Earthwork",
    "Finish",
    "Levelled",
    "Section",
    "TieIn",
    "TwoLevels",
    "Volume",
    "Wall",
    "average_end_area_volume",
    "earthwork",
    "grid_volume",
    "haul_m3",
    "level_pad",
    "loose_m3",
    "noise_volume_m3",
    "prismoidal_volume",
    "ramp_length_m",
    "section",
    "tie_in",
    "two_levels",
]


@dataclass(frozen=True)
class Allowances:
    """What is added to the levelling, or the number is fiction.

    Attributes
    ----------
    topsoil_m, topsoil_off_m
        Topsoil stripped over all disturbed ground and put back later, and how far off that may
        be, m (common practice, no source).
    surfacing_m2
        Area of the safety surfacing, m2.
    box_out_m, box_out_off_m
        Depth dug below the finish for surfacing and stone, and how far off that may be, m
        (common practice, no source).
    unsuitable_share
        Share of the dug earth that can't be used again: a guess until the ground is tested.
    compacted_to_bank
        Compacted fill from a volume of earth in its bed: common earth 0.9, FM 5-434 (from
        memory); sand 0.95.
    loose_to_bank
        Loose earth from a volume in its bed: common earth 1.25, FM 5-434 (from memory); sand 1.11.
    """

    topsoil_m: float = 0.15
    topsoil_off_m: float = 0.05
    surfacing_m2: float = 0.0
    box_out_m: float = 0.40
    box_out_off_m: float = 0.02
    unsuitable_share: float = 0.0
    compacted_to_bank: float = COMPACTED_TO_BANK
    loose_to_bank: float = LOOSE_TO_BANK


@dataclass(frozen=True)
class Earthwork:
    """Earthwork of one pad; volumes in their bed, fill and what is brought in compacted.

    Attributes
    ----------
    levelled, banks
        The pad alone, and the ground around it.
    cut, fill
        Levelling of the pad.
    bank_cut, bank_fill
        Banks around it.
    topsoil
        Topsoil stripped over pad and banks; it stays on the site.
    box_out
        Dug below the finish for surfacing and stone.
    unsuitable
        Dug earth that can't be used again; part of what is taken away.
    brought_in, taken_away
        Earth over the site's edge, once all cut that can be used has become fill.
    taken_away_loose_m3
        The same as trucks carry it, m3.
    disturbed_m2
        Area of pad and banks, m2.
    """

    levelled: Levelled
    banks: TieIn
    cut: Volume
    fill: Volume
    bank_cut: Volume
    bank_fill: Volume
    topsoil: Volume
    box_out: Volume
    unsuitable: Volume
    brought_in: Volume
    taken_away: Volume
    taken_away_loose_m3: float
    disturbed_m2: float


def earthwork(  # noqa: PLR0913 - options by name
    elevation: ArrayLike,
    transform: Affine,
    pad: shapely.Polygon | Rectangle,
    *,
    allowances: Allowances | None = None,
    land: BaseGeometry | None = None,
    in_the_way: BaseGeometry | None = None,
    grades_pct: tuple[float, ...] = GRADES_PCT,
    height_m: float | None = None,
    noise_m: float | None = None,
    noise_length_m: float = 5.0,
) -> Earthwork | None:
    """Earthwork of one pad, each volume with what the elevation's noise makes of it.

    Screening, not a bid: no borings, no survey, and call 811 before anyone digs.

    Parameters
    ----------
    elevation, transform, pad, grades_pct, height_m
        As for :func:`playsite.terrain.levelling.level_pad`.
    allowances
        What is added to the levelling; None for the usual, without surfacing.
    land, in_the_way
        As for :func:`playsite.terrain.tie_in.tie_in`.
    noise_m, noise_length_m
        Standard deviation of the elevation's noise, m (None if not known), and the length of its
        correlation, m.

    Returns
    -------
    Earthwork or None
        None where too little of the ground is known.

    Notes
    -----
    A steady error of the elevation moves a balanced pad up or down and changes nothing, except
    where the pad must meet a walk, a road or a pipe that is already there.
    """
    add = Allowances() if allowances is None else allowances
    factor = add.compacted_to_bank
    level = level_pad(
        elevation,
        transform,
        pad,
        grades_pct=grades_pct,
        height_m=height_m,
        compacted_to_bank=factor,
    )
    if level is None:
        return None
    banks = tie_in(elevation, transform, pad, level.finish, land=land, in_the_way=in_the_way)
    noise = _Noise(noise_m, noise_length_m, cell_size_m(transform))
    return _total(level, banks, add, noise)


@dataclass(frozen=True)
class _Noise:
    noise_m: float | None
    length_m: float
    cell_m: float

    def of(self, m3: float, area_m2: float) -> Volume:
        """Give a volume over an area its error."""
        if self.noise_m is None:
            return Volume(m3)
        error_m3 = noise_volume_m3(
            area_m2, noise_m=self.noise_m, noise_length_m=self.length_m, cell_m=self.cell_m
        )
        return Volume(m3, error_m3, area_m2 * self.noise_m)


def _total(level: Levelled, banks: TieIn, add: Allowances, noise: _Noise) -> Earthwork:
    disturbed_m2 = level.area_m2 + banks.area_m2
    cut, fill = noise.of(level.cut_m3, level.area_m2), noise.of(level.fill_m3, level.area_m2)
    bank_cut = noise.of(banks.cut_m3, banks.area_m2)
    topsoil_off_m3 = add.topsoil_off_m * disturbed_m2
    box_off_m3 = add.box_out_off_m * add.surfacing_m2
    box_out = Volume(add.box_out_m * add.surfacing_m2, box_off_m3, box_off_m3)
    dug_m3 = cut.m3 + bank_cut.m3 + box_out.m3
    in_m3, out_m3 = haul_m3(
        dug_m3,
        fill.m3 + banks.fill_m3,
        compacted_to_bank=add.compacted_to_bank,
        unsuitable_share=add.unsuitable_share,
    )
    # ground that is higher than told adds to the cut what it takes from the fill: one error, once
    errors_m3 = (cut.plus_minus_m3, bank_cut.plus_minus_m3, box_off_m3)
    most_m3 = cut.at_most_m3 + bank_cut.at_most_m3 + box_off_m3
    off_m3, share = math.hypot(*errors_m3), add.unsuitable_share
    return Earthwork(
        levelled=level,
        banks=banks,
        cut=cut,
        fill=fill,
        bank_cut=bank_cut,
        bank_fill=noise.of(banks.fill_m3, banks.area_m2),
        topsoil=Volume(add.topsoil_m * disturbed_m2, topsoil_off_m3, topsoil_off_m3),
        box_out=box_out,
        unsuitable=Volume(share * dug_m3, share * off_m3, share * most_m3),
        brought_in=Volume(in_m3, off_m3, most_m3),
        taken_away=Volume(out_m3, off_m3, most_m3),
        taken_away_loose_m3=loose_m3(out_m3, loose_to_bank=add.loose_to_bank),
        disturbed_m2=disturbed_m2,
    )
