"""One step in lines for a terminal, and all of them as a page of the docs."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from playsite.steps._contract import Step

__all__ = ["step_lines", "steps_page"]


def step_lines(step: Step, package: str) -> Iterator[str]:
    """Say what a step reads, takes and writes."""
    yield f"{step.name}: {step.question}"
    for each in step.inputs:
        yield f"  reads   --{each.name}: {each.what}, {each.plain}" + (
            "" if each.needed else ", if there is one"
        )
    for number in step.parameters:
        least, most = number.plausible
        usual = f"{number.default:g} {number.unit.value}"
        yield f"  takes   --{number.name}: {number.plain}, usual {usual}, from {least:g} to {most:g}"
    for output in step.outputs:
        columns = ", ".join(f"{name} ({plain})" for name, plain in (output.columns or {}).items())
        yield f"  writes  --{output.name}: {output.what}, {output.plain}" + (
            f": {columns}" if columns else ""
        )
    for source in step.sources:
        yield f"  source  {source}"
    yield f"  package {package}"
    yield ""


def steps_page(found: Iterable[Step]) -> str:
    """Page of the docs, written from the steps' own records."""
    lines = [
        "# Steps",
        "",
        "Each part of the chain alone, from files to files: `playsite step NAME --help`.",
        "",
    ]
    for step in found:
        lines += [f"## {step.name}", "", step.question, "", "| option | what |", "|---|---|"]
        for line in step_lines(step, ""):
            word, _, rest = line.strip().partition(" ")
            option, _, plain = rest.strip().partition(": ")
            if word in {"reads", "takes", "writes"}:
                lines.append(f"| `{option}` | {word} {plain} |")
        lines += ["", *(f"Source: {source}." for source in step.sources), ""]
    return "\n".join(lines)
