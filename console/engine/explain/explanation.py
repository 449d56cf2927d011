"""What an explanation is: a figure, its equation, and every input with where it comes from. Frozen.

The equation is text of ``expression``; with the inputs it gives the figure. Units are for reading: an
equation holds in the units that stand beside its inputs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from console.engine.reading import Quality


@dataclass(frozen=True, kw_only=True, slots=True)
class FigureSource:
    """Another figure, which has an explanation of its own."""

    path: str


@dataclass(frozen=True, kw_only=True, slots=True)
class ReadingSource:
    """What an instrument last said."""

    channel: str
    quality: Quality
    age_s: float | None
    why: str = ""
    """Why it is not good."""
    stands_in: str = ""
    """What is taken in place of its newest word, where its history speaks against that."""


@dataclass(frozen=True, kw_only=True, slots=True)
class ConfigSource:
    """What stands in one of the scenario's files."""

    file: str
    key: str
    """The keys down to it, as ``supplies.power.reserve``; an item of a list by its name, in brackets."""
    line: int | None
    """Counted from 1; None where the scenario did not come from files."""


@dataclass(frozen=True, kw_only=True, slots=True)
class StepSource:
    """A logged step."""

    label: str
    at_s: float
    sequence: int | None
    """Of its entry in the journal; None where that is not known."""


@dataclass(frozen=True, kw_only=True, slots=True)
class PublishedSource:
    """A constant, or a value of a published relation at arguments that stand beside it."""

    reference: str
    where: str
    """The module that holds it."""
    arguments: tuple[Input, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class AssumptionSource:
    """What is taken to be so, and why."""

    text: str


@dataclass(frozen=True, kw_only=True, slots=True)
class DrawSource:
    """The luck of one sample: a standard normal draw for one uncertain thing."""

    of: str
    number: int
    count: int
    seed: int


@dataclass(frozen=True, kw_only=True, slots=True)
class CountSource:
    """A count over samples, each of which is a figure of its own."""

    path: str
    """Of the figure whose samples are counted; ``PATH.sample-17`` is one of them."""
    which: str
    """Those that count."""
    count: int
    seed: int


@dataclass(frozen=True, kw_only=True, slots=True)
class SolvedSource:
    """A number that no closed form gives: found by search or by a filter, from what stands beside it."""

    how: str
    arguments: tuple[Input, ...] = ()


Source: TypeAlias = (
    FigureSource
    | ReadingSource
    | ConfigSource
    | StepSource
    | PublishedSource
    | AssumptionSource
    | DrawSource
    | CountSource
    | SolvedSource
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Input:
    """One number of an equation."""

    symbol: str
    name: str
    """What it is, in words."""
    value: float
    unit: str
    source: Source


@dataclass(frozen=True, kw_only=True, slots=True)
class Explanation:
    """One figure."""

    path: str
    title: str
    """What it is, in words."""
    value: float | None
    """None where it cannot be had, or does not come: ``remarks`` says why."""
    unit: str
    """``1`` for a number without one."""
    equation: str
    """Empty where there is no value."""
    inputs: tuple[Input, ...]
    remarks: tuple[str, ...] = ()


def arguments_of(source: Source) -> tuple[Input, ...]:
    """What stands beside a source that is a value of a relation or the end of a search."""
    return source.arguments if isinstance(source, PublishedSource | SolvedSource) else ()
