"""Layers of soils, flood zones, wetlands and what lies below: their words, and the survey's columns."""

import numpy as np
import pytest
from shapely.geometry import Point, box

from playsite.layers.flood_zones import zone_class

EAST, NORTH = 500_000.0, 4_500_000.0


def square(step=0):
    return box(EAST + 20 * step, NORTH, EAST + 20 * step + 20, NORTH + 20)


@pytest.fixture
def layer(study):
    def read(kind, shapes, more="", /, **columns):
        study.parcels()
        study.features("x.gpkg", shapes, **columns)
        got = study.read(f'[layers.{kind}]\npath = "x.gpkg"\n{more}')
        assert not got.problems
        return got, got.layers.get(kind)

    return read


class TestSoils:
    def test_the_surveys_own_columns_need_no_mapping(self, layer):
        # Names as in the table "muaggatt" of the U.S. survey; depths in cm.
        _, soils = layer(
            "soils",
            [square()],
            musym=["LoB"],
            muname=["Loring silt loam, 2 to 5 percent slopes"],
            hydgrpdcd=["C/D"],
            wtdepannmin=[0],
            brockdepmin=[64],
            flodfreqdcd=["Rare"],
            pondfreqprs=["15"],
            drclassdcd=["Somewhat poorly drained"],
            hydclprs=[60],
        )
        row = soils.iloc[0]
        assert (row["unit"], row["group"], row["flooding"]) == ("LoB", "C/D", "rare")
        assert row["water_table_m"] == 0  # water at the surface is no missing depth
        assert row["rock_m"] == pytest.approx(0.64)
        assert (row["ponded_pct"], row["hydric_pct"], row["part"]) == (15, 60, 1)
        assert not row["is_made"]

    def test_ours_come_before_the_surveys_and_feet_are_lengths(self, layer):
        _, soils = layer(
            "soils", [square()], group=["B"], hydgrpdcd=["D"], water_table_ft=[2.5], wtdepannmin=[9]
        )
        assert soils["group"].tolist() == ["B"]
        assert soils["water_table_m"].tolist() == [pytest.approx(0.762)]

    def test_components_of_one_shape_part_it(self, layer):
        _, soils = layer(
            "soils",
            [square()] * 3 + [square(1)] * 2 + [square(2), square(3)],
            compname=["Loring", "Memphis", "Adler", "Loring", "Memphis", "Loring", "Loring"],
            comppct_r=[60, 30, None, 80, 40, 85, None],
            hydgrp=["C", "B", "C", "C", "B", "C", "C"],
        )
        assert soils["part"].tolist() == pytest.approx([0.6, 0.3, 0.1, 2 / 3, 1 / 3, 0.85, 1])

    def test_a_table_of_layers_of_soil_repeats_its_unit_and_counts_once(self, layer):
        _, soils = layer(
            "soils", [square()] * 4 + [square(1)], hydgrp=["B"] * 5, hzdept_r=[0, 5, 15, 30, 0]
        )
        assert soils["part"].tolist() == [1, 1]

    @pytest.mark.parametrize(
        ("name", "made"),
        [
            ("Urban land", True),
            ("Urban land-Loring complex, 2 to 5 percent slopes", True),
            ("Made land", True),
            ("Udorthents, smoothed", True),
            ("Pits, gravel", True),
            ("Loring silt loam", False),
            ("Pitsford loam", False),
        ],
    )
    def test_land_that_people_made_is_told(self, layer, name, made):
        got, soils = layer("soils", [square(), square(1)], muname=[name, "x"], hydgrpdcd=["B", "B"])
        assert soils["is_made"].tolist() == [made, False]
        assert bool(got.found("people made or covered", "1 of 2")) is made

    def test_a_component_speaks_for_itself_in_a_complex_with_urban_land(self, layer):
        _, soils = layer(
            "soils",
            [square()] * 2,
            muname=["Urban land-Loring complex"] * 2,
            compname=["Urban land", "Loring"],
            comppct_r=[60, 40],
        )
        assert soils["is_made"].tolist() == [True, False]

    def test_words_and_numbers_that_cannot_be_are_told_and_missing(self, layer):
        got, soils = layer(
            "soils",
            [square(), square(1)],
            hydgrpdcd=["E", None],
            wtdepannmin=["-99", "deep"],
            comppct_r=[250, 40],
        )
        assert soils["group"].isna().all()
        assert soils["water_table_m"].isna().all()
        assert got.found("caution", "hydgrpdcd", "not known here: 1")
        assert got.found("without a hydrologic group: 2 of 2")
        assert got.found("comppct_r", "can't be")

    def test_a_layer_that_holds_nothing_near_is_a_layer_all_the_same(self, layer):
        got, soils = layer("soils", [box(0, 4e6, 10, 4e6 + 10)], hydgrpdcd=["A"])
        assert len(soils) == 0
        assert got.found("caution", "holds nothing near the parcels")


