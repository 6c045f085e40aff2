"""Parking: car parks, and whether the public may use them."""

from playsite.layers._access import ACCESS, settle_access
from playsite.layers._kind import ColumnKind, LayerKind

__all__ = ["KIND"]

KIND = LayerKind(
    name="parking",
    shapes=("point", "polygon"),
    plain="car parks",
    columns=(ACCESS, ColumnKind("name")),
    if_absent="The study has no layer of parking: the walk from one is not known.",
    settle=settle_access("parking"),
)
