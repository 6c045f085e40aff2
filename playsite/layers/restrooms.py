"""Restrooms: public toilets, and whether the public may use them."""

from playsite.layers._access import ACCESS, settle_access
from playsite.layers._kind import ColumnKind, LayerKind

__all__ = ["KIND"]

KIND = LayerKind(
    name="restrooms",
    shapes=("point", "polygon"),
    plain="public toilets",
    columns=(ACCESS, ColumnKind("name")),
    if_absent="The study has no layer of restrooms: the walk to one is not known.",
    settle=settle_access("restrooms"),
)
