"""One criterion in lines for a terminal: question, unit, knots, screens, sources, package."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playsite.criteria._contract import Criterion

__all__ = ["criterion_lines"]


def criterion_lines(criterion: Criterion, package: str) -> Iterator[str]:
    """Say all that a criterion declares of itself."""
    curve = criterion.curve
    yield f"{criterion.name}: {criterion.question}"
    yield f"  measures   {criterion.plain}, in {criterion.unit.value}"
    if curve.reads:
        yield f"  reads      {curve.reads}, in {curve.unit.value}"
    knots = ", ".join(f"{knot.name} {knot.at:g} (score {knot.score:g})" for knot in curve.knots)
    yield f"  knots      {knots}"
    for said in dict.fromkeys(knot.source for knot in curve.knots):
        yield f"  their source  {said}"
    for screen in criterion.screens:
        yield f"  out when   {screen.rule} ({screen.source})"
    for condition in criterion.conditions:
        yield f"  condition  {condition.rule}: ranked, only with {condition.needs}"
    yield f"  weight     {criterion.weight:g}"
    yield f"  needs      {', '.join(criterion.needs) or 'parcels alone'}"
    for source in criterion.sources:
        yield f"  source     {source}"
    yield f"  package    {package}"
    yield ""
