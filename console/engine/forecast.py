"""From a supply's amount now and its planned uses to when it runs out, in closed form between changes.

Row 0 of every array over samples is the central case (every uncertain factor at its middle); the other rows
are samples with a fixed seed. A forecast without spread is the same code with equal rows. The draws of one
uncertain thing depend on its name alone, so that changing one part of a plan does not reshuffle the rest,
and two plans are compared on the same luck.
"""

from __future__ import annotations

import math
import zlib
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from console.engine.snapshot import Interval

Floats = NDArray[np.float64]

HORIZON_S = 10 * 365.25 * 86400.0
"""What lasts longer than ten years does not run out, for this board."""


@lru_cache(maxsize=8)
def _normal_quantiles(count: int) -> Floats:
    """Standard normal quantiles at the middles of ``count`` equal slices of probability."""
    inverse = NormalDist().inv_cdf
    quantiles = np.array([inverse((index + 0.5) / count) for index in range(count)])
    quantiles.setflags(write=False)
    return quantiles


@lru_cache(maxsize=512)
def standard_draws(name: str, seed: int, count: int) -> Floats:
    """Standard normal draws for one uncertain thing, shape (count + 1,): row 0 is the central 0.

    Stratified (one draw in each slice of probability), so that a few hundred give a steady interval.
    """
    generator = np.random.Generator(np.random.PCG64([seed, zlib.crc32(name.encode())]))
    draws = np.zeros(count + 1)
    draws[1:] = generator.permutation(_normal_quantiles(count)) if count else 0.0
    draws.setflags(write=False)
    return draws


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
    """How one supply is used from now on.

    ``times_s`` has shape (K,), starts now and rises; ``rates_si_per_s`` (samples, K) holds between one time
    and the next, the last for ever; ``jumps_si`` (samples, K) is added at each time, negative for what is
    taken.
    """

    times_s: Floats
    rates_si_per_s: Floats
    jumps_si: Floats

    def levels_si(self, usable_si: Floats) -> tuple[Floats, Floats]:
        """Usable amount at the start (after the jump) and at the end of every stretch, both (samples, K).

        The end of the last stretch is minus infinity where it is being used, else what it began with.
        """
        spans_s = np.diff(self.times_s)
        used = self.rates_si_per_s[:, :-1] * spans_s
        starts = usable_si[:, None] + np.cumsum(self.jumps_si, axis=1)
        starts[:, 1:] -= np.cumsum(used, axis=1)
        ends = np.empty_like(starts)
        ends[:, :-1] = starts[:, :-1] - used
        ends[:, -1] = np.where(self.rates_si_per_s[:, -1] > 0.0, -np.inf, starts[:, -1])
        return starts, ends

    def runs_out_s(self, usable_si: Floats) -> Floats:
        """When the usable amount first reaches zero, shape (samples,); infinite where it does not."""
        starts, ends = self.levels_si(usable_si)
        # A supply that is refilled after it ran out has run out all the same: the first crossing counts.
        gone = (starts <= 0.0) | ((ends <= 0.0) & (self.rates_si_per_s > 0.0))
        first = np.argmax(gone, axis=1)
        rows = np.arange(len(first))
        start = np.maximum(starts[rows, first], 0.0)
        rate = self.rates_si_per_s[rows, first]
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            into_s = np.where(start > 0.0, start / rate, 0.0)
        out_s = self.times_s[first] + into_s
        return np.where(gone.any(axis=1) & (out_s - self.times_s[0] < HORIZON_S), out_s, np.inf)

    def left_si(self, usable_si: Floats, at_s: Floats) -> Floats:
        """Usable amount at a moment of each sample's own, shape (samples,); negative is a shortfall."""
        starts, _ = self.levels_si(usable_si)
        index = np.maximum(np.searchsorted(self.times_s, at_s, side="right") - 1, 0)
        rows = np.arange(len(index))
        left: Floats = starts[rows, index] - self.rates_si_per_s[rows, index] * (at_s - self.times_s[index])
        return left


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
