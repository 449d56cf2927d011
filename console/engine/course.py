"""How one supply goes over time in every sample, in closed form, without a table of samples by moments.

A level is what there is to begin with, and what jumps have added, less the sum over groups of uses of the
sample's factor times what the group has taken by then. So a level costs a few products, and the first moment
at zero is halved in on, within stretches in which no sample rises; between two moments it is linear, and the
crossing exact. Row 0 of what is given by sample is the central case.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from console.engine.course_rates import SampledRates, product, product_table
from console.engine.course_stretches import Indices, Stretches, stretches_of
from console.engine.draws import Floats

HORIZON_S = 200 * 365.25 * 86400.0
"""What lasts longer than two hundred years does not run out, for this board; no need lies as far."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Course:
    """How one supply goes from now on; made by ``course_of``. Levels go on below zero as a shortfall."""

    times_s: Floats
    """Shape (moments,), rising: nothing changes between one and the next, nor after the last."""
    begin_si: Floats
    """Before anything is taken or added, shape (samples,)."""
    rates: SampledRates
    """From each moment to the next, and from the last one on for ever."""
    taken_si: Floats
    """By each group at a factor of 1 up to each moment, shape (groups, moments)."""
    added_si: Floats
    """All that was added by jumps: before the first one, after it, and so on; shape (jumps + 1, samples)."""
    jumps_by: Indices
    """How many jumps there have been at each moment, its own included, shape (moments,)."""
    kept: dict[str, Floats | Stretches | Course] = field(init=False, default_factory=dict, repr=False)
    """What was found already."""

    @property
    def count(self) -> int:
        """How many samples, the central case included."""
        return len(self.begin_si)

    def runs_out_s(self) -> Floats:
        """When the usable amount first reaches zero, shape (samples,); infinite where it does not.

        A supply that is refilled after it ran out has run out all the same: the first crossing counts.
        """
        found = self.kept.get("runs out")
        if not isinstance(found, np.ndarray):
            found = self.runs_out_after_s(float(self.times_s[0]), np.zeros(1))
            found.setflags(write=False)
            self.kept["runs out"] = found
        return found

    def runs_out_after_s(self, at_s: float, more_si: Floats) -> Floats:
        """The same from a moment on, were there so much more in each sample; not before that moment."""
        here = self._step_at(at_s)
        stretches = self._stretches()
        level = self.left_at_si(at_s) + more_si
        number, is_end = stretches.first_end(here, more_si, level)
        step = self._step_of_end(stretches, number, here, more_si)
        # What is at zero to the last digit now may seem a digit above it at the end of a step of no use.
        is_here = (step == here) | (level <= 0.0)
        begin_s = np.where(is_here, at_s, self.times_s[step])
        start = np.where(is_here, level, self._level_si(self.begin_si, step, step) + more_si)
        rate = product(self.rates.factors, self.rates.rates_si_per_s.take(step, axis=1))
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            into_s = np.where((start > 0.0) & (rate > 0.0), start / rate, 0.0)
        out_s = begin_s + into_s
        return np.where(is_end & (out_s - self.times_s[0] < HORIZON_S), out_s, np.inf)

    def left_si(self, at_s: Floats) -> Floats:
        """Usable amount at a moment of each sample's own, shape (samples,); negative is a shortfall."""
        step = np.maximum(np.searchsorted(self.times_s, at_s, side="right") - 1, 0)
        run = self.rates.rates_si_per_s.take(step, axis=1) * (at_s - self.times_s[step])
        left: Floats = self._given_si(self.begin_si, step) - product(
            self.rates.factors, self.taken_si.take(step, axis=1) + run
        )
        return left

    def left_at_si(self, at_s: float) -> Floats:
        """The same at one moment for all, shape (samples,)."""
        step = self._step_at(at_s)
        taken = self.taken_si[:, step] + self.rates.rates_si_per_s[:, step] * (at_s - self.times_s[step])
        left: Floats = self.begin_si + self.added_si[self.jumps_by[step]] - product(self.rates.factors, taken)
        return left

    def least_si(self, until_s: Floats) -> Floats:
        """The least that there is at any time up to a moment of each sample's own, shape (samples,)."""
        least: Floats = np.minimum(self.left_at_si(float(self.times_s[0])), self.least_from_si(0, until_s))
        return least

    def stretch_at(self, at_s: float) -> int:
        """The number of the stretch in progress: in the rest of it all fall, or it is a single step."""
        return self._stretches().number_of(self._step_at(at_s))

    def least_from_si(self, stretch: int, until_s: Floats) -> Floats:
        """The least from some moment of a stretch on, leaving out that moment itself, shape (samples,)."""
        stretches = self._stretches()
        begun = self.times_s[stretches.firsts[stretch + 1 :]][:, None] <= until_s
        over = self.times_s[stretches.lasts[stretch:] + 1][:, None] <= until_s
        is_endless_begun = (self.times_s[-1] <= until_s) & (stretch < len(stretches.firsts))
        ends = (
            np.where(begun, stretches.begin_si[stretch + 1 :], np.inf).min(axis=0, initial=np.inf),
            np.where(over, stretches.end_si[stretch:], np.inf).min(axis=0, initial=np.inf),
            np.where(is_endless_begun, stretches.endless_si, np.inf),
            self.left_si(until_s),
        )
        least: Floats = np.minimum.reduce(ends)
        return least

    def rates_at(self, at_s: float) -> Floats:
        """The rate at a moment, shape (samples,)."""
        return self.rates.at(self._step_at(at_s))

    def central(self) -> Course:
        """The central case alone."""
        found = self.kept.get("central")
        if not isinstance(found, Course):
            rates = SampledRates(factors=self.rates.factors[:, :1], rates_si_per_s=self.rates.rates_si_per_s)
            found = replace(self, begin_si=self.begin_si[:1], rates=rates, added_si=self.added_si[:, :1])
            self.kept["central"] = found
        return found

    def less(self, amount_si: float) -> Course:
        """The course of as much less from the beginning on."""
        return replace(self, begin_si=self.begin_si - amount_si)

    @property
    def starts_si(self) -> Floats:
        """The level at each moment, its jump included, (samples, moments): a table made for who asks."""
        table = self.kept.get("starts")
        if not isinstance(table, np.ndarray):
            table = (self.begin_si + self.added_si[self.jumps_by]).T
            table = table - product_table(self.rates.factors, self.taken_si)
            table.setflags(write=False)
            self.kept["starts"] = table
        return table

    @property
    def rates_si_per_s(self) -> Floats:
        """The rate between each moment and the next, (samples, moments): a table made for who asks."""
        table = self.kept.get("rates")
        if not isinstance(table, np.ndarray):
            table = self.rates.table()
            table.setflags(write=False)
            self.kept["rates"] = table
        return table

    def _step_at(self, at_s: float) -> int:
        return max(int(np.searchsorted(self.times_s, at_s, side="right")) - 1, 0)

    def _stretches(self) -> Stretches:
        found = self.kept.get("stretches")
        if not isinstance(found, Stretches):
            found = stretches_of(self.begin_si, self.rates, self.taken_si, self.added_si, self.jumps_by)
            self.kept["stretches"] = found
        return found

    def _step_of_end(self, stretches: Stretches, number: Indices, here: int, more_si: Floats) -> Indices:
        """By halving, the first step of each sample's stretch, from the present one on, that ends at zero."""
        first, last = stretches.bounds(number)
        low = np.maximum(first, here)
        high, begin = last, self.begin_si + more_si
        for _ in range(int((high - low).max()).bit_length()):
            middle = (low + high) >> 1
            is_over = self._level_si(begin, middle, middle + 1) <= 0.0
            high = np.where(is_over, middle, high)
            low = np.where(is_over, low, middle + 1)
        return np.minimum(low, last)

    def _level_si(self, begin_si: Floats, step: Indices, at: Indices) -> Floats:
        """What is left at a moment of each sample's own, with what was added by the beginning of a step."""
        taken = self.taken_si.take(at, axis=1, mode="clip")
        level: Floats = self._given_si(begin_si, step) - product(self.rates.factors, taken)
        return level

    def _given_si(self, begin_si: Floats, step: Indices) -> Floats:
        """What there was to begin with and what was added by the beginning of each sample's step."""
        if len(self.added_si) == 1:
            return begin_si
        places = (self.jumps_by * self.count).take(step)
        places += np.arange(self.count)
        given: Floats = begin_si + self.added_si.take(places)
        return given


