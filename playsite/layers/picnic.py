"""Picnic: picnic tables, shelters and seats, and whether the public may use them."""

from playsite.layers._access import ACCESS, settle_access
from playsite.layers._kind import ColumnKind, LayerKind

__all__ = ["KIND"]

KIND = LayerKind(
    name="picnic",
    shapes=("point", "polygon"),
    plain="picnic tables and shelters",
    columns=(ACCESS, ColumnKind("name"), ColumnKind("kind")),
    settle=settle_access("picnic"),
)
