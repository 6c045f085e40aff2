"""The maps of the memo's body: what they show is what the tables hold, and gray print keeps it."""

import re
from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from report.made_up_result import CRS, made_up_result
from shapely import box

from playsite.report.ink import INK
from playsite.report.memo import LETTER
from playsite.report.memo.blocks import Figure, Table
from playsite.report.memo.drawn_map import Sheet
from playsite.report.memo.exclusions_map import _HATCHES, exclusions_map, rules_taken
from playsite.report.memo.land import land
from playsite.report.memo.reach_map import _AGES, reach_map
from playsite.report.memo.readings import Readings

SVG_WORDS = re.compile(rb"<!-- (.*?) -->")  # matplotlib writes each line of lettering as a comment


def with_land_taken(result, parts=2):
    """Strips and corners of each parcel, with a ledger of their areas."""
    rows, ledger = [], []
    for parcel, shape in zip(result.parcels["parcel_id"], result.parcels.geometry, strict=True):
        rules = {
            "setback from the parcel line": shape.difference(shape.buffer(-3)),
            "buildings and 6 m around them": shape.buffer(-3).intersection(
                box(*shape.centroid.coords[0], *shape.bounds[2:])
            ),
        }
        for rule, took in list(rules.items())[:parts]:
            rows.append((parcel, rule, took))
            ledger.append((parcel, rule, took.area, 3.0, "m", "the study"))
    columns = ["parcel_id", "rule", "removed_m2", "margin", "unit", "source"]
    return replace(
        result,
        taken=gpd.GeoDataFrame(rows, columns=["parcel_id", "rule", "geometry"], crs=CRS),
        ledger=pd.DataFrame(ledger, columns=columns),
    )


def lettering(figure):
    return [found.decode() for found in SVG_WORDS.findall(figure.drawn.svg)]


@pytest.fixture(scope="module")
def taken():
    return with_land_taken(made_up_result(12))


def test_the_key_of_the_exclusions_has_the_counts_and_areas_of_the_tables(taken):
    readings = Readings(taken)
    blocks = list(land(readings, LETTER))
    (figure,) = (block for block in blocks if isinstance(block, Figure))
    table = next(b for b in blocks if isinstance(b, Table) and b.title.startswith("Land taken"))
    words = lettering(figure)
    for rule, parcels, area, _ in table.rows:
        assert rule in words
        assert f"{parcels} parcels, {area}" in words
    for status, count in taken.sites["status"].value_counts().items():
        assert any(word.startswith(f"{count} ") for word in words), status
    assert all(f"{rule.lower()}" in figure.alt.lower() for rule, *_ in table.rows)
    assert figure.evidence == ("L",)


def test_each_parcel_that_is_left_out_is_labeled_with_its_reason(taken, monkeypatch):
    set_down = []

    def label(sheet, x, y, text, **look):
        set_down.append(text)
        return True

    monkeypatch.setattr(Sheet, "label", label)
    exclusions_map(Readings(taken), LETTER)
    numbers = {status: own["site_no"].tolist() for status, own in taken.sites.groupby("status")}
    assert all(f"{number} too tight" in set_down for number in numbers["does not fit"])
    assert all(f"? {number}" in set_down for number in numbers["not assessed"])
    assert all(str(number) in set_down for number in numbers["ranked"])
    reasons = [
        text.split(" ", 1)[1] for text in set_down if text.split(" ")[0].isdigit() and " " in text
    ]
    assert set(reasons) == {"too tight", *taken.misses.drop_duplicates("parcel_id")["short"]}
    set_down.clear()
    exclusions_map(Readings(with_land_taken(made_up_result(100, base_map=False))), LETTER)
    assert set_down == []  # a hundred labels would hide what they name


def test_rules_come_with_the_largest_area_first_on_map_and_in_table(taken):
    areas = [area_m2 for _, _, area_m2, _ in rules_taken(Readings(taken))]
    assert areas == sorted(areas, reverse=True)
    assert sum(areas) == pytest.approx(taken.ledger["removed_m2"].sum())


def test_a_town_of_a_thousand_parcels_stays_small():
    large = with_land_taken(made_up_result(1_000, base_map=False))
    figure = exclusions_map(Readings(large), LETTER)
    assert len(figure.drawn.svg) < 2_500_000
    assert figure.height_mm < LETTER.height_mm - 80


def test_where_no_shape_of_land_is_held_the_map_says_so(taken):
    figure = exclusions_map(Readings(replace(taken, taken=taken.taken.iloc[:0])), LETTER)
    assert "is not drawn" in figure.key


def test_hatches_and_fillings_are_told_apart_without_color():
    assert len(set(_HATCHES)) == len(_HATCHES)
    light = [sum(int(INK[name][at : at + 2], 16) for at in (1, 3, 5)) / 765 for name in _AGES]
    assert min(-np.diff(light)) > 0.2


def test_homes_that_are_many_become_squares_and_it_is_said():
    result = made_up_result(12)
    site = Readings(result).short_list[0]
    middle = result.pads.set_index("parcel_id").geometry[site["parcel_id"]].centroid
    rng = np.random.default_rng(1)
    count = 6_000
    homes = pd.DataFrame(
        {
            "parcel_id": site["parcel_id"],
            "easting": middle.x + rng.uniform(-800, 800, count),
            "northing": middle.y + rng.uniform(-800, 800, count),
            "today": rng.integers(0, 2, count),
            "then": 2,
        }
    )
    need = pd.DataFrame(
        [
            ("new playground", site["parcel_id"], "", "", 1200.0, 1034.0, 2100.0, 87.0),
            ("do nothing", "", "", "", 0.0, 0.0, 3134.0, np.nan),
        ],
        columns=["option", "parcel_id", "name", "district", "children", "newly_served",
                 "still_without", "plus_minus"],
    )  # fmt: skip
    figure = reach_map(Readings(replace(result, homes=homes, need=need)), LETTER)
    assert "1,034 ± 87 children" in figure.finding
    assert "3,134 today, 2,100 then" in figure.finding
    assert "each sign stands for those of a small square" in figure.key
    assert len(figure.drawn.svg) < 1_500_000
    assert reach_map(Readings(result), LETTER) is None
