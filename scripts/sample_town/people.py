"""Who lives in the town: areas of a made-up census with their children, and council districts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from sample_town import plan

if TYPE_CHECKING:
    from sample_town.buildings import Building

Row = dict[str, Any]
PARTS = 4
# Of each area in turn: children of 0 to 4 and of 5 to 9 a home, shares in percent.
YOUNG_A_HOME, OLDER_A_HOME = (0.20, 0.32, 0.26), (0.24, 0.30, 0.38)
LOW_INCOME_PCT, DISABILITY_PCT, NO_YARD_PCT = (9, 22, 31, 14), (8, 12, 15), (4, 18, 36, 11, 7)


def population(built: list[Building]) -> list[Row]:
    """Areas of a census on a plain grid, children by the homes in each, with margins."""
    homes = shapely.points(
        [
            (one.outline.centroid.x, one.outline.centroid.y)
            for one in built
            if one.kind == "dwelling"
        ]
    )
    rows = []
    for number, shape in enumerate(_grid()):
        count = int(shapely.contains(shape, homes).sum())
        young, older = (
            round(count * a_home[number % 3]) for a_home in (YOUNG_A_HOME, OLDER_A_HOME)
        )
        bands = {"UNDER_5": young, "AGE_5_9": older, "AGE_10_14": round(0.9 * older)}
        rows.append(
            {
                "AREA": f"Area {number + 1}",
                **bands,
                **{f"{name}_M": _margin(children) for name, children in bands.items()},
                "LOW_INC": LOW_INCOME_PCT[number % 4],
                "DISAB": DISABILITY_PCT[number % 3],
                "NO_YARD": NO_YARD_PCT[number % 5],
                "geometry": shape,
            }
        )
    return rows


def districts() -> list[Row]:
    """Three council districts, from west to east."""
    edges = np.linspace(0, plan.SIDE_M, 4)
    return [
        {"NAME": name, "geometry": shapely.box(west, 0, east, plan.SIDE_M)}
        for name, west, east in zip(
            ("West district", "Middle district", "East district"), edges, edges[1:], strict=False
        )
    ]


def _grid() -> list[shapely.Polygon]:
    edges = np.linspace(0, plan.SIDE_M, PARTS + 1)
    return [
        shapely.box(edges[x], edges[y], edges[x + 1], edges[y + 1])
        for y in range(PARTS)
        for x in range(PARTS)
    ]


def _margin(children: int) -> int:
    """As wide as those of small areas are in surveys: about 40 percent of 20 children."""
    return round(3 + 1.1 * np.sqrt(children))
