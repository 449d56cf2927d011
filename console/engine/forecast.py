"""From a supply's amount now and its planned uses to when it runs out, in closed form between changes.

Row 0 of every array over samples is the central case (every uncertain factor at its middle); the other rows
are samples with a fixed seed. A forecast without spread is the same code with equal rows. The draws of one
uncertain thing depend on its name alone, so that changing one part of a plan does not reshuffle the rest,
and two plans are compared on the same luck.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats, standard_draws
from console.engine.snapshot import Interval

HORIZON_S = 200 * 365.25 * 86400.0
"""What lasts longer than two hundred years does not run out, for this board; no need lies as far."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Draws:
    """The luck of one forecast: how many samples, from which seed."""

    seed: int
    count: int

    def factor(self, name: str, spread_fraction: float) -> Floats:
        """A factor with median 1, shape (count + 1,)."""
        if spread_fraction == 0.0:
            return np.ones(self.count + 1)
        return np.exp(spread_fraction * standard_draws(name, self.seed, self.count))

    def error(self, name: str, sd: float) -> Floats:
        """An error about 0, shape (count + 1,)."""
        if sd == 0.0:
            return np.zeros(self.count + 1)
        return sd * standard_draws(name, self.seed, self.count)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Course:
    """How one supply goes from now on; made by ``course_of``.

    ``times_s`` has shape (K,), starts now and rises. ``rates_si_per_s`` (samples, K) holds between one time
    and the next, the last for ever. ``starts_si`` (samples, K) is the usable amount at each time, what
    happens at that time included; it goes on below zero as a shortfall.
    """

    times_s: Floats
    rates_si_per_s: Floats
    starts_si: Floats

    def runs_out_s(self) -> Floats:
        """When the usable amount first reaches zero, shape (samples,); infinite where it does not."""
        ends = np.empty_like(self.starts_si)
        ends[:, :-1] = self.starts_si[:, :-1] - self.rates_si_per_s[:, :-1] * np.diff(self.times_s)
        ends[:, -1] = -np.inf
        # A supply that is refilled after it ran out has run out all the same: the first crossing counts.
        gone = (self.starts_si <= 0.0) | ((ends <= 0.0) & (self.rates_si_per_s > 0.0))
        first = np.argmax(gone, axis=1)
        rows = np.arange(len(first))
        start = np.maximum(self.starts_si[rows, first], 0.0)
        rate = self.rates_si_per_s[rows, first]
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            into_s = np.where(start > 0.0, start / rate, 0.0)
        out_s = self.times_s[first] + into_s
        return np.where(gone[rows, first] & (out_s - self.times_s[0] < HORIZON_S), out_s, np.inf)

    def left_si(self, at_s: Floats) -> Floats:
        """Usable amount at a moment of each sample's own, shape (samples,); negative is a shortfall."""
        index = np.maximum(np.searchsorted(self.times_s, at_s, side="right") - 1, 0)
        rows = np.arange(len(index))
        run_s = at_s - self.times_s[index]
        left: Floats = self.starts_si[rows, index] - self.rates_si_per_s[rows, index] * run_s
        return left

    def least_si(self, until_s: Floats) -> Floats:
        """The least that there is at any time up to a moment of each sample's own, shape (samples,)."""
        ends = self.starts_si[:, :-1] - self.rates_si_per_s[:, :-1] * np.diff(self.times_s)
        begun = np.where(self.times_s <= until_s[:, None], self.starts_si, np.inf)
        ended = np.where(self.times_s[1:] <= until_s[:, None], ends, np.inf)
        least: Floats = np.minimum(
            np.minimum(begun.min(axis=1), self.left_si(until_s)), ended.min(axis=1, initial=np.inf)
        )
        return least


def course_of(usable_si: Floats, times_s: Floats, rates_si_per_s: Floats, jumps_si: Floats) -> Course:
    """The course of a supply that starts from ``usable_si`` (samples,).

    ``jumps_si`` (samples, K) is added at each time, negative for what is taken.
    """
    starts = np.cumsum(jumps_si, axis=1)
    starts += usable_si[:, None]
    starts[:, 1:] -= np.cumsum(rates_si_per_s[:, :-1] * np.diff(times_s), axis=1)
    return Course(times_s=times_s, rates_si_per_s=rates_si_per_s, starts_si=starts)


def interval(samples: Floats) -> Interval:
    """The 90 % interval of some samples about their central row 0; infinite ends become None.

    The ends are order statistics (nothing is interpolated, so infinities do no harm), taken outwards.
    """
    central = float(samples[0])
    if len(samples) == 1:
        low = high = central
    else:
        ordered = np.sort(samples[1:])
        last = len(ordered) - 1
        low = min(float(ordered[math.floor(0.05 * last)]), central)
        high = max(float(ordered[math.ceil(0.95 * last)]), central)
    return Interval(p05=_finite(low), p50=_finite(central), p95=_finite(high))


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
