"""Whether the public may use a place, in OpenStreetMap's words."""

from __future__ import annotations

from typing import Any

from playsite.layers._kind import ColumnKind
from playsite.problems import Finding

__all__ = ["ACCESS", "WHEELCHAIR", "is_public", "settle_access"]

_PUBLIC = ("yes", "public", "permissive")
_NOT_PUBLIC = (
    "no",
    "private",
    "customers",
    "permit",
    "residents",
    "members",
    "employees",
    "delivery",
    "destination",
    "agricultural",
    "forestry",
    "military",
    "unknown",
)

ACCESS = ColumnKind(
    "access",
    words=_PUBLIC + _NOT_PUBLIC,
    synonyms={"true": "yes", "1": "yes", "false": "no", "0": "no"},
    otherwise="unknown",
    if_missing="The file doesn't say who may use them: all are taken as public.",
)
"""Column that says who may use a place; a word that is not known here is taken as not public."""

WHEELCHAIR = ColumnKind(
    "wheelchair",
    words=("yes", "limited", "no"),
    synonyms={"designated": "yes", "true": "yes", "1": "yes", "false": "no", "0": "no"},
)
"""Column that says whether a person in a wheelchair can use a place; missing: nobody said."""


def is_public(access: Any) -> Any:
    """Whether each word of access lets the public in; a missing one does, as in OpenStreetMap.

    Examples
    --------
    >>> import pandas as pd
    >>> is_public(pd.Series(["yes", "customers", None], dtype="str")).tolist()
    [True, False, True]
    """
    return access.isna() | access.isin(_PUBLIC)


def settle_access(kind: str) -> Any:
    """Give the ``settle`` of a kind of layer that has ``access``: it adds ``is_public``."""

    def settle(frame: Any, findings: list[Finding]) -> Any:
        frame = frame.copy()
        frame["is_public"] = is_public(frame["access"])
        shut = int((~frame["is_public"]).sum())
        if shut:
            findings.append(
                Finding(
                    f"Not open to the public: {shut} of {len(frame)}.",
                    "They don't count for the playground's visitors.",
                    layer=kind,
                    count=shut,
                )
            )
        return frame

    return settle
