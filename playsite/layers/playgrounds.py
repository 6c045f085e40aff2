"""Playgrounds: playgrounds there are today, and whether the public may use them."""

from playsite.layers._access import ACCESS, settle_access
from playsite.layers._kind import ColumnKind, LayerKind

__all__ = ["KIND"]

KIND = LayerKind(
    name="playgrounds",
    shapes=("point", "polygon"),
    plain="playgrounds there are today",
    columns=(ACCESS, ColumnKind("name")),
    settle=settle_access("playgrounds"),
)
