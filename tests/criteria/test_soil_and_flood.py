"""Soil, flood, wetland and what lies below: at the pad, with what is unknown kept unknown."""

from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from made_up_study import box, write_study

from playsite.criteria._contract import measured
from playsite.criteria._overlay import extent_of, pieces, reach_m, share_pct
from playsite.criteria.below import CRITERION as BELOW
from playsite.criteria.flood import CRITERION as FLOOD
from playsite.criteria.soil import CRITERION as SOIL
from playsite.criteria.soil import ratings, soil_of
from playsite.criteria.wetland import CRITERION as WETLAND
from playsite.layers import KINDS
from playsite.study import run
from playsite.testing import check_criterion, made_up_pads

CRS = "EPSG:26918"
PAD = box(100, 100, 31.7, 22.7)
TOWN = [box(-400, -400, 1200, 1200)]
WEST, SOUTH = 500_000.0, 4_500_000.0  # of the pads that the testing module makes up
ALL = (SOIL, FLOOD, WETLAND, BELOW)


def part(west, south, width, height):
    """Rectangle by metres from the corner of the first made-up pad, which is 32 by 22 m."""
    return shapely.box(WEST + west, SOUTH + south, WEST + west + width, SOUTH + south + height)


def frame(kind, shapes, /, **columns):
    """Features of a kind with all its columns, as the gate gives them."""
    table = {column.column: [None] * len(shapes) for column in KINDS[kind].columns}
    for column in KINDS[kind].columns:
        if column.type == "number":
            table[column.column] = [np.nan] * len(shapes)
        if column.type == "flag":
            table[column.column] = pd.array([None] * len(shapes), dtype="boolean")
    rows = gpd.GeoDataFrame(table | columns, geometry=list(shapes), crs=CRS)
    return KINDS[kind].settle(rows, [])


def site(**layers):
    return SimpleNamespace(has=lambda kind: kind in layers, layer=layers.__getitem__)


def first(criterion, pads=None, **layers):
    """What a criterion gives of the first pad: value, low, high, note and what screens read."""
    got = measured(criterion, made_up_pads() if pads is None else pads, site(**layers))
    also = {name: series.iloc[0] for name, series in got.also.items()}
    return SimpleNamespace(
        value=got.value.iloc[0],
        low=got.low.iloc[0],
        high=got.high.iloc[0],
        note=got.note.iloc[0],
        evidence=got.evidence,
        **also,
    )


@pytest.fixture
def told(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))

    def ranked(name, layers=None, more=""):
        study = f'criteria = ["fit", "{name}"]'
        file = write_study(tmp_path / "town", {"A": PAD}, layers=layers, study=study, more=more)
        result = run(file)
        return result, result.measurements.set_index("criterion").loc[name], result.sites.iloc[0]

    return ranked


class TestOverlay:
    def test_shares_are_areas_and_overlaps_count_once(self):
        pads = made_up_pads(2)
        shapes = gpd.GeoSeries([part(0, 0, 8, 22), part(4, 0, 8, 22), part(-5, -5, 3, 3)], crs=CRS)
        assert share_pct(pads, pieces(pads, shapes)).tolist() == [pytest.approx(100 * 12 / 32), 0.0]
        found = pieces(pads, shapes)
        assert found["feature"].tolist() == [0, 1]
        assert found["area_m2"].tolist() == pytest.approx([176, 176])

    def test_a_shape_that_only_touches_has_no_share(self):
        touching = gpd.GeoSeries([part(32, 0, 5, 22), part(-5, 0, 5, 22)], crs=CRS)
        pads = made_up_pads(1)
        assert share_pct(pads, pieces(pads, touching)).tolist() == [0.0]

    def test_shares_agree_with_the_overlay_of_geopandas(self):
        rng = np.random.default_rng(5)
        x, y = rng.uniform(-20, 240, 60), rng.uniform(-10, 20, 60)
        shapes = gpd.GeoSeries(
            [shapely.Point(WEST + a, SOUTH + b).buffer(rng.uniform(2, 30)) for a, b in zip(x, y, strict=True)],
            crs=CRS,
        )  # fmt: skip
        pads = made_up_pads(4)
        own = gpd.GeoDataFrame({"pad": pads.index}, geometry=pads.geometry.to_numpy(), crs=CRS)
        land = gpd.GeoDataFrame(geometry=[shapes.union_all()], crs=CRS)
        due = gpd.overlay(own, land).set_index("pad").area / pads.area * 100
        assert share_pct(pads, pieces(pads, shapes)).to_numpy() == pytest.approx(
            due.reindex(pads.index), abs=1e-5
        )

    def test_an_extent_is_what_was_searched_else_the_box_of_the_features(self):
        layer = frame("wetlands", [part(-50, -50, 10, 10), part(80, 60, 10, 10)])
        assert extent_of(layer).area.tolist() == [pytest.approx(140 * 120)]
        looked = pd.Series([False, True])
        assert extent_of(layer, looked).area.tolist() == [pytest.approx(100)]
        assert reach_m(made_up_pads(2), extent_of(layer)).tolist() == pytest.approx(
            [48, np.nan], nan_ok=True
        )
        assert reach_m(made_up_pads(1), extent_of(layer.iloc[:0])).isna().all()


