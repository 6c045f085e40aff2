"""Parcels: the candidates."""

from playsite.layers._kind import ColumnKind, LayerKind

__all__ = ["KIND"]

KIND = LayerKind(
    name="parcels",
    shapes=("polygon",),
    plain="parcels of land that could hold the playground",
    columns=(
        ColumnKind("parcel_id", needed=True),
        ColumnKind("name"),
        ColumnKind("owner"),
    ),
    needed=True,
)
