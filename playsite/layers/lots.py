"""Other parcels, that are no candidates: drawn on map and plans, never judged."""

from playsite.layers._kind import ColumnKind, LayerKind

__all__ = ["KIND"]

KIND = LayerKind(
    name="lots",
    shapes=("polygon",),
    plain="other parcels, only drawn",
    columns=(ColumnKind("name"),),
)