@pytest.mark.parametrize("criterion", ALL)
def test_each_criterion_keeps_its_contract(criterion):
    shapes = [part(-100, -100, 130, 200), part(30, -100, 300, 200), part(50, 0, 10, 10)]
    layers = {
        "soils": frame("soils", shapes, group=["A", "B/D", "C"], name=["one", "two", "three"]),
        "flood_zones": frame("flood_zones", shapes, **{"class": ["outside", "0.2 percent", "floodway"]}),
        "wetlands": frame("wetlands", shapes, searched=pd.array([True, True, None], dtype="boolean")),
        "below": frame("below", shapes, level=[1.0, np.nan, 3.0], kind=["other", "fill", "tank"]),
    }  # fmt: skip
    check_criterion(criterion, pads=made_up_pads(), site=site(**layers))


@pytest.mark.parametrize("criterion", ALL)
def test_a_layer_that_holds_nothing_near_says_nothing(criterion):
    kind = criterion.needs[0]
    got = first(criterion, **{kind: frame(kind, [])})
    assert np.isnan(got.value)
    assert "unknown" in got.note


@pytest.mark.parametrize("criterion", ALL)
def test_a_layer_that_ends_before_the_pad_says_nothing_of_it(criterion):
    kind = criterion.needs[0]
    got = first(criterion, **{kind: frame(kind, [part(-90, -50, 40, 100)])})
    assert np.isnan(got.value)
    assert "reach" in got.note or "tell" in got.note


