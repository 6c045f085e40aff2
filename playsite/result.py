"""The whole answer of one run: the only thing that reports read."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import pandas as pd

from playsite._words_file import Words
from playsite.ranking.firm import Firm

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    import geopandas as gpd

    from playsite.cost.plan import Plan
    from playsite.cost.record import Costs
    from playsite.criteria._registry import Chosen
    from playsite.criteria._spoken import Spoken
    from playsite.problems import Finding
    from playsite.program import RequiredPad
    from playsite.ranking.ballots import Ballots

__all__ = [
    "ARROW_COLUMNS",
    "CAUTIONS",
    "CONTOUR_COLUMNS",
    "FRAME_COLUMNS",
    "GRADE_AREA_COLUMNS",
    "GRADING_COLUMNS",
    "HOME_COLUMNS",
    "IN_THE_WAY",
    "NEED_COLUMNS",
    "RELAXATION_COLUMNS",
    "ROOM_COLUMNS",
    "SECTION_COLUMNS",
    "SHADE_COLUMNS",
    "SITE_COLUMNS",
    "TAKEN_COLUMNS",
    "VISIT_COLUMNS",
    "Desk",
    "Result",
    "Study",
]

CAUTIONS = (
    (
        "Screening only: a study from public map data and, where stated, site visits. Not a boundary, "
        "topographic, utility, wetland, tree or geotechnical survey."
    ),
    "Property lines are approximate. Drainage and quantities are concept estimates.",
    "Call 811 (or the local one-call service) before any digging; it does not locate private lines.",
    (
        "Design must be prepared by licensed professionals. Layout, surfacing and as-built must be "
        "checked by a certified playground safety inspector against the standards in force."
    ),
    "Accessibility rules and local codes govern.",
    "Absence of a mapped feature does not mean absence on the ground.",
)
"""The cautions that every output carries, in this order."""

IN_THE_WAY = "in the way"
"""Begins the label of evidence that is an obstacle found on a visit."""

ARROW_COLUMNS = ("parcel_id", "grade_pct", "geometry")
CONTOUR_COLUMNS = ("parcel_id", "elevation_m", "geometry")
FRAME_COLUMNS = ("parcel_id", "shape", "concept", "easting", "northing", "rotation_deg")
GRADE_AREA_COLUMNS = ("parcel_id", "least_pct", "most_pct", "geometry")
GRADING_COLUMNS = ("parcel_id", "part", "kind", "height_m", "geometry")
HOME_COLUMNS = ("parcel_id", "easting", "northing", "today", "then")
RELAXATION_COLUMNS = ("parcel_id", "kind", "rule", "source", "limit_m", "fits_at_m", "change_m")
SHADE_COLUMNS = ("parcel_id", "month", "hour", "pad_pct", "seats_pct")
NEED_COLUMNS = (
    "option",
    "parcel_id",
    "name",
    "district",
    "children",
    "newly_served",
    "still_without",
    "plus_minus",
    "low_income_pct",
    "disability_pct",
    "no_yard_pct",
)
ROOM_COLUMNS = ("parcel_id", "direction", "distance_m", "limit", "geometry")
SECTION_COLUMNS = ("parcel_id", "part", "distance_m", "ground_m", "finish_m")
TAKEN_COLUMNS = ("parcel_id", "rule", "geometry")
SITE_COLUMNS = (
    "parcel_id",
    "site_no",
    "name",
    "status",
    "rank",
    "score",
    "score_low",
    "score_high",
    "known_share",
    "pad_easting",
    "pad_northing",
    "pad_rotation_deg",
    "conditions",
    "reason",
)
VISIT_COLUMNS = (
    "parcel_id",
    "criterion",
    "value",
    "unit",
    "map_value",
    "accuracy",
    "method",
    "role",
    "date",
    "photo",
    "note",
    "was",
    "now",
    "read_on",
    "standing",
)


def _nothing(columns: tuple[str, ...]) -> Any:
    return pd.DataFrame(columns=list(columns))


@dataclass(frozen=True)
class Study:
    """What the study is called, how its people read numbers, and on whose paper they write."""

    title: str
    units: str
    profile: str
    least_known_pct: float
    made_on: str
    version: str
    crs: str
    line_error_m: float
    setbacks: str
    folder: Path
    letterhead: Path | None = None
    words: Words = field(default_factory=Words)


@dataclass(frozen=True)
class Desk:
    """What the maps alone say, without any visit: ``sites`` and ``measurements`` as in `Result`."""

    sites: pd.DataFrame
    measurements: pd.DataFrame


@dataclass(frozen=True)
class Result:
    """Everything that a run found out.

    Parameters
    ----------
    study, pad
        What was asked, and the play area that is needed.
    criteria
        The criteria in use, each with the curve, the share of weight and the screens as used.
    sites
        One row a parcel, columns ``SITE_COLUMNS``; status is ``ranked``, ``screened out``,
        ``does not fit`` or ``not assessed``; ``rank`` is a nullable whole number; scores 0 to 1.
        In order of rank, then status, then site number.
    measurements
        Columns of ``measurements.csv``: ``parcel_id, criterion, value, unit, low, high, score,
        origin, map_value, layer, layer_date, method, source, note``. Metric.
    ledger
        ``parcel_id, rule, removed_m2, margin, unit, source``.
    taken
        ``TAKEN_COLUMNS``: what each row of the ledger took, to draw; empty in a town of so many
        parcels that no paper shows it.
    misses
        Every screen that put a parcel's best place out, and the scale where none fits:
        ``parcel_id, criterion, rule, short, value, limit, margin, unit, source``.
    conditions
        ``parcel_id, criterion, rule, needs, value, limit, unit, source``.
    unknowns
        Tasks for the field visit: ``parcel_id, criterion, task``.
    parcels
        ``parcel_id, name, owner, status, geometry``: every candidate parcel.
    pads
        ``parcel_id, site_no, status, rank, score, easting, northing, rotation_deg,
        largest_scale, shape, geometry``: one row a placed parcel (ranked, not assessed, screened
        out: there the nearest miss); ``shape`` is empty for the one looked for first.
    alternatives
        ``parcel_id, easting, northing, rotation_deg, score, geometry``.
    ghosts
        ``parcel_id, scale, geometry``: the needed pad at full size where the largest one would
        lie, for parcels on which it does not fit.
    low_spots
        ``low_spot, standing, depth_m, area_m2, volume_m3, probability, depth_low_m, depth_high_m,
        catchment_m2, spill_easting, spill_northing, soaked_away_h, geometry``; standing is
        ``credible``, ``field check`` or ``cannot be told`` (a window, without figures); from the
        probability on missing where the ground was not looked at closer.
    evidence
        Lines and shapes to draw: ``parcel_id, criterion, label, geometry``. A step-free way has
        the height at which it would be built as its third coordinate, m.
    contours
        ``CONTOUR_COLUMNS`` round the foremost pads; empty without elevation.
    base_map
        Kind of layer to simplified shapes, for drawing: ``streets`` as polygons with ``class`` and
        ``name``, ``street_lines``, ``districts``, ``paths``, ``water``, ``buildings``, ``trees``, ``lots``,
        ``restrooms``, ``parking``, ``picnic``, ``fences``, ``easements``, ``playgrounds`` where the
        study has them; and ``walks``, as `playsite.proximity.thinned` joins the ways on foot.
    frames
        ``parcel_id, shape, concept, easting, northing, rotation_deg``: where each concept layout
        of ``pad.shapes`` lies at each pad; empty where the program has none.
    rooms
        ``parcel_id, direction, distance_m, limit, geometry``: what lies beyond each side of the
        best pads.
    relaxations
        ``parcel_id, kind, rule, source, limit_m, fits_at_m, change_m``: which one change would
        let the pad fit; least first. Kind is ``margin``, ``gone`` or ``parcel``.
    earthwork
        What levelling the foremost pads would move, a row a part of a pad: columns of
        `playsite.study.earthworks`, and the outline of pad and banks.
    water
        What two storms bring to the same pads and where it goes, a row a pad: columns of
        `playsite.study.storms`, and the way of the water that leaves as a line.
    firm
        How firm the ranking is: shares of weightings, near-ties, where the lead changes.
    members
        Weights of each member of the working group, a row a member, a column a criterion, adding
        up to 1; empty where the weights are one set.
    shade
        Of the foremost pads by hour, columns ``SHADE_COLUMNS`` as `playsite.study.shades` tells
        them, and the shade round the pad.
    need
        Who would gain at the foremost pads, by a better playground of today, and if nothing is
        done: columns ``NEED_COLUMNS`` as `playsite.study.needs` tells them.
    homes
        ``HOME_COLUMNS``, the homes round each of the foremost pads: ``today`` and ``then``, with a
        playground there, are 2 where all children have one within their walk, 1 where the older
        alone have, 0 where none.
    sections
        ``SECTION_COLUMNS``: a section through each part of them along its finished fall; distance
        from its middle, negative on the upper side; the finish is missing where the ground stays.
    grading
        ``GRADING_COLUMNS``: areas that are cut and filled, banks included, and lines of walls.
    arrows
        ``ARROW_COLUMNS``: the way that water runs round the same pads, as lines downhill.
    grade_areas
        ``GRADE_AREA_COLUMNS``: lots of the same pads by the grade of the ground under a window as
        large as the pad, as `playsite.study.grade_areas` tells them.
    ballots
        What residents said, where the study names ballots: beside the score, never in it.
    beside, fits_beside
        Programs beside the study's own, by name; index ``parcel_id``, a column a program:
        whether it fits.
    findings
        What was noticed at the gate.
    layers
        ``kind, path, layer, date, features, sha256, credit``.
    costs
        What it would cost, site by site, beside the scores and never in them; None where the
        study says nothing of money.
    plan
        Charter, funding and calendar held against each ranked site; None where the study has
        none of them.
    visits
        Every row of the log of visits, ``VISIT_COLUMNS``: ``value`` and ``map_value`` in ``unit``;
        ``standing`` is ``counts``, or says why it doesn't.
    desk
        What the maps alone say; None where no visit counts.
    run
        What ``run.json`` holds.
    notebook
        How a notebook shows the result: reports stand above this module, so it is handed in.
    """

    study: Study
    pad: RequiredPad
    criteria: tuple[Chosen, ...]
    sites: pd.DataFrame
    measurements: pd.DataFrame
    ledger: pd.DataFrame
    misses: pd.DataFrame
    conditions: pd.DataFrame
    unknowns: pd.DataFrame
    parcels: gpd.GeoDataFrame
    pads: gpd.GeoDataFrame
    alternatives: gpd.GeoDataFrame
    ghosts: gpd.GeoDataFrame
    low_spots: gpd.GeoDataFrame
    evidence: gpd.GeoDataFrame
    contours: gpd.GeoDataFrame
    base_map: Mapping[str, gpd.GeoDataFrame]
    findings: tuple[Finding, ...]
    layers: pd.DataFrame
    frames: pd.DataFrame = field(default_factory=lambda: _nothing(FRAME_COLUMNS))
    rooms: gpd.GeoDataFrame = field(default_factory=lambda: _nothing(ROOM_COLUMNS))
    relaxations: pd.DataFrame = field(default_factory=lambda: _nothing(RELAXATION_COLUMNS))
    earthwork: gpd.GeoDataFrame = field(default_factory=lambda: _nothing(("parcel_id", "geometry")))
    water: gpd.GeoDataFrame = field(default_factory=lambda: _nothing(("parcel_id", "geometry")))
    firm: Firm = field(default_factory=Firm)
    ballots: Ballots | None = None
    members: pd.DataFrame = field(default_factory=pd.DataFrame)
    shade: gpd.GeoDataFrame = field(default_factory=lambda: _nothing((*SHADE_COLUMNS, "geometry")))
    need: pd.DataFrame = field(default_factory=lambda: _nothing(NEED_COLUMNS))
    homes: pd.DataFrame = field(default_factory=lambda: _nothing(HOME_COLUMNS))
    taken: gpd.GeoDataFrame = field(default_factory=lambda: _nothing(TAKEN_COLUMNS))
    sections: pd.DataFrame = field(default_factory=lambda: _nothing(SECTION_COLUMNS))
    grading: gpd.GeoDataFrame = field(default_factory=lambda: _nothing(GRADING_COLUMNS))
    arrows: gpd.GeoDataFrame = field(default_factory=lambda: _nothing(ARROW_COLUMNS))
    grade_areas: gpd.GeoDataFrame = field(default_factory=lambda: _nothing(GRADE_AREA_COLUMNS))
    beside: Mapping[str, RequiredPad] = field(default_factory=dict)
    fits_beside: pd.DataFrame = field(default_factory=pd.DataFrame)
    costs: Costs | None = None
    plan: Plan | None = None
    visits: pd.DataFrame = field(default_factory=lambda: _nothing(VISIT_COLUMNS))
    desk: Desk | None = None
    run: Mapping[str, Any] = field(default_factory=dict)
    notebook: Callable[[Result], str] | None = None

    @property
    def ranked(self) -> pd.DataFrame:
        """Ranked sites, best first."""
        return self.sites[self.sites["status"] == "ranked"]

    @property
    def spoken(self) -> dict[str, Spoken]:
        """Words that each criterion has for its values, by its name."""
        return {chosen.name: chosen.criterion.spoken for chosen in self.criteria}

    @property
    def shows_order(self) -> bool:
        """Whether map and memo may print an order: with fewer than 4 ranked they compare only."""
        return len(self.ranked) >= 4

    def _repr_html_(self) -> str | None:
        """Show the map in a notebook, where the run was asked for from Python."""
        return self.notebook(self) if self.notebook else None
