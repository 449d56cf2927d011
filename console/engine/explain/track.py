"""How a supply goes, step by step: figures under ``SUPPLY.course.K`` and ``SUPPLY.jumps.J``.

A step begins where a rate changes or something happens. The level at its beginning is what is usable now,
less every rate times its time, plus every jump since; row 0 of the samples is the central case.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from console.craft.model import Supply
from console.engine.explain.amounts import Amounts
from console.engine.explain.book import Book, assumed, series, summed
from console.engine.explain.explanation import Explanation, Input, SolvedSource
from console.engine.explain.kept import supply_keys
from console.engine.explain.moments import moment
from console.engine.explain.paths import Keys
from console.engine.forecast import Course
from console.engine.jumps import Jump


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Track:
    """One course of one supply, with what its figures are made from."""

    book: Book
    supply: Supply
    course: Course
    jumps: tuple[Jump, ...]
    """Those of the course, in the order of the supply's own."""
    home: Keys = ()
    """Behind the supply's keys: where the steps of this course stand."""
    start: Keys = ("usable_as_read",)
    """The figure at the beginning of the course."""

    @property
    def amounts(self) -> Amounts:
        """The supply's units."""
        return Amounts(supply=self.supply)

    @property
    def keys(self) -> Keys:
        """Of the supply."""
        return supply_keys(self.supply.name)

    @property
    def wanders(self) -> bool:
        """Whether its samples lie off the plan's rates by what wandering use takes."""
        return not self.home and self.book.grounds.ahead.use.luck is not None

    @property
    def now(self) -> int:
        """The step that begins now."""
        return int(np.searchsorted(self.course.times_s, self.book.grounds.at_s))

    @property
    def steps(self) -> range:
        """The numbers of its steps."""
        return range(1, len(self.course.times_s) + 1)

    def step_at(self, at_s: float) -> int:
        """The step in which a moment lies."""
        return max(int(np.searchsorted(self.course.times_s, at_s, side="right")) - 1, 0)

    def begins(self, symbol: str, step: int) -> Input:
        """When a step begins."""
        return moment(self.book, symbol, float(self.course.times_s[step]))

    def level(self, symbol: str, step: int, row: int) -> Input:
        """The level at the beginning of a step."""
        if step == self.now and not self.home:
            return self.book.figure(symbol, *self.keys, "usable", row=row)
        if step == 0:
            return self.book.figure(symbol, *self.keys, *self.start, row=row)
        return self.book.figure(symbol, *self.keys, *self.home, "course", str(step + 1), "level", row=row)

    def rate(self, symbol: str, step: int, row: int) -> Input:
        """The rate in a step: of its segment, but for what later readings have seen."""
        if step < self.now or (row and self.wanders):
            return self.book.figure(symbol, *self.keys, *self.home, "course", str(step + 1), "rate", row=row)
        return self.segment_rate(symbol, step, row)

    def segment_rate(self, symbol: str, step: int, row: int) -> Input:
        """The rate of the segment in which a step lies."""
        starts_s = self.book.grounds.ahead.use.starts_s
        number = int(np.searchsorted(starts_s, self.course.times_s[step], side="right"))
        return self.book.figure(symbol, *self.keys, "segments", str(number), "rate", row=row)

    def happened(self, after: int, step: int, row: int) -> tuple[Input, ...]:
        """Every jump after the beginning of one step and up to that of another, as j_1, j_2 and so on."""
        after_s, until_s = float(self.course.times_s[after]), float(self.course.times_s[step])
        own = self.book.grounds.ahead.supplies[self.supply.name].outlook.jumps
        found = []
        for jump in self.jumps:
            if after_s < jump.at_s <= until_s:
                number = next(place for place, one in enumerate(own, start=1) if one is jump)
                found.append(self.book.figure("j", *self.keys, "jumps", str(number), row=row))
        return series("j", found)


def level_si(course: Course, row: int, step: int) -> float:
    """The level of one sample at the beginning of a step, what happens at that moment included."""
    return float(course.starts_si[row, step])


def rate_si_per_s(course: Course, row: int, step: int) -> float:
    """The rate of one sample in a step."""
    return float(course.rates_si_per_s[row, step])


def track_of(book: Book, supply: Supply) -> Track | None:
    """The course of a supply under the plan; None where it is not known."""
    outlook = book.grounds.ahead.supplies[supply.name].outlook
    if outlook.course is None:
        return None
    return Track(book=book, supply=supply, course=outlook.course, jumps=outlook.jumps)


def course_figure(track: Track, keys: Keys, row: int) -> Explanation | None:
    """``…course.K.FIGURE``; ``keys`` are those behind ``course``."""
    if len(keys) != 2 or not keys[0].isascii() or not keys[0].isdecimal():
        return None
    step = int(keys[0]) - 1
    if not 0 <= step < len(track.course.times_s):
        return None
    place = (*track.keys, *track.home, "course", *keys)
    match keys[1]:
        case "level":
            return level_at(
                track, step, row, place, f"{track.supply.name} at the beginning of step {step + 1}"
            )
        case "lasts" if step + 1 < len(track.course.times_s):
            return _lasts(track, step, place)
        case "rate":
            return _rate(track, step, row, place)
        case "unseen" if step < track.now:
            return _unseen(track, step, place)
    return None


