"""When a limit of the cabin is reached: by its closed form, else by the root that was searched."""

from __future__ import annotations

import math

import numpy as np

from console.craft.cabin import CabinProperty
from console.engine.draws import Floats
from console.engine.explain.book import Book, assumed
from console.engine.explain.cabin_pieces import CABIN, level_input, piece_figure
from console.engine.explain.cabin_way import QUANTITIES, Run, clock_samples_s, run_of
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.grounds import CRAFT
from console.engine.explain.moments import moment
from console.engine.explain.paths import Keys
from console.engine.snapshot import CabinClock, ClockState, Supposition

H = 3600.0


def clock_figure(
    book: Book, keys: Keys, clock: CabinClock, row: int, readings: tuple[Input, ...]
) -> Explanation | None:
    """``cabin.LIMIT.SUPPOSITION.…`` of what is reached when; ``keys`` are all of them."""
    words = f"{clock.limit.name}, {clock.supposition.value}"
    match keys[3:]:
        case ("reached_in",):
            return _reached_in(book, keys, clock, row, f"time until {words}", readings)
        case ("margin",):
            return _margin(book, keys, clock, row, f"time by which {words} is reached after need")
        case ("reached_at",):
            run = run_of(book, clock, row)
            return None if run is None else _reached_at(run, keys, f"moment of {words}", readings)
        case ("course", *rest):
            run = run_of(book, clock, row)
            return None if run is None else piece_figure(run, keys, tuple(rest), readings)
    return None


def _known(clock: CabinClock) -> bool:
    return clock.reached_in_s is not None and clock.state is not ClockState.UNKNOWN


def _reached_in(
    book: Book, keys: Keys, clock: CabinClock, row: int, title: str, readings: tuple[Input, ...]
) -> Explanation | None:
    if not _known(clock):
        return book.explanation(keys, row, title, None, "h", "", (), ("not known", clock.why))
    if clock.state is ClockState.REACHED:
        said = ("the property is beyond its limit now", clock.why)
        return book.explanation(keys, row, title, 0.0, "h", "0", (), said)
    if clock.supposition is Supposition.TREND:
        return None if row else _by_trend(book, keys, clock, title, readings)
    run = run_of(book, clock, row)
    if run is None:
        return None
    if not math.isfinite(run.at_s):
        said = ("not reached within the clock's horizon", clock.why)
        return book.explanation(keys, row, title, None, "h", "", (), said)
    value = max(run.at_s - book.grounds.at_s, 0.0) / H
    inputs = (
        book.figure("reached", *keys[:3], "reached_at", row=row),
        book.figure("now", "elapsed"),
    )
    return book.explanation(keys, row, title, value, "h", "max(0, reached - now)", inputs, (clock.why,))


def _by_trend(
    book: Book, keys: Keys, clock: CabinClock, title: str, readings: tuple[Input, ...]
) -> Explanation:
    """The line through the last hour's readings, which only the engine's memory holds."""
    central = None if clock.reached_in_s is None else clock.reached_in_s.p50
    if central is None:
        return book.explanation(keys, 0, title, None, "h", "", (), ("the trend does not reach it", clock.why))
    how = "where the straight line through the readings of the last hour meets the limit (engine/trend.py)"
    arguments = (*readings, book.figure("limit", *keys[:3], "at"))
    source = SolvedSource(how=how, arguments=arguments)
    one = Input(symbol="reached", name="end of the trend's line", value=central / H, unit="h", source=source)
    return book.explanation(keys, 0, title, central / H, "h", "reached", (one,), (clock.why,))


def _margin(book: Book, keys: Keys, clock: CabinClock, row: int, title: str) -> Explanation | None:
    if clock.margin_s is None:
        said = "not known" if not _known(clock) else "reckoned for plan and trend alone"
        return book.explanation(keys, row, title, None, "h", "", (), (said, clock.why))
    reached = book.at((*keys[:3], "reached_in"), row)
    if reached.value is None:
        return book.explanation(keys, row, title, None, "h", "", (), ("it does not come", clock.why))
    samples = clock_samples(book, keys, clock)
    seconds = clock.margin_s.p50 if samples is None else float(samples[row])
    value = None if seconds is None else seconds / H
    inputs = (
        book.figure("reached", *keys[:3], "reached_in", row=row),
        book.figure("now", "elapsed"),
        book.figure("need", "need", "at", row=row),
    )
    return book.explanation(keys, row, title, value, "h", "reached + now - need", inputs, (clock.why,))


def _reached_at(run: Run, keys: Keys, title: str, readings: tuple[Input, ...]) -> Explanation:
    if not math.isfinite(run.at_s):
        return run.book.explanation(keys, run.row, title, None, "h", "", (), ("it is not reached",))
    if run.clock.limit.of in QUANTITIES and not run.clock.limit.is_share:
        return _closed(run, keys, title)
    return _searched(run, keys, title, readings)


