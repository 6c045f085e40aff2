"""A study's own prices and bids: what replaces what, and what is refused."""

import pytest
from made_up_costs import book_of, cost_table

from playsite.cost.prices import price_book, shipped_book
from playsite.errors import InputError
from playsite.problems import Problems

FOOT_M = 0.3048


def _faults(tmp_path, **given):
    problems = Problems()
    price_book(cost_table(**given), tmp_path, problems)
    return [str(problem) for problem in problems.items]


def test_every_shipped_price_has_a_source_a_year_and_a_range():
    book = shipped_book()
    assert len(book.prices) > 50
    assert all(
        p.source and p.year == 2025 and 0 < p.low < p.likely < p.high for p in book.prices.values()
    )
    assert all(each.source for kind in book.surfacing.values() for each in kind.upkeep)
    assert set(book.surfacing) <= set(book.prices)


def test_an_own_file_replaces_what_it_names_and_nothing_else(tmp_path):
    text = 'year = 2024\n[prices]\nfence = { unit = "m", low = 90, high = 110, source = "bid of May" }\n'
    (tmp_path / "own.toml").write_text(text, encoding="utf-8")
    book = book_of(cost_table(prices="own.toml", place_factor=1.5), tmp_path)
    fence = book.prices["fence"]
    assert (fence.low, fence.likely, fence.high, fence.year) == (90, 100, 110, 2024)
    assert "for the place" not in fence.source
    assert book.prices["gate"].low == pytest.approx(shipped_book().prices["gate"].low * 1.5)
    assert book.own == ("fence",)


def test_bids_replace_prices_by_their_least_middle_and_most(tmp_path):
    rows = "line,unit,price,year,bidder\nfence,ft,40,2025,A\nfence,ft,$50.00,2025,B\nfence,ft,48,2025,C\ngate,each,1000,2025,A\n"  # fmt: skip
    (tmp_path / "bids.csv").write_text(rows, encoding="utf-8")
    book = book_of(cost_table(bids="bids.csv"), tmp_path)
    fence, gate = book.prices["fence"], book.prices["gate"]
    assert [price * FOOT_M for price in (fence.low, fence.likely, fence.high)] == pytest.approx([40, 48, 50])  # fmt: skip
    assert fence.source == "3 local bids of 2025, bids.csv"
    assert (gate.low, gate.likely, gate.high) == pytest.approx((850, 1000, 1150))
    assert "1 local bid of 2025, bids.csv, taken as off by 15% either way" in gate.source


def test_bids_of_several_years_are_brought_to_the_latest(tmp_path):
    (tmp_path / "bids.csv").write_text("line,unit,price,year\ngate,each,1000,2023\ngate,each,1200,2025\n")  # fmt: skip
    gate = book_of(cost_table(bids="bids.csv"), tmp_path).prices["gate"]
    assert (gate.low, gate.high, gate.year) == (pytest.approx(1000 * 1.045**2), 1200, 2025)


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("fense,ft,40,2025", 'no line of the estimate. Did you mean "fence"?'),
        ("fence,sq ft,40,2025", '"sq ft" is no unit for "fence". Known here: ft, m.'),
        ("fence,ft,forty,2025", 'price "forty" and year "2025" are not an amount and a year'),
        ("fence,ft,-4,2025", "are not an amount and a year"),
        ("fence,ft,40,", "are not an amount and a year"),
        ("fence,ft,inf,2025", "are not an amount and a year"),
    ],
)
def test_a_bid_that_can_not_be_read_is_told_with_its_line(tmp_path, row, says):
    (tmp_path / "bids.csv").write_text(f"line,unit,price,year\ngate,each,1000,2025\n{row}\n")
    faults = _faults(tmp_path, bids="bids.csv")
    assert len(faults) == 1
    assert says in faults[0]
    assert "bids.csv, line 3" in faults[0]


def test_a_table_of_bids_without_its_columns_or_its_file_is_told(tmp_path):
    (tmp_path / "bids.csv").write_text("item,cost\nfence,3\n")
    assert "has no column line, unit, price, year" in _faults(tmp_path, bids="bids.csv")[0]
    assert "there is no such file" in _faults(tmp_path, bids="absent.csv")[0]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("year = 2025\n[prices]\nfence = 3\n", "prices.fence"),
        ('year = 2025\n[prices]\nfence = { unit = "ft", low = 9, high = 3, source = "x" }\n', "must rise"),
        ('year = 2025\n[prices]\nfence = { unit = "lump", low = 1, high = 3, source = "x" }\n', "another kind of unit"),
        ('year = 2025\ncurrency = "EUR"\n', "is in EUR, the study is in USD"),
        ("year = = 3", "is not valid TOML"),
        ('year = 2025\n[events.dump]\nby = "below"\nsteps = []\nunknown = 0.1\nsource = "x"\n', "give low and high, or share_of_dug"),
    ],
)  # fmt: skip
def test_an_own_file_that_can_not_be_read_is_told(tmp_path, text, says):
    (tmp_path / "own.toml").write_text(text, encoding="utf-8")
    faults = _faults(tmp_path, prices="own.toml")
    assert faults
    assert says in " ".join(faults)
    assert "own.toml" in faults[0]


def test_another_currency_needs_its_exchange():
    with pytest.raises(InputError, match="exchange = "):
        book_of(cost_table(currency="CAD"))
