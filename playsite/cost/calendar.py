"""When it could open: steps, permits and the one-call ticket, held against the deadlines."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from playsite.cost.draws import shares, triangular

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from playsite.cost._price_tables import StepTable
    from playsite.cost.draws import Draws

__all__ = ["Calendar", "Dated", "calendar_of", "ticket_day"]


@dataclass(frozen=True)
class Dated:
    """One step: when it begins by even odds, and when it is done by even odds and by four in five."""

    name: str
    who: str
    begins: dt.date
    done: dt.date
    done_p80: dt.date
    only: str


@dataclass(frozen=True)
class Calendar:
    """Steps of a project, in the order in which they begin.

    Parameters
    ----------
    opens, opens_p80
        By even odds, and by four in five.
    tickets
        By step that digs, the last day to ask for its one-call ticket if it begins by even odds.
    """

    steps: tuple[Dated, ...]
    opens: dt.date
    opens_p80: dt.date
    tickets: tuple[tuple[str, dt.date], ...]

    def holds(self, deadline: dt.date) -> str:
        """``met``, ``at risk`` (only by even odds), or ``missed``."""
        if self.opens_p80 <= deadline:
            return "met"
        return "at risk" if self.opens <= deadline else "missed"


def calendar_of(
    steps: Sequence[StepTable], start: dt.date, needs: Collection[str], *, notice_days: int
) -> Calendar:
    """Put the steps that a site needs after one another, with durations drawn.

    Parameters
    ----------
    steps
        Each after those that it names; a step that isn't needed here is left out, and so holds
        nobody up.
    needs
        ``wetland``, ``floodplain``, ``wall``.
    notice_days
        Business days between the one-call ticket and the first digging.

    Raises
    ------
    ValueError
        If a step comes after one that isn't there, or after itself.
    """
    known = {step.name for step in steps}
    for step in steps:
        for name in step.after:
            if name not in known:
                raise ValueError(f'the step "{step.name}" comes after "{name}", which is no step')
    here = [step for step in steps if step.only is None or step.only in needs]
    ends = _ends(here)
    dated = sorted(
        (_dated(step, start, ends) for step in here), key=lambda each: (each.begins, each.done)
    )
    digging = {step.name for step in here if step.digs}
    last = np.max([end for _, end in ends.values()], axis=0)
    return Calendar(
        steps=tuple(dated),
        opens=_day(start, float(np.percentile(last, 50))),
        opens_p80=_day(start, float(np.percentile(last, 80))),
        tickets=tuple(
            (each.name, ticket_day(each.begins, notice_days))
            for each in dated
            if each.name in digging
        ),
    )


def ticket_day(digging: dt.date, notice_days: int) -> dt.date:
    """Last business day on which to ask for the ticket: so many business days before the digging.

    Weekends don't count; holidays are not known here, so ask earlier round them.

    Examples
    --------
    A Monday, three business days' notice: the Wednesday before.

    >>> ticket_day(dt.date(2027, 3, 8), 3)
    datetime.date(2027, 3, 3)
    """
    day = np.busday_offset(np.datetime64(digging), -notice_days, roll="forward")
    return dt.date.fromisoformat(str(day))


def _ends(steps: Sequence[StepTable]) -> dict[str, tuple[Draws, Draws]]:
    """Beginning and end of each step, in weeks from the start, drawn together."""
    left = {step.name: step for step in steps}
    found: dict[str, tuple[Draws, Draws]] = {}
    while left:
        ready = [step for step in left.values() if not any(name in left for name in step.after)]
        if not ready:
            raise ValueError(f"steps that wait for each other: {', '.join(left)}")
        for step in ready:
            before = [found[name][1] for name in step.after if name in found]
            weeks = triangular(shares(f"{step.name}\nweeks"), *step.weeks)
            begins = np.max(before, axis=0) if before else np.zeros_like(weeks)
            found[step.name] = (begins, begins + weeks)
            del left[step.name]
    return found


def _dated(step: StepTable, start: dt.date, ends: dict[str, tuple[Draws, Draws]]) -> Dated:
    begins, done = ends[step.name]
    return Dated(
        name=step.name,
        who=step.who,
        begins=_day(start, float(np.percentile(begins, 50))),
        done=_day(start, float(np.percentile(done, 50))),
        done_p80=_day(start, float(np.percentile(done, 80))),
        only=step.only or "",
    )


def _day(start: dt.date, weeks: float) -> dt.date:
    return start + dt.timedelta(days=round(7 * weeks))
