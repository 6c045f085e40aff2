"""Districts: council districts or the like, by which a council counts who gains."""

from playsite.layers._kind import ColumnKind, LayerKind

__all__ = ["KIND"]

KIND = LayerKind(
    name="districts",
    shapes=("polygon",),
    plain="districts by which those who gain are counted",
    columns=(ColumnKind("name"),),
)
