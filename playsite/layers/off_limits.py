"""Land that the study itself leaves out, whatever else holds there."""

from playsite.layers._kind import ColumnKind, LayerKind

__all__ = ["KIND"]

KIND = LayerKind(
    name="off_limits",
    shapes=("polygon",),
    plain="land that the study leaves out",
    columns=(ColumnKind("name"),),
)
