"""How many accessible spaces a car park must have."""

from __future__ import annotations

import bisect

__all__ = ["accessible_spaces_due"]

_UP_TO = (25, 50, 75, 100, 150, 200, 300, 400, 500)


def accessible_spaces_due(spaces: int) -> int:
    """Accessible spaces that a parking facility of so many spaces must have at least.

    Counted for each facility, never for a site as a whole.

    Parameters
    ----------
    spaces
        All spaces of the facility, accessible ones among them.

    Returns
    -------
    int
        0 where there is no space.

    Raises
    ------
    ValueError
        The number is below 0.

    Notes
    -----
    2010 ADA Standards for Accessible Design, table 208.2: up to 25, 50, 75, 100, 150, 200, 300, 400
    and 500 spaces 1 to 9; up to 1,000 two in a hundred; above, 20 and one for each 100 or part of
    100 over 1,000.

    Examples
    --------
    >>> [accessible_spaces_due(n) for n in (25, 26, 150, 151, 501, 1000, 1001)]
    [1, 2, 5, 6, 11, 20, 21]
    """
    if spaces < 0:
        raise ValueError(f"A car park has 0 spaces or more: {spaces}")
    if spaces <= _UP_TO[-1]:
        return bisect.bisect_left(_UP_TO, spaces) + 1 if spaces else 0
    if spaces <= 1000:
        return -(-2 * spaces // 100)
    return 20 - (-(spaces - 1000) // 100)
