"""Explanations by path, each made once, from the grounds of one assessment.

Families of figures (``supplies``, ``need`` and the like) say how each is made; this file knows none of them
by name, but hands each path to whichever family knows it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any, TypeAlias

from console.craft.channels import Measured
from console.engine.configuration import ConfigurationChange
from console.engine.draws import standard_draws
from console.engine.explain.explanation import (
    AssumptionSource,
    ConfigSource,
    DrawSource,
    Explanation,
    FigureSource,
    Input,
    PublishedSource,
    ReadingSource,
    Source,
    StepSource,
)
from console.engine.explain.grounds import Grounds, H
from console.engine.explain.paths import Keys, sample_key, text_of
from console.engine.explain.stand_ins import stands_in
from console.engine.quantity import NO_READING
from console.engine.whatif import LABEL


class NoFigureError(LookupError):
    """There is no figure at a path."""


class NotAskedError(NoFigureError):
    """A figure goes by a question that was not asked; the text says with which words it is."""


Family: TypeAlias = "Callable[[Book, Keys, int], Explanation | None]"
"""Given the keys without end or sample, and the row of the samples: the explanation, or None."""


class Book:
    """The explanations of one assessment.

    Args:
        grounds: what the figures came from.
        families: what knows the figures, by the first of a path's keys; the empty key for supplies.
        home: the keys in front of every path, for the figures of another way home.
    """

    def __init__(self, grounds: Grounds, families: Mapping[str, Family], home: Keys = ()) -> None:
        self.grounds = grounds
        self.home = home
        self._families = families
        self.kept: dict[str, Any] = {}
        """What a family has made once and needs again."""
        self._made: dict[tuple[Keys, int], Explanation] = {}
        self._making: set[tuple[Keys, int]] = set()

    def at(self, keys: Keys, row: int = 0) -> Explanation:
        """The explanation of one figure in one row of the samples, 0 for the central case.

        Raises:
            NoFigureError: there is none.
        """
        place = (keys, row)
        if place not in self._made:
            if place in self._making:
                raise RuntimeError(f"the explanation of {text_of(keys)} leads back to itself")
            self._making.add(place)
            try:
                self._made[place] = self._new(keys, row)
            finally:
                self._making.discard(place)
        return self._made[place]

    def _new(self, keys: Keys, row: int) -> Explanation:
        if not keys or not 0 <= row <= self.grounds.draws.count:
            raise NoFigureError(text_of(keys))
        family = self._families.get(keys[0], self._families.get(""))
        made = None if family is None else family(self, keys, row)
        if made is None:
            raise NoFigureError(text_of((*keys, *sample_key(row))))
        return made

    def explanation(
        self,
        keys: Keys,
        row: int,
        title: str,
        value: float | None,
        unit: str,
        equation: str,
        inputs: Iterable[Input] = (),
        remarks: Iterable[str] = (),
    ) -> Explanation:
        """An explanation; one without a value has neither equation nor inputs."""
        known = value is not None
        return Explanation(
            path=text_of((*self.home, *keys, *sample_key(row))),
            title=title,
            value=value,
            unit=unit,
            equation=equation if known else "",
            inputs=tuple(inputs) if known else (),
            remarks=tuple(filter(None, remarks)),
        )

    def leaf(self, keys: Keys, row: int, title: str, one: Input, remarks: Iterable[str] = ()) -> Explanation:
        """The explanation of a figure that is just one number from outside."""
        return self.explanation(keys, row, title, one.value, one.unit, one.symbol, (one,), remarks)

    # What stands in an equation.

    def figure(self, symbol: str, *keys: str, row: int = 0) -> Input:
        """Another figure."""
        return another(symbol, self.at(keys, row))

    def config(
        self, symbol: str, name: str, value: float, unit: str, file: str, key: str, absent: str = ""
    ) -> Input:
        """What a file of the scenario says, or what is taken where it does not."""
        lines = self.grounds.lines.get(file)
        source: Source
        supposed = self.grounds.supposed_words(file, key, value)
        if supposed:
            source = AssumptionSource(text=supposed)
        elif lines is None or key in lines:
            source = ConfigSource(file=file, key=key, line=None if lines is None else lines[key])
        else:
            source = AssumptionSource(text=f"{absent or 'what is taken by default'} ({file} has no {key})")
        return Input(symbol=symbol, name=name, value=value, unit=unit, source=source)

    def measured(
        self, symbol: str, name: str, measured: Measured, value: float, unit: str, file: str, key: str
    ) -> Input:
        """A property that a channel reads, or that the config states."""
        if measured.channel is None:
            return self.config(symbol, name, value, unit, file, key)
        return self.reading(symbol, name, measured.channel, value, unit)

    def reading(self, symbol: str, name: str, channel: str, value: float, unit: str) -> Input:
        """What an instrument says."""
        reading = self.grounds.known.feed.readings.get(channel, NO_READING)
        source = ReadingSource(
            channel=channel,
            quality=reading.quality,
            age_s=reading.age_s(self.grounds.at_s),
            why=reading.why,
            stands_in=stands_in(self.grounds, channel, reading),
        )
        return Input(symbol=symbol, name=name, value=value, unit=unit, source=source)

    def draw(self, symbol: str, of: str, row: int) -> Input:
        """The luck of one sample for one uncertain thing."""
        draws = self.grounds.draws
        return Input(
            symbol=symbol,
            name=f"draw of {of}",
            value=float(standard_draws(of, draws.seed, draws.count)[row]),
            unit="1",
            source=DrawSource(of=of, number=row, count=draws.count, seed=draws.seed),
        )


def another(symbol: str, other: Explanation) -> Input:
    """Another figure as an input.

    Raises:
        NoFigureError: it has no value.
    """
    if other.value is None:
        raise NoFigureError(f"{other.path} has no value, and an equation asks for it")
    source = FigureSource(path=other.path)
    return Input(symbol=symbol, name=other.title, value=other.value, unit=other.unit, source=source)


def step(symbol: str, name: str, value: float, unit: str, change: ConfigurationChange) -> Input:
    """What a logged step says, or one that is only supposed."""
    source: Source = StepSource(label=change.label, at_s=change.at_s, sequence=change.sequence)
    if change.label == LABEL:
        source = AssumptionSource(text="supposed by the change that is asked about; nobody has logged it")
    return Input(symbol=symbol, name=name, value=value, unit=unit, source=source)


def assumed(symbol: str, name: str, value: float, unit: str, why: str) -> Input:
    """What is taken to be so."""
    return Input(symbol=symbol, name=name, value=value, unit=unit, source=AssumptionSource(text=why))


def published(
    symbol: str,
    name: str,
    value: float,
    unit: str,
    reference: str,
    where: str,
    arguments: Iterable[Input] = (),
) -> Input:
    """A published constant, or the value of a published relation."""
    source = PublishedSource(reference=reference, where=where, arguments=tuple(arguments))
    return Input(symbol=symbol, name=name, value=value, unit=unit, source=source)


def series(stem: str, inputs: Iterable[Input]) -> tuple[Input, ...]:
    """Inputs as a series: stem_1, stem_2 and so on."""
    return tuple(replace(one, symbol=f"{stem}_{number}") for number, one in enumerate(inputs, start=1))


def summed(stem: str, inputs: tuple[Input, ...]) -> str:
    """The sum of a series as it stands in an equation; nothing where the series is empty."""
    return f"sum({stem}_i)" if inputs else "0"


def hours(seconds: float) -> float:
    """Seconds as they stand in equations."""
    return seconds / H
