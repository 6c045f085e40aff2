"""Settings in which a playground is built, each a documented set of defaults."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from playsite.units import LENGTHS_M

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["PROFILES", "Profile"]


_CHILD_M2 = 75 * LENGTHS_M["ft"] ** 2  # 75 sq ft, 7.0 square metres


@dataclass(frozen=True)
class Profile:
    """What differs from the public neighborhood playground.

    Parameters
    ----------
    plain
        Whom the playground serves, in words.
    weights
        Weights that differ from the criteria's own.
    leaves_out
        Criteria that have no meaning there.
    source
        Who says so.
    space_per_child_m2
        Play area for each child that plays at one time.
    space_source
        Who says so.
    """

    plain: str
    weights: Mapping[str, float] = field(default_factory=dict)
    leaves_out: tuple[str, ...] = ()
    source: str = "common practice, no source"
    space_per_child_m2: float = _CHILD_M2
    space_source: str = "child-care rules, taken as a floor (WAC 170-295-2130)"


PROFILES: Mapping[str, Profile] = {
    "public": Profile("a public neighborhood playground"),
    "school": Profile("a school's own playground", {"neighbours": 3}),
    "child care": Profile(
        "a child-care center",
        {"open_water": 9},
        leaves_out=("parking",),
        space_source="WAC 170-295-2130; COMAR 13A.16.05.12 B",
    ),
    "homeowners": Profile("a homeowners' association", {"neighbours": 4}),
    "congregation": Profile("a congregation's ground", {"parking": 2}),
}
"""By the name that a study gives; all weights are starting values that a study may change."""
