import os

import pytest

from playsite.terrain.strips import in_strips


@pytest.mark.parametrize("count", [0, 1, 63, 64, 129, 1000])
@pytest.mark.parametrize("processors", [None, 1, 2, 7])
def test_every_item_is_in_one_strip(monkeypatch, count, processors):
    monkeypatch.setattr(os, "cpu_count", lambda: processors)
    seen = []
    in_strips(lambda first, last: seen.extend(range(first, last)), count)
    assert sorted(seen) == list(range(count))


def test_an_error_in_a_strip_is_raised(monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 2)

    def fails(first, last):
        if first > 0:
            raise RuntimeError(f"strip to {last}")

    with pytest.raises(RuntimeError, match="strip to 1000"):
        in_strips(fails, 1000)
