"""What the page's script reads: every parcel in words and shapes, ready to be shown.

All rounding, units and sentences are made here, by the same module that the memo uses; a text
that differs between feet and metres is a pair. The script only chooses which of the two to show.
"""

from __future__ import annotations

from collections import defaultdict
from functools import partial
from typing import TYPE_CHECKING, Any

from playsite.ranking.draws import NORMAL
from playsite.ranking.near_ties import SEPARABLE
from playsite.report import wording
from playsite.report.earth import EARTH_CAUTION, earth_sentences
from playsite.report.firm_facts import FirmFacts, criterion_name
from playsite.report.firm_whole import firm_sentences, visit_sentence
from playsite.report.firm_words import short_and_more
from playsite.report.people_units import in_feet, pad_size_text
from playsite.report.water import WATER_CAUTION, water_sentences
from playsite.report.web_map.columns import as_columns, lean
from playsite.report.web_map.districts import districts
from playsite.report.web_map.drawings import drawings
from playsite.report.web_map.grades import grade_areas, grade_shares
from playsite.report.web_map.ground import ground
from playsite.report.web_map.light import MOST_DETAILED, MOST_SITES, most_scores
from playsite.report.web_map.measured import evidence, measurements, tasks
from playsite.report.web_map.plans import frames, plans, rooms
from playsite.report.web_map.roots import root_zones
from playsite.report.web_map.scores import (
    common,
    in_full,
    lacking,
    packed,
    reads,
    score_table,
    spans,
)
from playsite.report.web_map.shades import shades
from playsite.report.web_map.shapes import DEGREES, all_polygons
from playsite.report.web_map.texts import Texts, said
from playsite.report.web_map.told import (
    by_parcel_rows,
    comments,
    conditions,
    costs,
    ledger,
    need,
    other_shapes,
    paragraph,
    prices,
    residents,
    would_fit,
)
from playsite.report.web_map.walks import walks
from playsite.report.web_map.water import contour_heights, flow_arrows, low_spots, low_spots_near
from playsite.report.wording import in_readers_units, is_missing, records

if TYPE_CHECKING:
    import geopandas as gpd

    from playsite.criteria._registry import Chosen
    from playsite.report.wording import Row
    from playsite.result import Result

__all__ = ["STATUSES", "pad_words", "payload"]

STATUSES = ("ranked", "does not fit", "screened out", "not assessed")
MANY_PARCELS = 2000
COVERAGE_TOLERANCE_M = 0.5


