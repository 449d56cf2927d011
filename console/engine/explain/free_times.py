"""The free phases of one supply in time: how long they and the power-ups last, and what they must reach.

A free segment is one of the plan's in which nothing powers up; see ``allowance_profile``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.craft.model import Supply
from console.engine.allowance_profile import (
    POWER_UP_FACTOR,
    AllowanceProfile,
    FreeTime,
    power_of_loads_w,
)
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book, series
from console.engine.explain.explanation import Explanation, Input
from console.engine.explain.kept import supply_keys
from console.engine.explain.moments import moment
from console.engine.explain.paths import Keys
from console.engine.explain.track import Track


@dataclass(frozen=True, kw_only=True, slots=True)
class FreePhases:
    """The free phases of one supply with what their figures are made from."""

    book: Book
    supply: Supply
    track: Track | None
    """None where what is usable is not known: then there are times alone."""
    profile: AllowanceProfile
    free: FreeTime

    @property
    def amounts(self) -> Amounts:
        """The supply's units."""
        return Amounts(supply=self.supply)

    @property
    def home(self) -> Keys:
        """Of the supply."""
        return supply_keys(self.supply.name)

    @property
    def keys(self) -> Keys:
        """Down to the block."""
        return (*self.home, "free_phases")

    @property
    def need_s(self) -> float:
        """The central need."""
        return self.book.grounds.ahead.option.need_s

    @property
    def until_s(self) -> float:
        """Until when what is there must last: need, or the moment that holds the allowance down."""
        held = self.profile.held_down_at_s
        return self.need_s if held is None else held

    def segments(self, until_s: float, *, is_free: bool) -> list[int]:
        """The segments between now and a moment in which nothing powers up, or something does; from 1."""
        grounds = self.book.grounds
        starts_s = grounds.ahead.use.starts_s
        ends_s = np.append(starts_s[1:], np.inf)
        begun = {begin for begin, _ in self.free.spans_s}
        return [
            number
            for number, (start, end) in enumerate(zip(starts_s.tolist(), ends_s.tolist(), strict=True), 1)
            if min(end, until_s) > max(start, grounds.at_s) and (max(start, grounds.at_s) in begun) is is_free
        ]


def not_had(one: FreePhases, figure: str, title: str, unit: str) -> Explanation:
    """A figure that cannot be had."""
    said = (one.profile.why or "there is no free time before need",)
    return one.book.explanation((*one.keys, figure), 0, title, None, unit, "", (), said)


def time_figure(one: FreePhases, keys: Keys) -> Explanation | None:
    """A time, or what the power-ups take; None for any other figure."""
    match keys:
        case ("free",):
            return _time(one, keys, "time until need in which nothing powers up", is_free=True)
        case ("power_up",):
            return _time(one, keys, "time until need in which something powers up", is_free=False)
        case ("power_ups_take",):
            return _power_ups_take(one)
        case ("spans", text):
            return _span(one, text)
        case ("held_down_at",):
            return _held_down_at(one)
    return None


def _time(one: FreePhases, keys: Keys, title: str, *, is_free: bool) -> Explanation:
    """The segments of that kind together."""
    book = one.book
    numbers = one.segments(one.need_s, is_free=is_free)
    lengths = series("d", (book.figure("d", *one.home, "ledger", "spans", str(n)) for n in numbers))
    seconds = one.profile.free_s if is_free else one.profile.power_up_s
    text = "sum(d_i)" if lengths else "0"
    place, said = (*one.keys, *keys), (_which(one),)
    return book.explanation(place, 0, title, seconds / 3600.0, "h", text, lengths, said)


def _which(one: FreePhases) -> str:
    """Which segments power up, with the power that tells them."""
    grounds = one.book.grounds
    power_w = power_of_loads_w(grounds.craft, grounds.ahead.use)
    rule = f"a power-up is a segment whose loads take more than {POWER_UP_FACTOR:g} times the median power"
    up = [
        f"segment {number} {power_w[number - 1]:.6g} W" for number in one.segments(one.need_s, is_free=False)
    ]
    free = [power_w[number - 1] for number in one.segments(one.need_s, is_free=True)]
    rest = f"the others at most {max(free):.6g} W" if free else "all of them"
    return f"{rule}: {', '.join(up) or 'none'}; {rest} (console/engine/allowance_profile.py)"


def _power_ups_take(one: FreePhases) -> Explanation:
    """Rate times time of every segment that powers up; without one, the whole use less that of the free."""
    amounts, title = one.amounts, "what the planned power-ups until need take"
    if one.profile.power_ups_take_si is None:
        return not_had(one, "power_ups_take", title, amounts.unit)
    value = amounts.amount(one.profile.power_ups_take_si)
    numbers = one.segments(one.need_s, is_free=False)
    if numbers:
        inputs = rates_and_times(one, numbers, "r", "d", "ledger")
        text = f"sum(r_i * d_i){amounts.times}"
        said: tuple[str, ...] = (_which(one),)
    else:
        free = one.segments(one.need_s, is_free=True)
        inputs = (
            *rates_and_times(one, free, "r", "d", "ledger"),
            *rates_and_times(one, free, "q", "e", "ledger"),
        )
        text = f"(sum(r_i * d_i) - sum(q_i * e_i)){amounts.times}"
        said = ("no segment powers up: all use less that of the free segments", _which(one))
    place = (*one.keys, "power_ups_take")
    return one.book.explanation(place, 0, title, value, amounts.unit, text, (*inputs, *amounts.factor), said)


def rates_and_times(
    one: FreePhases, numbers: list[int], rate: str, time: str, block: str
) -> tuple[Input, ...]:
    """The plan's central rate and the time of some segments, as two series."""
    book, home = one.book, one.home
    rates = series(rate, (book.figure(rate, *home, "segments", str(n), "rate") for n in numbers))
    times = series(time, (book.figure(time, *home, block, "spans", str(n)) for n in numbers))
    return (*rates, *times)


def _span(one: FreePhases, text: str) -> Explanation | None:
    """How long a segment lasts between now and the moment that what is there must last until."""
    numbers = one.segments(one.until_s, is_free=True)
    if not text.isascii() or not text.isdecimal() or int(text) not in numbers:
        return None
    number, grounds = int(text), one.book.grounds
    starts_s = grounds.ahead.use.starts_s
    end_s = float(starts_s[number]) if number < len(starts_s) else math.inf
    begin_s = max(float(starts_s[number - 1]), grounds.at_s)
    end = until(one, "end") if end_s >= one.until_s else moment(one.book, "end", end_s)
    value = (min(end_s, one.until_s) - begin_s) / 3600.0
    title = f"time of segment {number} that lies before then"
    inputs = (end, moment(one.book, "begin", begin_s))
    return one.book.explanation((*one.keys, "spans", text), 0, title, value, "h", "end - begin", inputs)


def until(one: FreePhases, symbol: str) -> Input:
    """The moment until which what is there must last."""
    if one.profile.held_down_at_s is None:
        return one.book.figure(symbol, "need", "at")
    return moment(one.book, symbol, one.profile.held_down_at_s)


def _held_down_at(one: FreePhases) -> Explanation:
    title = "until when what is there now must last, where that holds the allowance down"
    place = (*one.keys, "held_down_at")
    if one.profile.held_down_at_s is None:
        said = (one.profile.why or "it is the need that it must last until",)
        return one.book.explanation(place, 0, title, None, "h", "", (), said)
    one_moment = moment(one.book, "t", one.profile.held_down_at_s)
    return one.book.leaf(place, 0, title, one_moment)
