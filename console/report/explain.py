"""An explanation as lines of plain text: the equation with its numbers first, then every input."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from console.display import age_text, clean_text, elapsed_text
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
from console.engine.explain.expression import Call, Node, parse, substituted, value_of
from console.engine.explain.figures import Figures
from console.report.columns import WIDTH

_STEP = "  "


def explanation_text(figures: Figures, one: Explanation, depth: int = 0) -> str:
    """One figure; with a depth, the figures behind it that many levels down, each once.

    Args:
        figures: where the figures behind it are found.
        one: the figure.
        depth: how many levels are unfolded.
    """
    return "\n".join(_lines(figures, one, depth, "", {one.path}))


def _lines(figures: Figures, one: Explanation, depth: int, indent: str, told: set[str]) -> Iterator[str]:
    yield from head_lines(one, indent)
    for each in one.inputs:
        yield from _input_lines(each, f"{indent}{_STEP}")
        if depth > 0 and isinstance(each.source, FigureSource) and each.source.path not in told:
            told.add(each.source.path)
            below = figures.explain(each.source.path)
            yield from _lines(figures, below, depth - 1, f"{indent}{_STEP}{_STEP}", told)
    for remark in one.remarks:
        yield from _wrapped(f"note: {remark}", f"{indent}{_STEP}")


def head_lines(one: Explanation, indent: str = "") -> Iterator[str]:
    """What it is and how much, its equation, and the same with its numbers."""
    if one.value is None:
        yield from _wrapped(f"{one.path}: no value", indent)
        yield from _wrapped(one.title, f"{indent}{_STEP}")
        return
    yield from _wrapped(f"{one.path} = {_with_unit(one.value, one.unit)}", indent)
    yield from _wrapped(one.title, f"{indent}{_STEP}")
    yield from _wrapped(f"= {one.equation}", f"{indent}{_STEP}")
    values = {each.symbol: each.value for each in one.inputs}
    tree = parse(one.equation)
    if values and not _is_alone(tree):
        filled = substituted(
            tree,
            lambda name: _number(values[name]),
            lambda part: _number(value_of(part, values)),
        )
        yield from _wrapped(f"= {filled}", f"{indent}{_STEP}")


def _is_alone(tree: Node) -> bool:
    """Whether an equation with its numbers would say no more than its value does."""
    from console.engine.explain.expression import Symbol, runs_over_series

    return isinstance(tree, Symbol) or (isinstance(tree, Call) and runs_over_series(tree))


def _input_lines(one: Input, indent: str) -> Iterator[str]:
    yield from _wrapped(f"{one.symbol} = {_with_unit(one.value, one.unit)}  {one.name}", indent)
    yield from _wrapped(source_text(one.source), f"{indent}{_STEP}{_STEP}")
    for argument in arguments_of(one.source):
        words = f"{argument.symbol} = {_with_unit(argument.value, argument.unit)}  {argument.name}: "
        yield from _wrapped(f"{words}{source_text(argument.source)}", f"{indent}{_STEP * 3}")


def source_text(source: Source) -> str:
    """Where an input comes from, in words."""
    match source:
        case FigureSource():
            return f"see {source.path}"
        case ReadingSource():
            bad = f", {source.quality.value}: {source.why}" if source.why else f", {source.quality.value}"
            instead = f"; {source.stands_in}" if source.stands_in else ""
            return f"reading of {source.channel}, {age_text(source.age_s)} old{bad}{instead}"
        case ConfigSource():
            line = "" if source.line is None else f" line {source.line}"
            return f"{source.file}{line}: {source.key}"
        case StepSource():
            entry = "" if source.sequence is None else f", journal entry {source.sequence}"
            return f"logged step {source.label}, {elapsed_text(source.at_s)}{entry}"
        case PublishedSource():
            return f"published: {source.reference} ({source.where})"
        case AssumptionSource():
            return f"assumed: {source.text}"
        case DrawSource():
            return f"draw {source.number} of {source.count}, seed {source.seed} (console/engine/draws.py)"
        case CountSource():
            return (
                f"counted: of {source.count} samples of {source.path}, those that are {source.which} "
                f"(seed {source.seed}; see {source.path}.sample-1 and on)"
            )
        case _:
            return f"found: {source.how}"


def _with_unit(value: float, unit: str) -> str:
    return _number(value) if unit == "1" else f"{_number(value)} {unit}"


def _number(value: float) -> str:
    """Seven figures: enough to follow the sum by hand."""
    return f"{value:.7g}"


def _wrapped(text: str, indent: str) -> list[str]:
    """Text from outside does nothing here, and no line is wider than a terminal of 80 columns."""
    deep = indent[: WIDTH // 2]
    return textwrap.wrap(
        clean_text(text).replace("\n", " "),
        width=WIDTH,
        initial_indent=deep,
        subsequent_indent=f"{deep}{_STEP}",
        break_on_hyphens=False,
    )
