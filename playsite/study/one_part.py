"""All that is found out of one part of a town: searched, placed, measured, explained."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import pandas as pd

from playsite.engine import in_threads
from playsite.program.surface import surface_of
from playsite.proximity.loose_parts import loose_finding
from playsite.ranking.scores import criterion_scores, totals
from playsite.study.assembling import natural_order
from playsite.study.bounding import KEEP
from playsite.study.choosing import Placed, chosen_places, joined, pads_of
from playsite.study.culverts import culvert_findings
from playsite.study.earthworks import earthwork_table, section_table
from playsite.study.found import Part
from playsite.study.grade_areas import grade_area_table
from playsite.study.grading import arrow_table, contour_table, grading_table
from playsite.study.low_spots import low_spot_table
from playsite.study.needs import home_table, need_table
from playsite.study.searching import ParcelSearch, search_parcel
from playsite.study.shades import shade_table
from playsite.study.storms import water_table
from playsite.study.taken import taken_table
from playsite.study.taking import takers
from playsite.study.why_not import relaxation_table, room_table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import geopandas as gpd

    from playsite.criteria._registry import Chosen
    from playsite.engine import Watch
    from playsite.problems import Finding
    from playsite.program import RequiredPad
    from playsite.settings import Settings
    from playsite.site import Site
    from playsite.study.taking import Taker

__all__ = ["Asked", "part_of_town"]

_SECOND_LOOK = 32 * KEEP
_LEVELLED = 40
"""Pads of each part of a town whose earthwork and storms are worked out, and whose ground is drawn."""

_SHADED = 12
"""Pads of each part of a town whose shade is drawn by hour."""


@dataclass(frozen=True)
class Asked:
    """What is looked for: the study's own pad, those of programs beside it, by what is measured.

    ``obstacles`` take land beside what the layers and the settings take.
    """

    settings: Settings
    pad: RequiredPad
    beside: Mapping[str, RequiredPad]
    chosen: Sequence[Chosen]
    obstacles: tuple[Taker, ...] = ()


def part_of_town(asked: Asked, site: Site, watch: Watch) -> Part:
    """Find out all of one part of a town."""
    setbacks, shapes = asked.settings.setbacks, site.layers.parcels.geometry
    taken = [*takers(site, setbacks), *asked.obstacles]
    searches = _searches(asked, site, taken, watch)
    placed = _placed(asked, site, searches, taken, watch)
    best = placed.pads[placed.pads["role"] == "best"]
    tight = {name: shapes.loc[name] for name, each in searches.items() if not each.is_placed}
    foremost = _foremost(placed, asked)
    surfacing_m2 = surface_of(asked.pad).area_m2
    earth = earthwork_table(foremost, shapes, site, setbacks, surfacing_m2=surfacing_m2)
    looked = list(watch([tight], "Looking for what binds", 1))
    return Part(
        largest=_largest(searches),
        ledger=_ledger(searches),
        taken=taken_table(searches, site.layers.crs),
        placed=placed,
        low_spots=low_spot_table(site),
        findings=(*site.findings, *culvert_findings(site), *_loose(site)),
        fits_beside=pd.DataFrame({name: each.beside for name, each in searches.items()}).T,
        rooms=room_table(best, shapes, site, setbacks, taken),
        relaxations=relaxation_table(looked[0], asked.pad, site, setbacks, taken),
        earthwork=earth,
        water=water_table(foremost, shapes, site, asked.settings.storm, placed.measured, earth),
        need=need_table(foremost, site),
        homes=home_table(foremost, site),
        sections=section_table(earth, foremost, site),
        grading=grading_table(earth, foremost, shapes, site, setbacks),
        contours=contour_table(foremost, site, units=asked.settings.study.units),
        arrows=arrow_table(foremost, site),
        grade_areas=grade_area_table(foremost, shapes, site, asked.chosen),
        shade=shade_table(foremost.iloc[:_SHADED], site),
    )


def _searches(
    asked: Asked, site: Site, taken: Sequence[Taker], watch: Watch
) -> dict[str, ParcelSearch]:
    shapes = site.layers.parcels.geometry
    same = shapes.normalize().to_wkb()  # several ids on the same land are searched once
    first = same.drop_duplicates().index.tolist()

    def search(parcel_id: str) -> ParcelSearch:
        return search_parcel(
            parcel_id,
            shapes.loc[parcel_id],
            pad=asked.pad,
            site=site,
            setbacks=asked.settings.setbacks,
            taken=taken,
            beside=asked.beside,
        )

    found = watch(in_threads(search, first), "Searching parcels", len(first))
    of_shape = dict(zip(same.loc[first], found, strict=True))
    return {
        parcel_id: replace(of_shape[same.loc[parcel_id]], parcel_id=parcel_id)
        for parcel_id in natural_order(shapes.index)
    }


def _placed(
    asked: Asked,
    site: Site,
    searches: dict[str, ParcelSearch],
    taken: Sequence[Taker],
    watch: Watch,
) -> Placed:
    """Choose places; a parcel of which no place passes is searched again with many more."""
    pad, chosen, crs = asked.pad, asked.chosen, site.layers.crs
    placed = chosen_places(pads_of(list(searches.values()), pad, crs), chosen, site, watch=watch)
    best = placed.pads[placed.pads["role"] == "best"]
    failed = best.loc[~best["passes"], "parcel_id"]
    again = [parcel_id for parcel_id in failed if len(searches[parcel_id].placing.places) >= KEEP]
    if not again:
        return placed
    for parcel_id in watch(again, "Looking again where no place passes", len(again)):
        searches[parcel_id] = search_parcel(
            parcel_id,
            site.layers.parcels.geometry.loc[parcel_id],
            pad=pad,
            site=site,
            setbacks=asked.settings.setbacks,
            taken=taken,
            keep=_SECOND_LOOK,
            beside=asked.beside,
        )
    wider = pads_of([searches[parcel_id] for parcel_id in again], pad, crs)
    return joined(placed, chosen_places(wider, chosen, site, watch=watch))


def _largest(searches: dict[str, ParcelSearch]) -> pd.DataFrame:
    rows = {
        parcel_id: (
            each.largest.scale,
            each.largest.easting,
            each.largest.northing,
            each.largest.rotation_deg,
        )
        for parcel_id, each in searches.items()
    }
    columns = ["scale", "easting", "northing", "rotation_deg"]
    return pd.DataFrame.from_dict(rows, orient="index", columns=columns)


def _ledger(searches: dict[str, ParcelSearch]) -> pd.DataFrame:
    rows = [
        (parcel_id, row.rule, row.removed_m2, row.margin, row.unit, row.source)
        for parcel_id, each in searches.items()
        for row in each.ledger
    ]
    columns = ["parcel_id", "rule", "removed_m2", "margin", "unit", "source"]
    return pd.DataFrame(rows, columns=columns)


def _foremost(placed: Placed, asked: Asked) -> gpd.GeoDataFrame:
    """Best pads of the parcels that score best by the profile's weights: a bounded number."""
    best = placed.pads[placed.pads["role"] == "best"]
    scores = criterion_scores(placed.measured, asked.chosen)
    weights = {each.name: each.usual_weight for each in asked.chosen}
    if not len(best) or sum(weights.values()) <= 0:
        return best.iloc[:_LEVELLED]
    order = totals(scores, weights).loc[best.index, "score"].sort_values(ascending=False)
    return best.loc[order.index[:_LEVELLED]]


def _loose(site: Site) -> tuple[Finding, ...]:
    """Parts of the streets and paths that no walk leads to."""
    found = None if site.ways is None else loose_finding(site.ways)
    return () if found is None else (found,)
