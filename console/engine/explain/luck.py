"""The luck of one sample: each uncertain thing's factor or error, and which sample an interval's end is."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats
from console.engine.explain.book import Book, assumed
from console.engine.explain.explanation import Explanation, Input
from console.engine.explain.grounds import CRAFT, PLAN
from console.engine.explain.moments import event_key
from console.engine.explain.paths import Keys
from console.engine.jumps import event_factor
from console.engine.planned_rate import LOADS_FACTOR, use_factor


@dataclass(frozen=True, kw_only=True, slots=True)
class End:
    """Which row of the samples one end of an interval is, and what must be said of it."""

    row: int
    value: float
    said: str


def end_of(samples: Floats, end: str) -> End:
    """One end of the interval of some samples: the rule of ``forecast.interval``, with the row it finds."""
    central = float(samples[0])
    if end == "p50" or len(samples) == 1:
        said = "the central case" if end == "p50" else "the central case: no samples were taken"
        return End(row=0, value=central, said=said)
    order = np.argsort(samples[1:], kind="stable")
    last = len(order) - 1
    place = math.floor(0.05 * last) if end == "p05" else math.ceil(0.95 * last)
    row = int(order[place]) + 1
    value = float(samples[row])
    is_central = central < value if end == "p05" else central > value
    if is_central:
        return End(
            row=0, value=central, said="the central case, which lies further out than the samples' end"
        )
    said = f"sample {row}: number {place + 1} of {len(order)} in rising order, {_share(end)}"
    return End(row=row, value=value, said=said)


def _share(end: str) -> str:
    return "below which 5 % lie" if end == "p05" else "above which 5 % lie"


def luck(book: Book, keys: Keys, row: int) -> Explanation | None:
    """``luck.NAME.sample-17``: the factor of one uncertain thing in one sample."""
    if len(keys) != 2:
        return None
    spread = _spread(book, keys[1])
    if spread is None:
        return None
    if row == 0:
        one = assumed("f", f"factor of {keys[1]}", 1.0, "1", "the central case: every factor is 1")
        return book.leaf(keys, row, f"factor of {keys[1]}", one)
    draws = book.grounds.draws
    value = float(draws.factor(keys[1], spread.value)[row])
    inputs = (spread, book.draw("z", keys[1], row))
    return book.explanation(keys, row, f"factor of {keys[1]}", value, "1", "exp(s * z)", inputs)


def factors(book: Book, names: Iterable[str], row: int) -> tuple[Input, ...]:
    """The factors of one sample that are not exactly 1, as f_1, f_2 and so on."""
    if row == 0:
        return ()
    found: list[Input] = []
    for name in names:
        spread = _spread(book, name)
        if spread is not None and spread.value:
            found.append(book.figure(f"f_{len(found) + 1}", "luck", name, row=row))
    return tuple(found)


def _spread(book: Book, name: str) -> Input | None:
    """One standard deviation of a factor, as a fraction."""
    grounds = book.grounds
    craft = grounds.craft
    absent = "no spread"
    if name == LOADS_FACTOR:
        value = craft.load_spread_fraction
        return book.config("s", "spread of all loads", value, "1", CRAFT, "load_spread", absent)
    for use in craft.uses:
        if use_factor(use.name) == name:
            key = f"uses.{use.name}.spread"
            return book.config("s", f"spread of {use.name}", use.spread_fraction, "1", CRAFT, key, absent)
    for event in grounds.ahead.events:
        if event_factor(event.name) == name:
            key = f"{event_key(grounds, event)}.spread"
            return book.config("s", f"spread of {event.name}", event.spread_fraction, "1", PLAN, key, absent)
    return None


def error_input(book: Book, of: str, row: int) -> Input:
    """The draw of one error, as z."""
    return book.draw("z", of, row)
