"""All kinds of layers, by the word of the study file."""

from playsite.layers import (
    below,
    buildings,
    crossings,
    culverts,
    districts,
    drinking_water,
    easements,
    elevation,
    fences,
    flood_zones,
    hazards,
    inlets,
    lots,
    off_limits,
    overhead_lines,
    parcels,
    parking,
    paths,
    picnic,
    playgrounds,
    population,
    restrooms,
    soils,
    streets,
    surface,
    transit_stops,
    trees,
    water,
    wetlands,
)
from playsite.layers._kind import ColumnKind, LayerKind

__all__ = ["KINDS", "ColumnKind", "LayerKind"]

KINDS: dict[str, LayerKind] = {
    module.KIND.name: module.KIND
    for module in (
        parcels,
        elevation,
        surface,
        streets,
        paths,
        water,
        restrooms,
        parking,
        picnic,
        drinking_water,
        transit_stops,
        crossings,
        playgrounds,
        buildings,
        trees,
        fences,
        culverts,
        inlets,
        easements,
        off_limits,
        overhead_lines,
        hazards,
        soils,
        flood_zones,
        wetlands,
        below,
        population,
        districts,
        lots,
    )
}
"""Each kind of layer by its name; the study file's ``[layers.NAME]`` knows no others."""