class TestSoil:
    # Job knots: A or B with water below 75 cm 1; C, or water at 45 to 75 cm, 0.5; D, water above
    # 45 cm, frequent flooding or ponding 0 (1.5 and 2.5 ft: NRCS classes, from memory).
    @pytest.mark.parametrize(
        ("columns", "low", "high"),
        [
            ({"group": "A", "water_table_m": 1.8}, 1, 1),
            ({"group": "B", "water_table_m": 0.76}, 1, 1),
            ({"group": "B", "water_table_m": 0.6}, 0.5, 0.5),
            ({"group": "B", "water_table_m": 0.44}, 0, 0),
            ({"group": "B", "water_table_m": 0.0}, 0, 0),
            ({"group": "C", "water_table_m": 1.8}, 0.5, 0.5),
            ({"group": "D", "water_table_m": 1.8}, 0, 0),
            ({"group": "B/D", "water_table_m": 1.8}, 0, 0),
            ({"group": "A", "flooding": "frequent", "water_table_m": 2.0}, 0, 0),
            ({"group": "A", "flooding": "occasional", "water_table_m": 2.0}, 1, 1),
            ({"group": "A", "ponding": "frequent", "water_table_m": 2.0}, 0, 0),
            ({"group": "A", "pondfreqprs": "20", "water_table_m": 2.0}, 0, 1),
            ({"group": "A", "pondfreqprs": "10", "water_table_m": 2.0}, 1, 1),
            ({"group": "B"}, 0.5, 1),
            ({"group": "B", "drainage": "Well drained"}, 1, 1),
            ({"group": "C"}, 0.5, 0.5),
            ({"group": "C", "drainage": "Poorly drained"}, 0, 0),
            ({"water_table_m": 0.3}, 0, 0),
            ({"water_table_m": 0.6}, 0, 0.5),
        ],
    )
    def test_rating_of_one_soil(self, columns, low, high):
        rows = frame("soils", [part(0, 0, 9, 9)], **{name: [v] for name, v in columns.items()})
        assert ratings(rows).iloc[0].tolist() == [low, high, True]

    @pytest.mark.parametrize(
        "columns", [{}, {"water_table_m": 2.0}, {"group": "A", "name": "Urban land", "water_table_m": 2}]
    )  # fmt: skip
    def test_what_the_survey_does_not_say_is_unknown(self, columns):
        rows = frame("soils", [part(0, 0, 90, 90)], **{name: [v] for name, v in columns.items()})
        assert ratings(rows).iloc[0].tolist() == [0, 1, False]
        assert np.isnan(first(SOIL, soils=rows).value)

    def test_two_units_count_by_area(self):
        shapes = [part(-100, -100, 108, 200), part(8, -100, 400, 200)]
        soils = frame(
            "soils", shapes, group=["A", "C"], water_table_m=[2.0, 2.0], name=["Ada", "Cole"]
        )
        got = first(SOIL, soils=soils)
        assert got.value == pytest.approx(0.25 * 1 + 0.75 * 0.5)
        assert (got.low, got.high) == (0.5, 1.0)
        assert got.note.startswith("75 % Cole (group C, water at 200 cm); 25 % Ada")
        assert "larger than a play area" in got.note

    @pytest.mark.parametrize(("percent", "low"), [(15, 0.0), (14, 0.5)])
    def test_the_worst_component_of_fifteen_percent_is_the_low_end(self, percent, low):
        soils = frame(
            "soils",
            [part(-50, -50, 500, 500)] * 2,
            group=["C", "D"],
            share_pct=[100.0 - percent, float(percent)],
            water_table_m=[2.0, 2.0],
        )
        got = soil_of(made_up_pads(1), soils).iloc[0]
        assert got["rating"] == pytest.approx(0.5 * (100 - percent) / 100)
        assert got["low"] == pytest.approx(min(low, got["rating"]))

    @pytest.mark.parametrize(("known", "is_known"), [(20, True), (12, False)])
    def test_more_than_half_must_be_known_and_the_rest_opens_the_interval(self, known, is_known):
        shapes = [part(-50, -50, 50 + known, 500), part(known, -50, 500, 500)]
        soils = frame("soils", shapes, group=["A", None], water_table_m=[2.0, np.nan])
        got = first(SOIL, soils=soils)
        assert np.isfinite(got.value) is np.bool_(is_known)
        assert f"of {100 - 100 * known / 32:.0f} % of it the soil is not known" in got.note
        if is_known:
            assert (got.value, got.low, got.high) == (1, 0, 1)

    def test_two_surveys_over_each_other_are_no_more_than_the_whole(self):
        soils = frame("soils", [part(-50, -50, 500, 500)] * 1 + [part(-60, -60, 500, 500)],
                      group=["A", "C"], water_table_m=[2.0, 2.0])  # fmt: skip
        got = soil_of(made_up_pads(1), soils).iloc[0]
        assert (got["rating"], got["known"]) == (0.75, 1.0)

    def test_what_is_against_it_is_told(self):
        soils = frame(
            "soils",
            [part(-50, -50, 500, 500)],
            hydgrpdcd=["B/D"],
            wtdepannmin=["30"],
            brockdepmin=["40"],
            pondfreqprs=["25"],
            flodfreqdcd=["occasional"],
            stones_pct=[40.0],
            musym=["BdA"],
        )
        note = first(SOIL, soils=soils).note
        for due in (
            "soil unit BdA",
            "B/D, taken as D",
            "water at 30 cm",
            "occasional flooding",
            "stands on 25 % of the unit",
            "rock at 40 cm",
            "40 % stones",
        ):
            assert due in note

    def test_in_a_study(self, told):
        soils = {"soils": (TOWN, {"hydgrpdcd": ["C"], "musym": ["CoB"], "wtdepannmin": [61]})}
        _, own, site = told("soil", soils)
        assert (own["value"], own["score"], site["status"]) == (0.5, 0.5, "ranked")
        assert "soil unit CoB" in own["note"]