class TestFloodZones:
    # FLD_ZONE and ZONE_SUBTY as the national flood hazard layer writes them; "AE" with "FLOODWAY"
    # and X with "0.2 PCT ..." were seen in a city's copy of it, other subtypes are from memory.
    @pytest.mark.parametrize(
        ("zone", "subtype", "due"),
        [
            ("AE", "FLOODWAY", "floodway"),
            ("AE", "COMMUNITY ENCROACHMENT", "floodway"),
            ("AE", "", "1 percent"),
            ("A", "", "1 percent"),
            ("ao", "", "1 percent"),
            ("A12", "", "1 percent"),
            ("VE", "RIVERINE FLOODWAY IN COMBINED RIVERINE AND COASTAL ZONE", "floodway"),
            ("X", "0.2 PCT ANNUAL CHANCE FLOOD HAZARD", "0.2 percent"),
            ("X", "1 PCT DEPTH LESS THAN 1 FOOT", "0.2 percent"),
            ("X", "AREA WITH REDUCED FLOOD RISK DUE TO LEVEE", "0.2 percent"),
            ("X", "AREA OF MINIMAL FLOOD HAZARD", "outside"),
            ("X", "", "beyond 1 percent"),
            ("D", "", "not studied"),
            ("AREA NOT INCLUDED", "", "not studied"),
            ("Q", "", None),
            ("", "", None),
        ],
    )
    def test_zones_of_the_public_maps(self, zone, subtype, due):
        assert zone_class(zone, subtype) == due

    def test_zone_and_subtype_make_the_class_and_the_studys_word_comes_first(self, layer):
        _, zones = layer(
            "flood_zones",
            [square(step) for step in range(4)],
            FLD_ZONE=["AE", "AE", "X", "X"],
            ZONE_SUBTY=["FLOODWAY", None, "0.2 PCT ANNUAL CHANCE FLOOD HAZARD", None],
            **{"class": [None, None, None, "x unshaded"]},
        )
        assert zones["class"].tolist() == ["floodway", "1 percent", "0.2 percent", "outside"]

    def test_a_file_of_one_class_is_named_by_the_study(self, layer):
        _, zones = layer("flood_zones", [square()], 'set.class = "1 percent"\n', id=[1])
        assert zones["class"].tolist() == ["1 percent"]

    def test_a_zone_that_nobody_knows_is_not_studied_and_told(self, layer):
        got, zones = layer("flood_zones", [square(), square(1)], fld_zone=["Q7", "A"])
        assert zones["class"].tolist() == ["not studied", "1 percent"]
        assert got.found("caution", "class is not known: 1 of 2", "Q7")


def test_wetlands_have_names_and_upland_is_none(layer):
    got, wet = layer(
        "wetlands",
        [square(), square(1), square(2)],
        wetland_type=["Freshwater Emergent Wetland", "Upland", None],
        searched=[None, None, "yes"],
        name=[None, None, "state inventory"],
    )
    assert wet["name"].tolist() == ["Freshwater Emergent Wetland", "state inventory"]
    assert wet["searched"].tolist() == [False, True]
    assert got.found("called upland: 1 of 3")


def test_levels_of_evidence_are_the_files_else_the_kinds(layer):
    got, finds = layer(
        "below",
        [square(), square(1), Point(EAST + 5, NORTH + 5), square(2), square(3), square(4)],
        kind=["foundation", "filled pond", "UST", "brownfield", "other", "rubble"],
        level=[None, 1, None, None, 2.4, 7],
        cleared=[None, None, None, "yes", None, None],
    )
    assert finds["level"].tolist() == [2, 1, 3, 1, 3, 1]
    assert finds["kind"].tolist()[-1] == "other"
    assert got.found("no whole number: 1 of 6")
    assert got.found("caution", "rubble")
    assert got.found('"level"', "can't be: 1")


def test_land_that_was_searched_is_no_evidence(layer):
    _, finds = layer("below", [square()], searched=["yes"], name=["insurance maps 1911"])
    assert finds["level"].tolist() == [0]
    assert np.array_equal(finds["searched"], [True])