def _closed(run: Run, keys: Keys, title: str) -> Explanation:
    """T = t_k + ln(1 + k (L - x) / (g - k L)) / k in the piece in which the limit is passed."""
    piece, begins = run.first_piece()
    book, place = run.book, (*keys[:3], "course", str(piece + 1))
    begin = moment(book, "begin", run.start_s(piece))
    value = run.at_s / H
    if begins or run.at_s == run.start_s(piece):
        level = book.figure("x", *place, "level", row=run.row)
        passed = f"it is beyond its limit as this piece begins: {level.value:.6g} {level.unit}"
        return book.explanation(keys, run.row, title, value, "h", "begin", (begin,), (passed,))
    if run.at_s == run.start_s(piece) + run.span_s(piece):
        lasts = book.figure("d", *place, "lasts", row=run.row)
        said = ("it is passed as this piece ends",)
        return book.explanation(keys, run.row, title, value, "h", "begin + d", (begin, lasts), said)
    limit = run.clock.limit
    unit = "K" if limit.of is CabinProperty.TEMPERATURE else "Pa"
    key = f"cabin.limits[{limit.name}].{limit.side.value}"
    inputs = (
        begin,
        book.config("L", f"limit {limit.name}", limit.at_si, unit, CRAFT, key),
        level_input(run, keys, "x", piece),
        book.figure("g", *place, "gain", row=run.row),
    )
    decay = book.figure("k", *place, "decay", row=run.row)
    if decay.value == 0.0:
        return book.explanation(keys, run.row, title, value, "h", "begin + (L - x) / g", inputs, (CABIN,))
    text = "begin + log(1 + k * (L - x) / (g - k * L)) / k"
    return book.explanation(keys, run.row, title, value, "h", text, (*inputs, decay), (CABIN,))


def _searched(run: Run, keys: Keys, title: str, readings: tuple[Input, ...]) -> Explanation:
    """A property that combines quantities: the root, with the property's value at it beside the limit."""
    book, limit = run.book, run.clock.limit
    shown = book.figure("limit", *keys[:3], "at")
    there = run.property_at(run.at_s)
    words = limit.of.value.replace("_", " ")
    unit = "1" if limit.is_share or limit.of is CabinProperty.HUMIDITY else "Pa"
    unit = "K" if limit.of is CabinProperty.APPARENT_TEMPERATURE else unit
    beside = assumed("there", f"{words} at that moment", there, unit, "by the cabin's course")
    stated = book.config(
        "L", f"limit {limit.name}", limit.at_si, unit, CRAFT, f"cabin.limits[{limit.name}].{limit.side.value}"
    )
    how = (
        f"the first moment from now at which {words} less its limit is zero, searched piece by piece between "
        "bounds (console/engine/cabin/crossing.py)"
    )
    source = SolvedSource(how=how, arguments=(beside, stated, shown, *readings))
    value = run.at_s / H
    one = Input(symbol="root", name="the root", value=value, unit="h", source=source)
    excess = f"at the root {words} less its limit is {there - limit.at_si:.3g} {unit if unit != '1' else ''}"
    return book.explanation(keys, run.row, title, value, "h", "root", (one,), (excess.rstrip(), CABIN))


def clock_samples(book: Book, keys: Keys, clock: CabinClock) -> Floats | None:
    """The samples of a clock's interval; None where it has none."""
    if not _known(clock) or (keys[3] == "margin" and clock.margin_s is None):
        return None
    times = clock_samples_s(book, clock)
    if times is None:
        return None
    at_s = book.grounds.at_s
    in_s = np.zeros_like(times) if clock.state is ClockState.REACHED else np.maximum(times - at_s, 0.0)
    if keys[3] == "reached_in":
        return in_s
    option, grounds = book.grounds.ahead.option, book.grounds
    error_s = grounds.draws.error(f"arrival of {option.name}", option.arrival_spread_s)[: len(in_s)]
    margin: Floats = in_s + at_s - (option.need_s + error_s)
    return margin


def trend_end(book: Book, keys: Keys, clock: CabinClock, end: str) -> Explanation:
    """One end of the interval of a trend's clock: no sample, but the line's own standard error."""
    interval = clock.reached_in_s if keys[3] == "reached_in" else clock.margin_s
    place, what = (*keys, end), book.at(keys)
    seconds = (
        None if interval is None else {"p05": interval.p05, "p50": interval.p50, "p95": interval.p95}[end]
    )
    if seconds is None:
        return book.explanation(place, 0, what.title, None, "h", "", (), ("that end does not come",))
    how = "the trend's line with its slope's standard error (console/engine/trend.py), and the need's spread"
    source = SolvedSource(how=how, arguments=what.inputs)
    one = Input(symbol="x", name="that end", value=seconds / H, unit="h", source=source)
    return book.explanation(place, 0, what.title, seconds / H, "h", "x", (one,), what.remarks)
