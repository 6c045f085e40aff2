"""Estimates: quantities of the worked program, unknown lines, and what draws may not do."""

import math
from dataclasses import replace

import numpy as np
import pytest
from made_up_costs import GROUND, book_of, cost_table, estimate, facts, rows_of, seven_pieces
from made_up_program import pad_of

from playsite.cost.draws import percentiles
from playsite.cost.estimate import Estimator
from playsite.cost.lines import amount_in, common_lines
from playsite.cost.site_costs import costs_of, efficient

FT2, YD3 = 0.3048**2, 0.9144**3


def test_quantities_of_the_worked_program():
    # A program of seven pieces: two bays of belt swings, one of bucket swings, a composite of five
    # components and one whose number isn't given.
    found = rows_of(estimate())
    pieces = {name: found[name].quantity for name in ("composite component", "composite 2-5", "belt swing", "bucket swing", "spinner", "climber", "rocker")}  # fmt: skip
    assert pieces == {
        "composite component": 5, "composite 2-5": 1, "belt swing": 2, "bucket swing": 1,
        "spinner": 1, "climber": 1, "rocker": 1,
    }  # fmt: skip
    # areas alone give 5,140 sq ft; the layout that is proven to hold the pieces at least 102 by 54
    layout = seven_pieces().shapes[0].concepts[0].layout
    area_m2 = found["engineered wood fiber"].quantity
    assert area_m2 == pytest.approx(layout.length_m * layout.width_m)
    assert area_m2 / FT2 > 5140
    assert found["stone base and fabric"].quantity == area_m2
    assert found["border curb"].quantity == pytest.approx(2 * (layout.length_m + layout.width_m))
    assert found["box-out taken away"].quantity / YD3 == pytest.approx(0.40 * area_m2 / YD3)
    assert found["bench"].quantity == 5  # 45 children, one for ten


def test_pieces_of_a_neighborhood_playground_cost_about_what_one_costs_as_a_whole():
    # The range of a whole neighborhood playground, 90 to 200 thousand, is an older rule of thumb
    # (common practice, no source) than the prices of single pieces: they should meet.
    found, book = rows_of(estimate()), book_of(cost_table())
    whole = book.prices["equipment, neighborhood"]
    names = ("composite component", "composite 2-5", "belt swing", "bucket swing", "spinner", "climber", "rocker")  # fmt: skip
    low, high = (sum(found[n].quantity * found[n].prices[end] for n in names) for end in (0, 2))
    assert 0.8 * whole.low < low < high < 1.2 * whole.high


def test_a_line_that_is_not_known_is_told_and_in_no_sum():
    found = estimate(site=facts())
    rows = rows_of(found)
    assert math.isnan(rows["outlet pipe"].quantity)
    assert all(math.isnan(amount) for amount in rows["outlet pipe"].money)
    assert "outlet pipe" in found.unknown
    assert "outlet pipe" in rows["total"].source
    known = estimate(site=facts(measured={"outlet": 30.0}))
    assert "outlet pipe" not in known.unknown
    more = np.median(known.draws) - np.median(found.draws)
    assert more > 30 / 0.3048 * 30  # at least its length at the lowest price


def test_ground_that_is_not_known_leaves_its_lines_open():
    found = estimate(site=facts(ground=None, trees_removed=None, trees_protected=None))
    for name in ("levelling on the site", "earth taken away beyond the box-out", "retaining wall", "tree removed"):  # fmt: skip
        assert name in found.unknown
    assert "risk: rock or unsuitable soil" in found.unknown


def test_a_program_without_pieces_has_equipment_that_is_not_known_until_its_size_is_said():
    pad = pad_of('pad = { length = "104 ft", width = "74.5 ft" }')
    open_ = estimate(pad=pad)
    assert {"equipment", "installation, professional", "bench"} <= set(open_.unknown)
    sized = rows_of(estimate(cost_table(equipment="neighborhood"), pad=pad))
    assert sized["equipment, neighborhood"].prices == (90_000, 145_000, 200_000)
    assert sized["installation, professional"].money[1] > 0


def test_prices_without_a_range_give_the_closed_form(tmp_path):
    names = dict(book_of(cost_table()).prices)
    units = {"m": "m", "m2": "m2", "m3": "m3", "each": "each", "lump": "lump", "share": "share"}
    lines = "".join(
        f'"{name}" = {{ unit = "{units[p.unit]}", low = {p.likely}, high = {p.likely}, source = "made up" }}\n'
        for name, p in names.items()
    )
    own = '[installation."own crew"]\nshare = { low = 0.2, high = 0.2, source = "made up" }\n'
    own += 'people = "-"\ntools = "-"\ndays = [1, 2]\nqualification = "-"\nwarranty = "-"\n'
    text = f"year = 2025\n[prices]\n{lines}{own}"
    (tmp_path / "flat.toml").write_text(text, encoding="utf-8")
    cost = cost_table(
        prices="flat.toml", installation="own crew", built="2027-12", escalation="4 %"
    )
    book = book_of(cost, tmp_path)
    lines = common_lines(seven_pieces(), cost, book, "engineered wood fiber")
    estimator = Estimator(cost, book)
    found = estimator.estimate(estimator.counted(lines))
    work = sum(line.quantity.likely * line.price.likely for line in lines if line.kind == "work")
    gear = sum(
        line.quantity.likely * line.price.likely for line in lines if line.kind == "equipment"
    )
    studies = sum(
        line.quantity.likely * line.price.likely for line in lines if line.kind == "study"
    )
    # Project = (base x (1 + mobilization)) x (1 + design) + studies, three years (to the last of
    # December 2027, 2.997 years) at 4 %
    project = (work + 1.2 * gear) * 1.075 * 1.185 + studies
    assert percentiles(found.draws) == pytest.approx([project * 1.04**3.0] * 4, rel=1e-3)


