"""The sheet of a site: two pages, of which the first stands by itself."""

from dataclasses import replace

import pandas as pd
import pytest
from report.made_up_result import made_up_result
from report.memo_file import pages_of_heads

from playsite.report.memo import memo_of
from playsite.report.memo.blocks import Figure, Heading, Table


def sheet_of(memo, number):
    """Blocks of one site's sheet."""
    heads = [at for at, block in enumerate(memo.blocks) if isinstance(block, Heading)]
    start = next(at for at in heads if memo.blocks[at].text.startswith(f"Site {number}, "))
    end = next(at for at in heads if at > start and memo.blocks[at].level < 3)
    return memo.blocks[start:end]


def crowded(units):
    """A site with five remedies, seven open questions and a long name."""
    result = made_up_result(units=units, names={6: "The Common behind the Old Brickworks " * 3})
    parcel = result.sites.set_index("site_no").loc[6, "parcel_id"]
    one = result.conditions.iloc[[0]].assign(parcel_id=parcel)
    tasks = pd.DataFrame(
        {
            "parcel_id": parcel,
            "criterion": [f"question_{each}" for each in range(7)],
            "task": "Ask who keeps the place, look at it after rain, and measure what is in the way.",
        }
    )
    return replace(result, conditions=pd.concat([one] * 5, ignore_index=True), unknowns=tasks)


@pytest.mark.parametrize("units", ["feet", "metres"])
def test_the_fullest_first_page_is_still_one_page(units):
    pages = pages_of_heads(memo_of(crowded(units)))
    heads = [head for head, _ in pages]
    first = next(at for at, head in enumerate(heads) if head.startswith("Site 6, The Common"))
    second = heads.index("Site 6: what was measured at the play area")
    third = next(at for at in range(second, len(heads)) if heads[at].startswith("Site 5, "))
    assert pages[second][1] - pages[first][1] == 1
    assert pages[third][1] - pages[second][1] == 1


def test_plan_and_judgment_stand_on_the_first_page_and_quantities_on_the_second():
    sheet = sheet_of(memo_of(made_up_result()), 6)
    turn = next(at for at, block in enumerate(sheet) if at and getattr(block, "new_page", False))
    first, second = sheet[:turn], sheet[turn:]
    assert [type(block) for block in first].count(Figure) == 1
    assert any(isinstance(b, Table) and b.title.endswith(" of Site 6") for b in first)
    assert any(isinstance(b, Table) and b.title.startswith("What was measured") for b in second)
    assert any(isinstance(b, Figure) and "Levelling" in b.finding for b in second)
