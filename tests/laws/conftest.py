"""Laws are tried with many drawn examples of what other tests trace."""

import pytest


@pytest.fixture(autouse=True)
def untraced(no_cover):
    """Don't count lines here: it costs a quarter of the time and shows none that is new."""
