"""Opening hours against calendars worked out by hand: seasons, holidays, week days, dusk."""

import datetime as dt

import geopandas as gpd
import numpy as np
import pytest
from shapely import Point

from playsite.layers.opening_hours import PLAY_TIMES, PlayTimes, open_pct, open_shares

NEW_YORK_STATE = (42.56, -74.4)
JULY = PlayTimes(first_day=(7, 1), last_day=(7, 31))
"""July 2025 begins on a Tuesday; 4 July, a public holiday of the United States, is a Friday."""


def shares(text, **options):
    return open_shares(text, **options).tolist()


def test_the_season_has_its_days():
    assert len(PLAY_TIMES.days) == 30 + 31 + 30 + 31 + 31 + 30 + 31
    assert JULY.days[0] == dt.date(2025, 7, 1)


def test_a_school_is_shut_on_saturdays():
    assert shares("Mo-Fr 07:30-15:30", times=JULY) == [5.5 / 8] * 5 + [0, 0]


def test_always_and_never():
    assert shares("24/7") == [1] * 7
    assert shares("off") == [0] * 7
    assert shares("closed") == [0] * 7


def test_hours_are_cut_to_those_of_play():
    assert shares("09:00-12:00,16:00-20:00") == [0.5] * 7
    assert shares("18:00-10:00") == [0] * 7
    assert shares("06:00-10:00") == [0] * 7
    # a night that goes on past midnight opens the next morning too
    assert shares("20:00-14:00") == pytest.approx([0.5] * 7, abs=0.02)


def test_a_season_counts_by_its_days():
    got = open_shares("Jul 11-Jul 31: 08:00-20:00", times=JULY)
    # Fridays: 4, 11, 18, 25; Mondays: 7, 14, 21, 28
    assert got[4] == pytest.approx(3 / 4)
    assert got[0] == pytest.approx(3 / 4)
    assert open_shares("Nov-Mar 08:00-20:00").max() == 0
    # April to October without August: Sundays 6 Apr to 26 Oct are 30, five of them in August
    assert open_shares("Apr-Jul,Sep-Oct 08:00-20:00")[6] == pytest.approx(25 / 30)


def test_public_holidays_are_those_of_the_place():
    text = "08:00-20:00; PH off"
    assert open_shares(text, times=JULY, lat_lon_deg=NEW_YORK_STATE)[4] == pytest.approx(3 / 4)
    assert open_shares(text, times=JULY, lat_lon_deg=(60.17, 24.94)).min() == 1  # Helsinki
    assert open_shares(text, times=JULY).min() == 1


def test_dusk_is_that_of_the_place():
    late = PlayTimes(first_hour=10, last_hour=20, first_day=(10, 25), last_day=(10, 31))
    got = open_shares("dawn-dusk", times=late, lat_lon_deg=NEW_YORK_STATE)
    # sunset 25 to 31 October at Albany: 17:57 to 17:49 by the almanac (from memory), dusk half an hour on
    assert np.all((got > 0.81) & (got < 0.86))
    assert shares("dawn to dusk", lat_lon_deg=NEW_YORK_STATE) == [1] * 7


@pytest.mark.parametrize("text", ['"by appointment"', "10:00-18:00 unknown", '24/7 "ask for key"'])
def test_what_is_not_sure_is_not_open(text):
    assert shares(text) == [0] * 7


@pytest.mark.parametrize(
    "text", ["school hours", "Mo-Fr 8-17 or so", "", "7/24/365", "Mo-Fr 25:99"]
)
def test_what_can_not_be_read_is_none(text):
    assert open_shares(text) is None


def test_the_day_that_it_is_open_least_counts():
    text = ["Mo-Fr 08:00-15:00", "24/7", None, "school hours", "10:00-16:00"]
    places = gpd.GeoDataFrame(
        {"opening_hours": text}, geometry=[Point(-74.4, 42.56)] * 5, crs=4326, index=list("abcde")
    )
    got = open_pct(places.to_crs(26918))
    assert got.index.tolist() == list("abcde")
    assert got.tolist()[:2] == [0, 100]
    assert np.isnan(got["c"])
    assert got.tolist()[3:] == [0, 75]
    assert open_pct(places.iloc[:0]).empty