def payload(result: Result, whole: Result | None = None) -> dict[str, Any]:
    """Give everything that the page shows, as JSON can hold it.

    ``whole``: where ``result`` was lightened, the one before.
    """
    whole = whole or result
    texts = Texts()
    sites = _sites(result, texts)
    return {
        "units": 0 if in_feet(result.study.units) else 1,
        "shows_order": result.shows_order,
        "first": _first(result),
        "criteria": [_criterion(chosen) for chosen in result.criteria],
        "least_known": result.study.least_known_pct,
        "sites": sites[:MOST_DETAILED],
        "is_light": len(sites) > MOST_SITES,
        "rest": as_columns(lean(sites[MOST_DETAILED:], MOST_DETAILED)),
        "scores": _scores(whole),
        "lacking": lacking(whole),
        "spans": spans(result),
        "common": common(result),
        "normal": [float(value) for value in NORMAL[: len(NORMAL) // 2]],
        "reads": reads(result),
        "firm": _firm(result),
        "low_spots": low_spots(result.low_spots),
        "shades": shades(result),
        "plans": plans(result),
        "ground": ground(result),
        "districts": districts(result),
        "roots": root_zones(result),
        "walks": walks(result),
        "texts": texts.all,
    }


def _scores(result: Result) -> list[Any]:
    if len(result.sites) <= MOST_SITES:
        return in_full(score_table(result))
    most = most_scores(len(result.sites), len(result.criteria))
    return packed(score_table(result, most=most))


def _firm(result: Result) -> dict[str, Any]:
    """Give how firm the ranking is: in sentences, and as figures for what the page may work out."""
    firm, facts = result.firm, FirmFacts(result)
    near = zip(firm.pairs["ahead"], firm.pairs["behind"], firm.pairs["probability"], strict=True)
    return {
        "said": firm_sentences(facts),
        "shares": {
            parcel: [round(share, 4) for share in row] for parcel, row in facts.shares.items()
        },
        "near": [
            [str(one), str(other), round(float(p), 4), visit_sentence(facts, one, other)]
            for one, other, p in near
        ],
        "separable": SEPARABLE,
        "close": facts.too_close,
    }


def _first(result: Result) -> int:
    """Give the place of the site that the page opens on: the leader, or the nearest miss."""
    nearest = wording.nearest_miss(result)
    if nearest is None:
        return 0
    return result.sites["parcel_id"].tolist().index(nearest["parcel_id"])


def pad_words(result: Result, units: str) -> str:
    """Size of the play area that is needed."""
    return pad_size_text(result.pad.length_m, result.pad.width_m, units)


def _criterion(chosen: Chosen) -> dict[str, Any]:
    criterion = chosen.criterion
    return {
        "name": criterion.name,
        "said": criterion_name(criterion.name),
        "plain": said(partial(in_readers_units, criterion.plain)),
        "group": criterion.group,
        "weight": chosen.weight,
        "knots": [
            [knot.at, knot.score, knot.name, said(partial(wording.knot_text, chosen, knot.at))]
            for knot in chosen.curve.knots
        ],
        "curve_source": "; ".join(dict.fromkeys(knot.source for knot in chosen.curve.knots)),
        "method": said(partial(in_readers_units, criterion.method)),
    }


def _sites(result: Result, texts: Texts) -> list[dict[str, Any]]:
    facts = FirmFacts(result)
    of_parcel: dict[str, dict[Any, Any]] = {
        "parcel": _shapes(_parcels(result.parcels)),
        "pad": _shapes(result.pads),
        "ghost": _shapes(result.ghosts),
        "others": _shapes(result.alternatives),
        "measured": measurements(result, texts),
        "tasks": tasks(result),
        "evidence": evidence(result, texts),
        "conditions": conditions(result),
        "ledger": ledger(result, texts),
        "frames": frames(result),
        "rooms": rooms(result, texts),
        "would": would_fit(result),
        "earth": paragraph(result, result.earthwork, earth_sentences, EARTH_CAUTION),
        "storms": paragraph(result, result.water, water_sentences, WATER_CAUTION),
        "cost": costs(result),
        "price": prices(result),
        "residents": residents(result),
        "comments": comments(result),
        "firm": {parcel: short_and_more(facts, parcel) for parcel in facts.shares},
        "need": need(result),
        "drawings": drawings(result),
        "heights": contour_heights(result, texts),
        "arrows": flow_arrows(result),
        "grades": grade_areas(result),
        "slopes": grade_shares(result),
        "low_spots": low_spots_near(result),
        "shape": other_shapes(result),
    }
    misses = by_parcel_rows(result.misses)
    areas = result.parcels.geometry.area.groupby(result.parcels["parcel_id"]).sum()
    lots = {parcel: said(partial(wording.area_text, area)) for parcel, area in areas.items()}
    sites: list[dict[str, Any]] = []
    for row in records(result.sites):
        parcel = row["parcel_id"]
        site = _site(row, result, misses.get(parcel, []))
        site["area"] = lots.get(parcel)
        site |= {name: own.get(parcel) for name, own in of_parcel.items()}
        if len(result.sites) > MOST_SITES and len(sites) >= MOST_DETAILED:
            del site["area"], site["total"]
        sites.append({name: value for name, value in site.items() if value not in ([], "", None)})
    return sites


def _site(row: Row, result: Result, misses: list[Row]) -> dict[str, Any]:
    known = row["known_share"]
    why = partial(wording.reason_sentence, row, result, misses=misses)
    return {
        "id": str(row["parcel_id"]),
        "no": int(row["site_no"]),
        "name": wording.plain_cell(row["name"]),
        "status": STATUSES.index(row["status"]),
        "rank": None if is_missing(row["rank"]) else int(row["rank"]),
        "total": None if is_missing(row["score"]) else row["score"],
        "score": wording.points(row["score"]),
        "low": wording.points(row["score_low"]),
        "high": wording.points(row["score_high"]),
        "range": wording.score_range_text(row["score_low"], row["score_high"]),
        "known": "" if is_missing(known) or known > 0.995 else wording.percent_text(known * 100),
        "why": said(lambda units: why(units=units)),
        "short": wording.short_reason(row, misses),
        "rule": said(partial(wording.first_rule, row, misses)),
    }


def _parcels(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Parcels as drawn; of very many the outlines are thinned so that neighbours still meet."""
    if len(frame) <= MANY_PARCELS:
        return frame
    tolerance_m = COVERAGE_TOLERANCE_M * (1 if len(frame) <= MOST_SITES else 2)
    return frame.set_geometry(frame.geometry.simplify_coverage(tolerance_m))


def _shapes(frame: gpd.GeoDataFrame) -> dict[Any, list[Any]]:
    found: dict[Any, list[Any]] = defaultdict(list)
    if len(frame):
        shapes = all_polygons(frame.to_crs(DEGREES).geometry, closed=False)
        for parcel, shape in zip(frame["parcel_id"], shapes, strict=True):
            found[parcel] += shape
    return found