class TestFlood:
    def zones(self, *classes, shapes=None):
        shapes = shapes or [part(0, 0, 8, 22), part(-200, -200, 700, 700)]
        return frame("flood_zones", shapes, **{"class": list(classes)})

    def test_shares_are_cumulative_from_the_worst(self):
        shapes = [
            part(0, 0, 4, 22),
            part(0, 0, 8, 22),
            part(0, 0, 16, 22),
            part(-200, -200, 700, 700),
        ]
        zones = self.zones("floodway", "1 percent", "0.2 percent", "outside", shapes=shapes)
        got = first(FLOOD, flood_zones=zones)
        assert (got.value, got.one_pct, got.floodway_pct) == (50, 25, 12.5)
        assert (
            got.note
            == "12 % in the floodway, 12 % in the 1 percent zone, 25 % in the 0.2 percent zone"
        )

    def test_a_floodway_inside_its_zone_counts_once(self):
        zones = self.zones("floodway", "1 percent")
        got = first(FLOOD, flood_zones=zones)
        assert (got.value, got.floodway_pct) == (100, 25)

    def test_outside_all_zones_is_no_proof(self):
        got = first(FLOOD, flood_zones=self.zones("outside", "outside"))
        assert got.value == 0
        assert "mostly have no zone" in got.note

    @pytest.mark.parametrize("kind", ["not studied", "beyond 1 percent"])
    def test_land_of_which_the_map_tells_too_little_is_unknown(self, kind):
        shapes = [part(0, 0, 8, 22), part(8, -200, 700, 700), part(-200, -200, 700, 200)]
        zones = self.zones("1 percent", kind, "outside", shapes=shapes)
        got = first(FLOOD, flood_zones=zones)
        assert np.isnan(got.value)
        assert got.one_pct == 25  # what is mapped screens all the same
        assert "75 % of it the flood map doesn't tell" in got.note

    def test_zones_alone_speak_for_the_box_round_them(self):
        shapes = [part(-60, -60, 20, 20), part(50, 60, 20, 20)]
        zones = self.zones("1 percent", "0.2 percent", shapes=shapes)
        pads = made_up_pads(2)
        got = measured(FLOOD, pads, site(flood_zones=zones)).value
        assert got.tolist() == pytest.approx([0, np.nan], nan_ok=True)

    @pytest.mark.parametrize(
        ("kind", "status", "rule"),
        [
            ("floodway", "screened out", "floodway"),
            ("1 percent", "screened out", "1 percent"),
            ("0.2 percent", "ranked", ""),
        ],
    )
    def test_in_a_study_floodway_and_one_percent_are_out(self, told, kind, status, rule):
        shapes = [box(90, 90, 20, 60), *TOWN]
        _, own, site = told("flood", {"flood_zones": (shapes, {"class": [kind, "outside"]})})
        assert site["status"] == status
        assert rule in site["reason"]
        assert own["value"] == pytest.approx(100 * 10 / 31.7, abs=0.5)
        assert f"% in the {kind}" in own["note"]

    def test_a_study_may_allow_the_one_percent_zone_with_a_permit(self, told):
        layer = {"flood_zones": ([box(90, 90, 20, 60), *TOWN], {"class": ["1 percent", "outside"]})}
        _, _, site = told("flood", layer, '[criteria.flood]\nscreen = "100 %"\n')
        assert site["status"] == "ranked"
        assert "only with a floodplain permit" in site["conditions"]

    def test_the_floodway_stays_out_whatever_a_study_allows(self, told):
        layer = {"flood_zones": ([box(90, 90, 20, 60), *TOWN], {"class": ["floodway", "outside"]})}
        _, _, site = told("flood", layer, '[criteria.flood]\nscreen = "100 %"\n')
        assert site["status"] == "screened out"
        assert "in the floodway" in site["reason"]


class TestWetland:
    def test_distance_and_where_the_extent_ends(self):
        wet = frame("wetlands", [part(-40, 0, 10, 22), part(20, 60, 30, 5)], name=["Fen", None])
        got = first(WETLAND, wetlands=wet)
        assert (got.value, got.low) == (30, 0)  # the features' box ends at the pad's lower edge
        wet = frame("wetlands", [part(-40, -20, 10, 40), part(20, 60, 30, 5)], name=["Fen", None])
        got = first(WETLAND, wetlands=wet)
        assert (got.value, got.low, got.high) == (30, 18, 30)
        assert got.note.startswith("Fen: 30 m")

    def test_land_that_was_searched_and_holds_none(self):
        looked = pd.array([True], dtype="boolean")
        got = first(
            WETLAND, wetlands=frame("wetlands", [part(-50, -50, 500, 500)], searched=looked)
        )
        assert (got.value, got.low) == (np.inf, 50)
        assert "none is mapped near" in got.note

    @pytest.mark.parametrize(
        ("gap_m", "more", "status"),
        [
            (14.9, "", "screened out"),
            (15.2, "", "ranked"),
            (15.2, '[criteria.wetland]\nscreen = "30 m"\n', "screened out"),
            (14.9, '[criteria.wetland]\nscreen = "10 m"\n', "ranked"),
        ],
    )
    def test_the_buffer_is_fifteen_metres_or_the_studys_own(self, told, gap_m, more, status):
        shapes = [box(100, 100 - gap_m - 30, 31.7, 30), *TOWN]
        layer = {"wetlands": (shapes, {"searched": [False, True], "name": ["Fen", "inventory"]})}
        _, _, site = told("wetland", layer, more)
        assert site["status"] == status

    def test_a_wetland_near_the_edge_of_what_is_mapped_screens_all_the_same(self, told):
        layer = {"wetlands": ([box(100, 60, 31.7, 30)], {"name": ["Fen"]})}
        _, own, site = told("wetland", layer)
        assert np.isnan(own["value"])
        assert site["status"] == "screened out"

    @pytest.mark.parametrize(("percent", "flagged"), [(60, True), (40, False)])
    def test_mostly_hydric_soil_asks_for_a_determination(self, percent, flagged):
        soils = frame("soils", [part(-50, -50, 500, 500)], hydclprs=[str(percent)])
        wet = frame("wetlands", [part(-50, -50, 500, 10)])
        note = first(WETLAND, wetlands=wet, soils=soils).note
        assert ("wetland determination" in note) is flagged


