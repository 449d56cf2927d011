"""The closed forms and roots behind cabin clocks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from console.engine.explain.book import Book
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.paths import Keys, text_of
from console.engine.snapshot import CabinClock, ClockState, Interval
from console.units import Unit


def property_now_input(book: Book, clock: CabinClock, unit: Unit, readings: Iterable[Input]) -> Input:
    """The limited property by the last readings."""
    name = clock.limit.of.value.replace("_", " ")
    how = "by the cabin's last readings (console/engine/cabin/now.py)"
    return Input(
        symbol="now",
        name=name,
        value=unit.from_si(clock.now_si or 0.0),
        unit=unit.text,
        source=SolvedSource(how=how, arguments=tuple(readings)),
    )


def clock_reached(
    book: Book, keys: Keys, clock: CabinClock, title: str, readings: Iterable[Input]
) -> Explanation:
    """From now until the limit is reached, central case."""
    reached = clock.reached_in_s
    if reached is None or reached.p50 is None:
        said = "not reached within the clock's horizon" if reached is not None else "not known"
        return book.explanation(keys, 0, title, None, "h", "", (), (said, clock.why))
    value = reached.p50 / 3600.0
    if clock.state is ClockState.REACHED:
        how = "the property is beyond its limit now"
    else:
        how = (
            "the first moment at which the property's excess over its limit is zero, found piece by piece "
            "(console/engine/cabin/crossing.py)"
        )
    found = Input(
        symbol="reached",
        name="moment at which the limit is reached, from now",
        value=value,
        unit="h",
        source=SolvedSource(how=how, arguments=(*readings, book.figure("limit", *keys[:3], "at"))),
    )
    return book.explanation(keys, 0, title, value, "h", "reached", (found,), (clock.why,))


def clock_end(book: Book, keys: Keys, end: str, interval: Interval, what: Explanation) -> Explanation:
    """One end of a clock's interval: an order statistic of the cabin's own samples.

    Args:
        book: the book.
        keys: the figure's, without the end.
        end: p05, p50 or p95.
        interval: of the figure.
        what: the figure in the central case.
    """
    seconds = {"p05": interval.p05, "p50": interval.p50, "p95": interval.p95}[end]
    place = (*keys, end)
    if end == "p50":
        return replace(what, path=text_of(place))
    if seconds is None:
        return book.explanation(place, 0, what.title, None, "h", "", (), ("that end does not come",))
    value = seconds / 3600.0
    share = "a twentieth" if end == "p05" else "nineteen twentieths"
    how = (
        f"an order statistic of the cabin's samples, with {share} of them below it, or the central case where "
        "that lies further out; each sample's time is found as the central one is"
    )
    found = Input(
        symbol="x",
        name="that sample's time",
        value=value,
        unit="h",
        source=SolvedSource(how=how, arguments=what.inputs),
    )
    return book.explanation(place, 0, what.title, value, "h", "x", (found,), what.remarks)
