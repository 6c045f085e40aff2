"""Root zones under the excavation: by the stem, by the crown, protected trees out."""

import numpy as np
import pytest
from made_up_study import box, point, write_study

from playsite.study import run

LONG, WIDE = 31.7, 22.7
PARCEL = {"A": box(100, 100, LONG, WIDE)}
DUG_M2 = LONG * WIDE + 2 * 3 * (LONG + WIDE) + np.pi * 9


@pytest.fixture
def roots_of(tmp_path, monkeypatch):
    monkeypatch.setenv("PLAYSITE_CACHE", str(tmp_path / "cache"))

    def measured(stems, columns):
        study = 'criteria = ["roots", "fit"]'
        file = write_study(
            tmp_path / "town", PARCEL, layers={"trees": (stems, columns)}, study=study
        )
        return run(file)

    return measured


def row(result):
    return result.measurements.set_index("criterion").loc["roots"]


def test_a_root_zone_is_12_diameters_of_the_stem(roots_of):
    # A stem of 50 cm in the middle: a circle of 6 m.
    found = row(roots_of([point(115, 111)], {"diameter_m": [0.5]}))
    assert found["value"] == pytest.approx(100 * np.pi * 36 / DUG_M2, rel=0.01)
    assert found["low"] == found["value"] == found["high"]


def test_a_root_zone_is_never_wider_than_15_m(roots_of):
    # 2 m of stem would make 24 m; the stem stands 17 m from the dug ground, and 14 m.
    far, near = (
        row(roots_of([point(100 - 3 - away, 111)], {"diameter_m": [2.0]})) for away in (17, 14)
    )
    assert far["value"] == 0
    assert 0 < near["value"] < 5


def test_zones_that_overlap_count_once(roots_of):
    one = row(roots_of([point(115, 111)], {"diameter_m": [0.5]}))
    two = row(roots_of([point(115, 111)] * 2, {"diameter_m": [0.5] * 2}))
    assert two["value"] == pytest.approx(one["value"])


def test_without_a_diameter_the_crown_speaks_and_the_interval_is_wider(roots_of):
    found = row(roots_of([point(115, 111)], {"crown_m": [4.0]}))
    assert found["value"] == pytest.approx(100 * np.pi * 16 / DUG_M2, rel=0.01)
    assert found["high"] == pytest.approx(100 * np.pi * 36 / DUG_M2, rel=0.01)


def test_a_wood_has_roots_where_it_is_drawn_and_not_in_a_circle(roots_of):
    found = row(roots_of([box(100, 90, 200, 10)], {"height_m": [12.0]}))
    # Its edge is the pad's: a strip of 3 m is dug in it.
    assert found["value"] == pytest.approx(100 * 3 * (LONG + 3) / DUG_M2, rel=0.03)


@pytest.mark.parametrize(("protected", "status"), [("yes", "screened out"), ("no", "ranked")])
def test_a_protected_tree_puts_the_pad_out(roots_of, protected, status):
    given = {"diameter_m": [0.5], "protected": [protected]}
    result = roots_of([point(98, 111)], given)
    assert result.sites["status"].tolist() == [status]


def test_where_nobody_says_which_trees_are_protected_that_is_told(roots_of):
    result = roots_of([point(98, 111)], {"diameter_m": [0.5]})
    assert result.sites["status"].tolist() == ["ranked"]
    assert row(result)["note"] == "which trees are protected is not known"
