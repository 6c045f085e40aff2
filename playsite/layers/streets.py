"""Streets: centre lines or surfaces, and the width of their pavement."""

from __future__ import annotations

from typing import Any

import numpy as np

from playsite.layers._kind import ColumnKind, LayerKind
from playsite.problems import Finding

__all__ = ["KIND", "LANE_M", "SIDEWALK", "WIDTH_BY_CLASS_M", "settle"]

LANE_M = 3.5
"""Width of one lane; common practice, no source."""

WIDTH_BY_CLASS_M = {"local": 7.0, "collector": 10.5, "arterial": 14.0}
"""Pavement of a street of which only the class is known; common practice, no source."""

SIDEWALK = ("both", "left", "right", "yes", "separate")
"""Words that say a street has a sidewalk; "separate": drawn as a path of its own."""

_SIDEWALK_WORDS = {"none": "no", "false": "no", "0": "no", "true": "yes", "1": "yes", "one": "yes"}

_CLASS_IF_UNKNOWN = "collector"
_OPENSTREETMAP = {
    "motorway": "highway",
    "motorway_link": "highway",
    # Through a town a trunk road is often its main street, with sidewalks.
    "trunk": "arterial",
    "trunk_link": "arterial",
    "primary": "arterial",
    "primary_link": "arterial",
    "secondary": "arterial",
    "secondary_link": "arterial",
    "tertiary": "collector",
    "tertiary_link": "collector",
    "unclassified": "local",
    "residential": "local",
    "living_street": "local",
    "service": "local",
}


def settle(frame: Any, findings: list[Finding]) -> Any:
    """Work out class, ``pavement_width_m``, ``width_from`` and the shape ``pavement``.

    The width is the file's own, else lanes times 3.5 m, else that of the class. Pavement of
    a line is all ground within half that width; of a surface, the surface (its width stays
    missing). Nothing is added. A street of which it isn't known is no bridge. ``is_walked`` is
    False for a highway without a sidewalk, and where people on foot are kept out.

    Parameters
    ----------
    frame
        Streets with ``class``, ``lanes``, ``width_m``, ``sidewalk``, ``foot``.
    findings
        Takes what was assumed.
    """
    frame = frame.copy()
    usual = frame["class"].ne("highway").fillna(value=True) | frame["sidewalk"].isin(SIDEWALK)
    frame["is_walked"] = frame["foot"].fillna(usual.astype("boolean")).astype(bool)
    frame["class"] = _classes(frame["class"], findings)
    surface = frame.geom_type.isin(["Polygon", "MultiPolygon"])
    width_m = frame["width_m"].astype(float)
    by_lanes_m = frame["lanes"].astype(float) * LANE_M
    by_class_m = frame["class"].map(WIDTH_BY_CLASS_M).astype(float)
    frame["pavement_width_m"] = width_m.fillna(by_lanes_m).fillna(by_class_m).where(~surface)
    frame["width_from"] = np.select(
        [surface, width_m.notna(), by_lanes_m.notna()], ["surface", "width", "lanes"], "class"
    )
    pavement = frame.geometry.buffer(frame["pavement_width_m"].fillna(0.0) / 2)
    frame["pavement"] = frame.geometry.where(surface, pavement)
    frame["bridge"] = frame["bridge"].fillna(value=False).astype(bool)
    by_class = int((frame["width_from"] == "class").sum())
    if by_class:
        widths = ", ".join(f"{name} {width:g} m" for name, width in WIDTH_BY_CLASS_M.items())
        findings.append(
            Finding(
                f"Streets that give neither width nor lanes: {by_class} of {len(frame)}.",
                f"Their pavement is taken by class: {widths} (common practice, no source).",
                layer="streets",
                count=by_class,
            )
        )
    return frame


def _classes(given: Any, findings: list[Finding]) -> Any:
    highways = int((given == "highway").sum())
    if highways:
        findings.append(
            Finding(
                f"Highways: {highways} of {len(given)} streets.",
                "A highway counts as an arterial; nobody walks along one without a sidewalk.",
                layer="streets",
                count=highways,
            )
        )
    unknown = int(given.isna().sum())
    if unknown:
        findings.append(
            Finding(
                f"Streets of unknown class: {unknown} of {len(given)}.",
                f"They are taken as {_CLASS_IF_UNKNOWN} streets.",
                layer="streets",
                count=unknown,
                weight="caution",
            )
        )
    return given.replace("highway", "arterial").fillna(_CLASS_IF_UNKNOWN)


KIND = LayerKind(
    name="streets",
    shapes=("line", "polygon"),
    plain="streets, as centre lines or as surfaces",
    columns=(
        ColumnKind(
            "class", words=("local", "collector", "arterial", "highway"), synonyms=_OPENSTREETMAP
        ),
        ColumnKind("lanes", "number", most=16),
        ColumnKind("width", "number", "m", most=80),
        ColumnKind("name"),
        ColumnKind("speed_mph", "number", most=90),
        ColumnKind("volume", "number", most=500_000),
        ColumnKind("bridge", "flag", words=("bridge", "viaduct")),
        ColumnKind("sidewalk", words=(*SIDEWALK, "no"), synonyms=_SIDEWALK_WORDS),
        ColumnKind("foot", "flag", words=("designated", "permissive")),
        ColumnKind("trucks", "flag", words=("designated", "permissive", "destination", "delivery")),
        ColumnKind("max_weight_t", "number", most=200),
        ColumnKind("max_height", "number", "m", most=30),
    ),
    if_absent="There is no layer of streets: traffic and the way there are not known.",
    absent_weight="caution",
    settle=settle,
)
