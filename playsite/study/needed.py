"""Pads that a study's programs need, worked out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playsite.problems import Problems
from playsite.program.required import check_programs, required_pad

if TYPE_CHECKING:
    from playsite._program_settings import ProgramTable
    from playsite.program import RequiredPad
    from playsite.settings import Settings

__all__ = ["needed_pad", "needed_pads"]


def needed_pad(settings: Settings) -> RequiredPad:
    """Pad that a study's own program needs, worked out.

    Raises
    ------
    InputError
        If the program is at fault.
    """
    problems = Problems()
    check_programs(settings.every_program, problems, settings.place)
    problems.stop_if_any()
    return _worked_pad(settings, settings.program, settings.program.name or "")


def needed_pads(settings: Settings) -> dict[str, RequiredPad]:
    """Pads that the programs beside a study's own need, by name; empty where there are none.

    Call `needed_pad` first: it tells what is wrong with any of them.
    """
    return {
        name: _worked_pad(settings, program, program.name or name)
        for name, program in settings.programs.items()
    }


def _worked_pad(settings: Settings, program: ProgramTable, name: str) -> RequiredPad:
    problems, study = Problems(), settings.study
    pad = required_pad(program, problems, profile=study.profile, units=study.units, name=name)
    problems.stop_if_any()
    return pad
