"""What lies under the surfacing: what soil and outlet ask of the pipes below a play area."""

from playsite.terrain.soil_rates import governing_group

LOW_WATER_TABLE_M = 1.0
"""Below this depth groundwater leaves sandy soil free to take water (common practice, no source)."""

HIGH_WATER_TABLE_M = 0.6
"""Above this depth groundwater makes any soil as bad as group D (common practice, no source)."""

_WITH_OUTLET = {
    "A": "Sandy soil with an outlet: a pipe round the edge, or none; an open stone base lets water into the soil.",
    "B": "Soil that drains fairly well, with an outlet: one collecting pipe along the low edge.",
    "C": "Slow soil with an outlet: parallel or herringbone 4 in pipes, 15 to 20 ft apart, in a stone base over fabric.",
    "D": "Soil that hardly drains, or high groundwater, with an outlet: pipes below the whole surfacing are needed, and the pad is best raised.",
}
_WITHOUT_OUTLET = {
    "A": "Sandy soil without an outlet: water may soak away if what is stored is gone in 24 hours at half the soil's rate.",
    "B": "Soil that drains fairly well, without an outlet: let water soak away only after a test of the soil in place.",
    "C": "Slow soil without an outlet: raise the pad, or pump; a mark against the place.",
    "D": "Soil that hardly drains, or high groundwater, without an outlet: as good as ruled out unless a storm drain can be reached.",
}
_ANY = "Safety surfacing of any kind commonly needs a drained base; an engineer decides how much."


def pipe_advice(
    hydrologic_group: str | None,
    *,
    has_outlet: bool | None,
    water_table_m: float | None = None,
    closed_curb: bool = False,
) -> tuple[str, ...]:
    """Advice on the underdrain, in sentences for a memo; screening, not design.

    Parameters
    ----------
    hydrologic_group
        "A" to "D", or a double group such as "B/D": drained or not. None if not known.
    has_outlet
        Whether a pipe can reach daylight or an inlet by gravity; None if not known.
    water_table_m
        Depth of the seasonal high groundwater, m; None if not known.
    closed_curb
        Whether loose fill lies inside a curb that lets no water out.

    Returns
    -------
    tuple of str
        The advice first, then what always holds and what is not known.

    Raises
    ------
    ValueError
        If the group is none of the known.

    Notes
    -----
    All common practice, no source; that a drained base is usual: UFC 4-740-14 (read in excerpt).

    Examples
    --------
    >>> pipe_advice("B", has_outlet=True)[0]
    'Soil that drains fairly well, with an outlet: one collecting pipe along the low edge.'
    """
    if has_outlet is None:
        first = "Whether a pipe can drain by gravity is not known: find the outlet first."
    else:
        group = _governing_group(
            hydrologic_group, has_outlet=has_outlet, water_table_m=water_table_m
        )
        if group is None:
            first = "The soil's hydrologic group is not known: test the soil in place first."
        else:
            first = (_WITH_OUTLET if has_outlet else _WITHOUT_OUTLET)[group]
    advice = [first, _ANY]
    if closed_curb:
        advice.append(
            "Loose fill in a closed curb must be drained."
            if has_outlet
            else "Loose fill in a closed curb fills like a tub: open the curb, or use another edge."
        )
    if water_table_m is None:
        advice.append("The depth of groundwater is not known: look for it in a test pit.")
    return tuple(advice)


def _governing_group(
    hydrologic_group: str | None, *, has_outlet: bool, water_table_m: float | None
) -> str | None:
    """Group whose advice holds: groundwater rules over the soil; None if not known."""
    group = governing_group(hydrologic_group, drained=has_outlet)
    if water_table_m is not None and water_table_m < HIGH_WATER_TABLE_M:
        return "D"
    if group == "A" and water_table_m is not None and water_table_m <= LOW_WATER_TABLE_M:
        return "B"
    return group
