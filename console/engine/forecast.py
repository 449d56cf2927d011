"""The luck of a forecast, and the interval of what comes of it. ``course.py`` says how a supply goes.

Row 0 of every array over samples is the central case (every uncertain factor at its middle); the other rows
are samples with a fixed seed. A forecast without spread is the same code with equal rows. The draws of one
uncertain thing depend on its name alone, so that changing one part of a plan does not reshuffle the rest,
and two plans are compared on the same luck.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.engine.course import Course as Course
from console.engine.course import course_of as course_of
from console.engine.draws import Floats, standard_draws
from console.engine.snapshot import Interval


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


def interval(samples: Floats) -> Interval:
    """The 90 % interval of some samples about their central row 0; infinite ends become None.

    The ends are order statistics (nothing is interpolated, so infinities do no harm), taken outwards.
    """
    central = float(samples[0])
    if len(samples) == 1:
        low = high = central
    else:
        count = len(samples) - 1
        ends = low_rank(count), math.ceil(0.95 * (count - 1))
        ordered = np.partition(samples[1:], ends)
        low, high = min(float(ordered[ends[0]]), central), max(float(ordered[ends[1]]), central)
    return Interval(p05=_finite(low), p50=_finite(central), p95=_finite(high))


def low_rank(count: int) -> int:
    """How many of so many samples lie below the low end."""
    return math.floor(0.05 * max(count - 1, 0))


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
