"""Areas of a census: bands of ages to those who walk, margins, and 0 that is a number."""

import geopandas as gpd
import numpy as np
import pytest

from playsite.layers.population import KIND, settle


def settled(**columns):
    rows = len(next(iter(columns.values())))
    empty = {column.name: [None] * rows for column in KIND.columns}
    findings = []
    frame = gpd.GeoDataFrame(empty | columns, geometry=gpd.points_from_xy([0] * rows, [0] * rows))
    return settle(frame, findings), findings


def test_bands_give_ages_0_to_4_and_5_to_12():
    frame, _ = settled(
        under_5=["50"],
        from_5_to_9=["60"],
        from_10_to_14=["50"],
        under_5_margin=["8"],
        from_5_to_9_margin=["9"],
        from_10_to_14_margin=["20"],
    )
    assert frame.loc[0, "young"] == 50
    assert frame.loc[0, "older"] == pytest.approx(60 + 0.6 * 50)
    assert frame.loc[0, "older_margin"] == pytest.approx(np.hypot(9, 0.6 * 20))


def test_no_child_is_a_number_and_a_blank_is_not():
    frame, findings = settled(under_5=["0", None], from_5_to_9=["0", "4"], from_10_to_14=["0", "2"])
    assert frame["young"].tolist()[0] == 0
    assert np.isnan(frame["young"].tolist()[1])
    assert [finding.count for finding in findings] == [1]


def test_a_whole_number_of_children_is_parted_by_years():
    frame, _ = settled(children=["130"], children_margin=["13"])
    assert frame.loc[0, ["young", "older"]].tolist() == pytest.approx([50, 80])
    assert frame.loc[0, "young_margin"] == pytest.approx(5)


def test_a_share_over_100_percent_is_missing():
    frame, _ = settled(children=["10", "10"], low_income_pct=["0", "140"])
    assert frame["low_income_pct"].tolist()[0] == 0
    assert np.isnan(frame["low_income_pct"].tolist()[1])
