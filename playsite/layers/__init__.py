"""The only readers of spatial files: one module for each kind of layer, and the gate."""

from playsite.layers.elevation import AROUND_M, Elevation
from playsite.layers.kinds import KINDS, ColumnKind, LayerKind
from playsite.layers.read import Layers, read_layers

__all__ = ["AROUND_M", "KINDS", "ColumnKind", "Elevation", "LayerKind", "Layers", "read_layers"]