class TestBelow:
    looked = part(-100, -100, 900, 900)

    def finds(self, shape, kind, /, **columns):
        shapes = [self.looked] + ([shape] if shape is not None else [])
        searched = [True] + [None] * (len(shapes) - 1)
        return frame(
            "below",
            shapes,
            kind=[None, kind][: len(shapes)],
            name=["insurance maps 1911, state lists", None][: len(shapes)],
            searched=pd.array(searched, dtype="boolean"),
            **{name: [None, value] for name, value in columns.items()},
        )

    @pytest.mark.parametrize(
        ("shape", "kind", "columns", "level"),
        [
            (None, None, {}, 0),
            (part(10, 5, 8, 8), "demolished building", {}, 2),
            (part(-12, 5, 8, 8), "demolished building", {}, 1),  # 4 m beside it
            (part(-14, 5, 8, 8), "demolished building", {}, 0),  # 6 m off
            (part(10, 5, 8, 8), "change", {}, 1),
            (part(-12, 5, 8, 8), "listed site", {}, 3),
            (part(10, 5, 8, 8), "listed site", {"cleared": True}, 1),
            (part(10, 5, 8, 8), "filled pond", {"level": 3.0}, 3),
        ],
    )
    def test_level_at_the_pad_and_five_metres(self, shape, kind, columns, level):
        if "cleared" in columns:
            columns = {"cleared": True}
        got = first(BELOW, below=self.finds(shape, kind, **columns))
        assert (got.value, got.level) == (level, level)
        assert "searched: insurance maps 1911, state lists" in got.note
        assert (kind or "none found") in got.note or level == 0

    def test_what_is_found_at_the_edge_of_what_was_searched_is_the_least(self):
        got = first(BELOW, below=frame("below", [part(0, 0, 5, 5)], kind=["fill"]))
        assert (got.value, got.high) == (2, 3)
        assert "which sources were searched is not said" in got.note

    def test_made_land_of_the_soil_survey_is_weak_evidence(self):
        soils = frame("soils", [part(-50, -50, 500, 500)], name=["Urban land"])
        got = first(BELOW, below=self.finds(None, None), soils=soils)
        assert got.value == 1
        assert "made or covered land" in got.note

    def test_evidence_is_drawn_to_what_governs(self):
        got = first(BELOW, below=self.finds(part(10, 5, 8, 8), "filled pond"))
        assert got.evidence["label"].tolist()[0] == "filled pond"
        assert got.evidence["label"].tolist()[1:] == ["", "", ""]

    @pytest.mark.parametrize(
        ("cleared", "more", "status"),
        [
            ([False, False], "", "screened out"),
            ([True, False], "", "ranked"),
            ([False, False], "[criteria.below]\nscreen = 3\n", "ranked"),
        ],
    )
    def test_in_a_study_a_listed_site_is_out_until_cleared(self, told, cleared, more, status):
        columns = {"kind": ["listed site", None], "cleared": cleared, "searched": [False, True]}
        _, _, site = told("below", {"below": ([box(90, 90, 20, 20), *TOWN], columns)}, more)
        assert site["status"] == status


def test_a_study_without_these_layers_keeps_its_order_and_knows_less(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))
    parcels = {"A": box(50, 50, 80, 60), "B": box(200, 200, 40, 30)}
    old = run(write_study(tmp_path / "old", parcels, study='criteria = ["fit"]'))
    with_new = ["fit", *(criterion.name for criterion in ALL)]
    new = run(
        write_study(tmp_path / "new", parcels, study=f'criteria = {with_new}\nleast_known = "30 %"')
    )
    assert new.sites["parcel_id"].tolist() == old.sites["parcel_id"].tolist()
    assert new.sites["rank"].tolist() == old.sites["rank"].tolist()
    assert (new.sites["score_high"] - new.sites["score_low"]).tolist() == pytest.approx(
        [9 / 13] * 2
    )
    tasks = new.unknowns[new.unknowns["parcel_id"] == "A"]["criterion"]
    assert set(tasks) == {criterion.name for criterion in ALL}
