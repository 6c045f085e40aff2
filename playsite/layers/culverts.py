"""Culverts: pipes under streets and banks, through which water runs on that elevation dams."""

from playsite.layers._kind import ColumnKind, LayerKind

__all__ = ["KIND"]

KIND = LayerKind(
    name="culverts",
    shapes=("line",),
    plain="culverts and bridged channels, as lines from end to end",
    columns=(ColumnKind("name"),),
    if_absent=(
        "The study has no layer of culverts: where a bank dams a channel in the elevation, water "
        "may seem to stand that in truth runs on."
    ),
)