def test_one_line_more_changes_no_other():
    before = rows_of(estimate(site=facts()))
    after = rows_of(estimate(cost_table(extras={"shade structure": 1}), site=facts()))
    same = set(before) - {
        "total",
        "mobilization and bonds",
        "design, permits, inspections, safety audit",
    }
    assert all(before[name] == after[name] or before[name].money[1] != before[name].money[1] for name in same)  # fmt: skip
    assert after["total"].money[1] - before["total"].money[1] > 30_000


def test_what_two_sites_share_is_drawn_once():
    near, far = (estimate(site=facts(street_m=distance)) for distance in (30.0, 60.0))
    # 30 m more of access at 25 to 80 a foot, with all that comes on top; nothing else moves
    more = near.draws * 0 + far.draws - near.draws
    assert more.min() > 0
    assert more.max() < 30 * 1.75 / 0.3048 * 80 * 1.10 * 1.25 + 1


def test_a_dead_flat_site_may_need_less_hauled_than_its_box_out():
    ground = replace(GROUND, export_m3=0.0, plus_minus_m3=0.0)
    row = rows_of(estimate(site=facts(ground=ground)))["earth taken away beyond the box-out"]
    assert row.quantity < 0
    assert row.money[3] < 0


def test_risks_have_their_chance_and_the_measured_one_where_there_is_one():
    rows = rows_of(estimate(site=facts(measured={"below": 2.0, "soil": 1.0})))
    assert rows["risk: old foundations, fill or debris"].quantity == 0.40
    assert rows["risk: rock or unsuitable soil"].quantity == 0.08
    assert rows["risk: water found in the ground while building"].quantity == 0.15  # unknown
    # less likely than a half: its median is nothing, its 80th percentile is not
    assert rows["risk: old foundations, fill or debris"].money[1] == 0
    assert rows["risk: old foundations, fill or debris"].money[2] > 10_000


@pytest.mark.parametrize(
    ("measured", "needs", "there", "absent"),
    [
        ({"wetland": 12.0}, (), {"wetland delineation"}, {"fence", "floodplain permit"}),
        ({"wetland": math.inf}, (), set(), {"wetland delineation"}),
        ({}, ("a floodplain permit and an engineer's review",), {"floodplain permit"}, {"fence"}),
        ({}, ("a barrier between the play area and the water",), {"fence", "gate"}, set()),
    ],
)
def test_conditions_and_measurements_bring_their_lines(measured, needs, there, absent):
    rows = rows_of(estimate(site=facts(measured=measured, needs=needs)))
    assert all(rows[name].money[1] > 0 for name in there)
    assert not absent & set(rows)


def test_soil_that_drains_needs_one_pipe_and_other_soil_a_field_of_them():
    name = "underdrain"
    free, slow, unknown = (
        rows_of(estimate(site=facts(measured=measured)))[name]
        for measured in ({"soil": 1.0}, {"soil": 0.5}, {})
    )
    assert free.quantity < slow.quantity == unknown.quantity
    assert "not known" in unknown.basis


def test_what_must_lie_near_is_priced_where_it_does_not():
    cost = cost_table(restroom_within="650 ft", parking_within="120 m", parking_spaces=6)
    near, far, unknown = (
        rows_of(estimate(cost, site=facts(measured=measured)))
        for measured in (
            {"restroom": 100.0, "parking": 119.0},
            {"restroom": math.inf, "parking": 121.0},
            {},
        )
    )
    assert not {"restroom", "parking space"} & set(near)
    assert (far["restroom"].quantity, far["parking space"].quantity) == (1, 6)
    assert math.isnan(unknown["restroom"].quantity)
    assert math.isnan(unknown["parking space"].money[1])


def test_ways_that_were_found_are_priced_and_one_that_is_not_there_is_told():
    ways = {"accessible_route": 20.0, "truck": 45.0}
    found = rows_of(estimate(site=facts(measured=ways)))
    assert found["step-free walk to the play area"].quantity == pytest.approx(20 * 5 * 0.3048)
    assert found["access for machines"].quantity == 45
    assert "ramp with rails" not in found
    steep = rows_of(estimate(site=facts(measured={**ways, "ramp": 12.0})))
    assert steep["ramp with rails"].quantity == 12
    assert steep["step-free walk to the play area"].quantity == pytest.approx(8 * 5 * 0.3048)
    none = rows_of(estimate(site=facts(measured=dict.fromkeys(ways, math.inf))))
    for name in ("step-free walk to the play area", "access for machines"):
        assert math.isnan(none[name].quantity)
        assert "was found: what else it would take is not priced" in none[name].basis