def level_at(
    track: Track, step: int, row: int, keys: Keys, title: str, remarks: tuple[str, ...] = ()
) -> Explanation:
    """What is usable at the beginning of a step, what happens at that moment included."""
    after = track.now if step > track.now and not track.home else 0
    value = track.amounts.amount(level_si(track.course, row, step))
    steps = range(after, step)
    rates = series("r", (track.rate("r", one, row) for one in steps))
    lengths = series(
        "d",
        (track.book.figure("d", *track.keys, *track.home, "course", str(one + 1), "lasts") for one in steps),
    )
    jumps = track.happened(after, step, row)
    text = "level"
    factor: tuple[Input, ...] = ()
    if rates:
        text += f" - sum(r_i * d_i){track.amounts.times}"
        factor = track.amounts.factor
    if jumps:
        text += f" + {summed('j', jumps)}"
    inputs = (track.level("level", after, row), *rates, *lengths, *jumps, *factor)
    return track.book.explanation(keys, row, title, value, track.amounts.unit, text, inputs, remarks)


def _lasts(track: Track, step: int, keys: Keys) -> Explanation:
    value = float(track.course.times_s[step + 1] - track.course.times_s[step]) / 3600.0
    inputs = (track.begins("end", step + 1), track.begins("begin", step))
    return track.book.explanation(keys, 0, f"length of step {step + 1}", value, "h", "end - begin", inputs)


def _rate(track: Track, step: int, row: int, keys: Keys) -> Explanation:
    value = track.amounts.rate(rate_si_per_s(track.course, row, step))
    title = f"rate of {track.supply.name} in step {step + 1}"
    inputs: tuple[Input, ...] = (track.segment_rate("rate", step, row),)
    text = "rate"
    if step < track.now and not track.home:
        share = track.book.figure("unseen", *track.keys, "course", str(step + 1), "unseen")
        inputs, text = (*inputs, share), "rate * unseen"
    if row and track.wanders:
        stray = track.book.figure("stray", *track.keys, "course", str(step + 1), "stray", row=row)
        inputs, text = (*inputs, stray), f"{text} + stray"
    return track.book.explanation(keys, row, title, value, track.amounts.rate_unit, text, inputs)


def _unseen(track: Track, step: int, keys: Keys) -> Explanation:
    """The share of a past draw that no later reading has seen."""
    at_s = float(track.course.times_s[step])
    return track.book.leaf(
        keys, 0, "share of the draw that no later reading has seen", unseen_share(track, at_s)
    )


def unseen_share(track: Track, at_s: float) -> Input:
    """The share at one past moment, by what each store that feeds can give."""
    held = track.book.grounds.ahead.supplies[track.supply.name].held
    share = next((share for since_s, share in reversed(held.unseen) if since_s <= at_s), 0.0)
    states = track.book.grounds.ahead.configuration.stores_at(at_s)
    gives = tuple(
        track.book.figure("g", *track.keys, "stores", store.name, "gives")
        for store in track.supply.stores
        if states[store.name].is_counted
        and track.book.grounds.known.quantities[store.name].held_si is not None
    )
    if not gives:
        why = "no gauged store feeds then"
        return assumed("unseen", "share no later reading has seen", share, "1", why)
    how = "what the feeding stores that were read by then can give, over what all that feed can give"
    return Input(
        symbol="unseen",
        name="share no later reading has seen",
        value=share,
        unit="1",
        source=SolvedSource(how=how, arguments=series("g", gives)),
    )


def runs_out_step(course: Course, row: int) -> int | None:
    """The step in which one sample first runs out: the rule of ``Course.runs_out_s``."""
    last = len(course.times_s) - 1
    for step in range(last + 1):
        start, rate = level_si(course, row, step), rate_si_per_s(course, row, step)
        if start <= 0.0:
            return step
        if rate > 0.0:
            end = (
                -np.inf if step == last else start - rate * (course.times_s[step + 1] - course.times_s[step])
            )
            if end <= 0.0:
                return step
    return None


def runs_out(track: Track, row: int, keys: Keys, title: str) -> Explanation:
    """When it runs out: t = t_k + level_k / rate_k in the step in which it does."""
    out_s = float(track.course.runs_out_s()[row])
    step = runs_out_step(track.course, row)
    if not np.isfinite(out_s) or step is None:
        return track.book.explanation(keys, row, title, None, "h", "", (), ("it does not run out",))
    value = out_s / 3600.0
    begin = track.begins("begin", step)
    if level_si(track.course, row, step) <= 0.0:
        level = track.level("level", step, row)
        remark = f"it is gone when that step begins: {level.value:.6g} {level.unit}"
        return track.book.explanation(keys, row, title, value, "h", "begin", (begin,), (remark,))
    inputs = (
        begin,
        track.level("level", step, row),
        track.rate("rate", step, row),
        *track.amounts.factor,
    )
    text = f"begin + level / rate{track.amounts.over}"
    return track.book.explanation(keys, row, title, value, "h", text, inputs)
