"""Shade by hour of the foremost pads: from the run to the table and the page."""

import csv

import pytest
from made_up_study import box, point, write_study

from playsite import write_results
from playsite.report.web_map.shades import shades
from playsite.result import SHADE_COLUMNS
from playsite.study import run

PARCELS = {name: box(x, 100, 31.7, 22.7) for name, x in (("A", 60), ("B", 160), ("C", 260))}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("shades")


@pytest.fixture(scope="module")
def result(folder):
    stems = [point(155, y) for y in (100, 106, 112, 118, 124)]
    layers = {"trees": (stems, {"crown_m": [4.0] * 5, "height_m": [14.0] * 5})}
    file = write_study(folder / "town", PARCELS, layers=layers, study='criteria = ["shade", "fit"]')
    return run(file, fresh=True)


def of(result, name):
    return result.shade[result.shade["parcel_id"] == name].set_index(["month", "hour"])


def test_each_pad_has_six_suns_and_afternoon_shade_comes_from_the_west(result):
    assert len(result.shade) == 3 * 6
    of_b = of(result, "B")
    assert of_b.loc[(6, 16), "pad_pct"] > 20 > of_b.loc[(6, 10), "pad_pct"] == 0
    assert of_b.loc[(9, 16), "pad_pct"] > of_b.loc[(6, 16), "pad_pct"]
    assert of_b.loc[(6, 16), "seats_pct"] > of_b.loc[(6, 16), "pad_pct"]
    assert (of(result, "A")["pad_pct"] == 0).all()


def test_the_shape_that_is_drawn_holds_what_the_share_says(result):
    pad = result.pads.set_index("parcel_id").geometry["B"]
    for share, shade in zip(of(result, "B")["pad_pct"], of(result, "B").geometry, strict=True):
        assert 100 * shade.intersection(pad).area / pad.area == pytest.approx(share, abs=1e-6)


def test_the_table_is_written_and_the_page_can_choose_a_sun(result, folder):
    write_results(result, folder / "out")
    with (folder / "out" / "shade.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 18
    assert tuple(rows[0]) == SHADE_COLUMNS
    assert [words for words, _ in shades(result)] == [
        f"{month} 21, {hour} o'clock by the sun"
        for month in ("June", "September")
        for hour in (10, 13, 16)
    ]
    assert 'id="sun"' in (folder / "out" / "map.html").read_text(encoding="utf-8")


def test_without_trees_no_shade_is_drawn_since_none_is_known(folder):
    result = run(write_study(folder / "bare", PARCELS, study='criteria = ["shade", "fit"]'))
    assert len(result.shade) == 0
    assert shades(result) == []
