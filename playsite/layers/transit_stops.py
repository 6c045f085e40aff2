"""Transit stops: where buses, trams and trains let people off."""

from playsite.layers._access import WHEELCHAIR
from playsite.layers._kind import ColumnKind, LayerKind

__all__ = ["KIND"]

KIND = LayerKind(
    name="transit_stops",
    shapes=("point", "polygon"),
    plain="stops of buses, trams and trains",
    columns=(ColumnKind("name"), ColumnKind("kind"), WHEELCHAIR),
)
