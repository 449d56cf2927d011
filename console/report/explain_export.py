"""An explanation as JSON, format 1. Nothing is reckoned here but the equation, to show that it holds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from console.engine.explain.explanation import (
    AssumptionSource,
    ConfigSource,
    CountSource,
    DrawSource,
    Explanation,
    FigureSource,
    Input,
    PublishedSource,
    ReadingSource,
    Source,
    StepSource,
    arguments_of,
)
from console.engine.explain.expression import evaluate
from console.engine.explain.figures import Figures
from console.report.export import FORMAT


def explanation_document(figures: Figures, one: Explanation, depth: int = 0) -> dict[str, Any]:
    """What ``explain --json`` prints: the figure, and with a depth those behind it, by their paths."""
    below = dict(_below(figures, one, depth, {one.path}))
    return {"format": FORMAT, **figure_document(one), **({"behind": below} if depth > 0 else {})}


def figure_document(one: Explanation) -> dict[str, Any]:
    """One figure alone."""
    gives = None
    if one.value is not None:
        gives = evaluate(one.equation, {each.symbol: each.value for each in one.inputs})
    return {
        "figure": one.path,
        "title": one.title,
        "value": one.value,
        "unit": one.unit,
        "equation": one.equation or None,
        "equation_gives": gives,
        "inputs": [input_document(each) for each in one.inputs],
        "remarks": list(one.remarks),
    }


def _below(
    figures: Figures, one: Explanation, depth: int, told: set[str]
) -> Iterator[tuple[str, dict[str, Any]]]:
    for each in one.inputs if depth > 0 else ():
        if isinstance(each.source, FigureSource) and each.source.path not in told:
            told.add(each.source.path)
            below = figures.explain(each.source.path)
            yield below.path, figure_document(below)
            yield from _below(figures, below, depth - 1, told)


def input_document(one: Input) -> dict[str, Any]:
    """One input with its source."""
    return {
        "symbol": one.symbol,
        "name": one.name,
        "value": one.value,
        "unit": one.unit,
        "source": _source(one.source),
    }


def _source(source: Source) -> dict[str, Any]:
    arguments = [input_document(each) for each in arguments_of(source)]
    match source:
        case FigureSource():
            return {"kind": "figure", "path": source.path}
        case ReadingSource():
            return {
                "kind": "reading",
                "channel": source.channel,
                "quality": source.quality.value,
                "age_s": source.age_s,
                "why": source.why,
                "stands_in": source.stands_in,
            }
        case ConfigSource():
            return {"kind": "config", "file": source.file, "key": source.key, "line": source.line}
        case StepSource():
            return {
                "kind": "step",
                "label": source.label,
                "at_h": source.at_s / 3600.0,
                "sequence": source.sequence,
            }
        case PublishedSource():
            return {
                "kind": "published",
                "reference": source.reference,
                "where": source.where,
                "arguments": arguments,
            }
        case AssumptionSource():
            return {"kind": "assumption", "text": source.text}
        case DrawSource():
            return {
                "kind": "draw",
                "of": source.of,
                "number": source.number,
                "count": source.count,
                "seed": source.seed,
            }
        case CountSource():
            return {
                "kind": "count",
                "path": source.path,
                "which": source.which,
                "count": source.count,
                "seed": source.seed,
            }
        case _:
            return {"kind": "found", "how": source.how, "arguments": arguments}
