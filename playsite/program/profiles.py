"""Settings in which a playground is built, each a documented set of defaults."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["PROFILES", "Profile"]


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
    """

    plain: str
    weights: Mapping[str, float] = field(default_factory=dict)
    leaves_out: tuple[str, ...] = ()
    source: str = "common practice, no source"


PROFILES: Mapping[str, Profile] = {
    "public": Profile("a public neighborhood playground"),
    "school": Profile("a school's own playground", {"neighbours": 3}),
    "child care": Profile("a child-care center", {"open_water": 9}, leaves_out=("parking",)),
    "homeowners": Profile("a homeowners' association", {"neighbours": 4}),
    "congregation": Profile("a congregation's ground", {"parking": 2}),
}
"""By the name that a study gives; all weights are starting values that a study may change."""
