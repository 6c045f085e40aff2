"""What ``[storm]`` of a study file may say: rain of two storms, from official frequency data."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from playsite.units import metres, millimetres_an_hour, minutes

__all__ = ["StormTable"]


def _by_duration(given: Any) -> dict[float, float]:
    """Intensities, mm/h, by minutes: one for all durations, or a table."""
    table = given if isinstance(given, dict) else {"10 min": given}
    if not table:
        raise ValueError("a table of intensities holds at least one duration")
    found = {minutes(long): millimetres_an_hour(rain) for long, rain in table.items()}
    return dict(sorted(found.items()))


def _rain_mm(given: Any) -> float:
    return 1000 * metres(given)


Intensities = Annotated[dict[float, float], BeforeValidator(_by_duration)]
Rain = Annotated[float, BeforeValidator(_rain_mm), Field(ge=0, le=2_000)]


class StormTable(BaseModel):
    """Rain of the storms of 10 and of 100 years; what is not given is not known."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    intensity_10_year_mm_h: Intensities | None = Field(None, alias="intensity_10_year")
    intensity_100_year_mm_h: Intensities | None = Field(None, alias="intensity_100_year")
    rain_10_year_mm: Rain | None = Field(None, alias="rain_10_year")
    rain_100_year_mm: Rain | None = Field(None, alias="rain_100_year")
    source: str = ""