def test_a_quantity_that_someone_found_at_a_site_replaces_the_desk_one():
    cost = cost_table(sites={"P-1": {"outlet pipe": "120 ft", "restroom": 1}})
    at, elsewhere = (rows_of(estimate(cost, site=facts(name))) for name in ("P-1", "P-2"))
    assert at["outlet pipe"].quantity == pytest.approx(120 * 0.3048)
    assert at["restroom"].quantity == 1
    assert "restroom" not in elsewhere
    assert math.isnan(elsewhere["outlet pipe"].quantity)


@pytest.mark.parametrize(
    ("name", "given", "amount"),
    [
        ("fence", "100 ft", 30.48),
        ("concrete walk", "400 sq ft", 400 * FT2),
        ("earth brought in", "27 cu yd", 27 * YD3),
        ("bench", 4, 4.0),
    ],
)
def test_amounts_are_read_in_the_unit_of_the_price(name, given, amount):
    assert amount_in(book_of(cost_table()).prices[name], given) == pytest.approx(amount)


@pytest.mark.parametrize(("name", "given"), [("fence", 100), ("earth brought in", "27"), ("bench", "4 ft")])  # fmt: skip
def test_an_amount_in_no_unit_or_another_is_refused(name, given):
    with pytest.raises(ValueError, match="unit|number"):
        amount_in(book_of(cost_table()).prices[name], given)


def test_an_index_brings_the_book_to_its_date_and_a_rate_goes_on_from_there():
    base = estimate()
    index = {"then": 100.0, "now": 110.0, "now_is": "2027-12-31", "source": "an index, made up"}
    found = estimate(cost_table(built="2027-12-31", escalation="9 %", index=index))
    assert percentiles(found.draws) == pytest.approx(np.multiply(percentiles(base.draws), 1.10))


def test_place_and_exchange_move_money_and_no_share():
    found = rows_of(estimate(cost_table(place_factor=1.1, currency="CAD", exchange=1.4)))
    base = rows_of(estimate())
    assert found["total"].money == pytest.approx(np.multiply(base["total"].money, 1.54))
    assert found["mobilization and bonds"].prices == base["mobilization and bonds"].prices
    assert "times 1.4 CAD, times 1.1 for the place" in found["bench"].source


def test_sites_side_by_side():
    cost = cost_table()
    sites = [facts("near", street_m=5.0), facts("far", street_m=200.0), facts("bare", ground=None)]
    scores = {"near": 0.6, "far": 0.8, "bare": 0.5}
    found = costs_of(cost, book_of(cost), seven_pieces(), sites, scores)
    table = found.sites.set_index("parcel_id")
    assert table.loc["bare", "above_least_p50"] == 0  # least, for what is not known is in no sum
    assert "levelling on the site" in table.loc["bare", "unknown"]
    assert (table[["p10", "p50", "p80", "p90"]].diff(axis=1).iloc[:, 1:] > 0).all(axis=None)
    totals = found.lines[found.lines["line"] == "total"]
    assert totals["parcel_id"].tolist() == ["near", "far", "bare"]
    assert set(found.lines["differs_between_sites"]) == {"yes", "no", "partly"}


def test_efficient_sites_are_beaten_by_none():
    costs = {"A": 400.0, "B": 500.0, "C": 450.0, "D": 400.0, "E": math.nan}
    scores = {"A": 0.6, "B": 0.8, "C": 0.6, "D": 0.6, "E": 0.9}
    assert efficient(costs, scores) == {"A", "B", "D"}


def test_a_site_is_not_beaten_by_one_that_looks_cheap_for_what_is_not_known_of_it():
    costs, scores = {"known": 500.0, "open": 400.0}, {"known": 0.6, "open": 0.7}
    assert efficient(costs, scores) == {"open"}
    assert efficient(costs, scores, {"open": ("underdrain",)}) == {"known", "open"}
    # nothing is in the one's figure that is not in the other's: then it is beaten
    both = {"open": ("underdrain",), "known": ("underdrain", "fence")}
    assert efficient(costs, scores, both) == {"open"}


def test_ways_to_install_are_told_in_the_same_money_as_the_whole():
    sites, scores = [facts()], {"P-1": 0.5}
    plain, later = (cost_table(), cost_table(built="2027-12-31", escalation="10 %"))
    now, then = (
        costs_of(cost, book_of(cost), seven_pieces(), sites, scores).installations.set_index("way")
        for cost in (plain, later)
    )
    assert (now["p50"] < now["p80"]).all()
    assert (
        now.loc["own crew", "p50"] < now.loc["supervised", "p50"] < now.loc["professional", "p50"]
    )
    assert (then["p50"] / now["p50"]).to_numpy() == pytest.approx(1.1**3, rel=2e-3)