def course_of(
    begin_si: Floats, times_s: Floats, rates: SampledRates, jumps: Sequence[tuple[float, Floats]]
) -> Course:
    """The course of a supply.

    Args:
        begin_si: what there is at the first moment, before its jumps, shape (samples,).
        times_s: the moments, rising; among them those of all jumps.
        rates: from each moment to the next, and from the last one on for ever.
        jumps: at one of the moments each, what is added in each sample; negative for what is taken.
    """
    by_moment: dict[int, Floats] = {}
    for at_s, amount_si in jumps:
        moment = int(np.searchsorted(times_s, at_s))
        by_moment[moment] = by_moment[moment] + amount_si if moment in by_moment else amount_si
    moments = sorted(by_moment)
    added = np.zeros((len(moments) + 1, len(begin_si)))
    for number, moment in enumerate(moments):
        added[number + 1] = added[number] + by_moment[moment]
    taken = np.zeros_like(rates.rates_si_per_s)
    np.cumsum(rates.rates_si_per_s[:, :-1] * np.diff(times_s), axis=1, out=taken[:, 1:])
    return Course(
        times_s=times_s,
        begin_si=begin_si,
        rates=rates,
        taken_si=taken,
        added_si=added,
        jumps_by=np.searchsorted(moments, np.arange(len(times_s)), side="right"),
    )
