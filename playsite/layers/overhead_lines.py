"""Overhead lines: power lines on poles and towers, and the strips that they need."""

from playsite.layers._kind import ColumnKind, LayerKind

__all__ = ["KIND"]

KIND = LayerKind(
    name="overhead_lines",
    shapes=("line", "polygon"),
    plain="overhead power lines, or the land kept for them",
    columns=(ColumnKind("name"), ColumnKind("voltage_kv", "number", most=1200)),
    if_absent=(
        "The study has no layer of overhead lines: local lines and service drops are hardly ever "
        "mapped; look up at the site."
    ),
)
