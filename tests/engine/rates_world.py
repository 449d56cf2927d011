"""Gauges whose truth is known: a level that falls at known rates, and what an instrument shows of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter

from console.engine.draws import Floats
from console.engine.rates.fieller import Reach, Reaching, reach
from console.engine.rates.gauge import Gauge, single_readings
from console.engine.rates.student import student_quantile
from console.engine.rates.wander import Wander

H = 3600.0
TAU_S = 2700.0


@dataclass(frozen=True)
class Course:
    """A level in percent that falls at one rate, and from the knot at 0 s on at another."""

    before_h: float = 4.0
    after_h: float = 1.0
    first_per_h: float = 1.6
    second_per_h: float = 0.6
    wander_fraction: float = 0.0
    spacing_s: float = 60.0

    @property
    def knots_s(self) -> tuple[float, ...]:
        return (0.0,) if self.before_h else ()

    @property
    def wander(self) -> Wander:
        """How use strays, as the engine may be told."""
        rates = (self.first_per_h, self.second_per_h) if self.before_h else (self.second_per_h,)
        sds = tuple(self.wander_fraction * rate / H for rate in rates)
        return Wander(sds_si_per_s=sds, tau_s=TAU_S)

    def levels(self, luck: np.random.Generator) -> tuple[Floats, Floats]:
        """Times and true levels."""
        count = round((self.before_h + self.after_h) * H / self.spacing_s)
        times = (np.arange(count) + luck.random()) * self.spacing_s - self.before_h * H
        mean_rate = np.where(times < 0.0, self.first_per_h, self.second_per_h) / H
        levels = 80.0 + luck.random() * 5.0 - mean_rate * times
        if self.wander_fraction:
            # The exact step of an Ornstein-Uhlenbeck process, and the trapezes of its integral.
            keep = np.exp(-self.spacing_s / TAU_S)
            news = luck.normal(size=count) * np.sqrt(1.0 - keep**2)
            stray, _ = lfilter([1.0], [1.0, -keep], news, zi=[keep * luck.normal()])
            rates = self.wander_fraction * mean_rate * stray
            steps = 0.5 * (rates[1:] + rates[:-1]) * self.spacing_s
            levels = levels - np.concatenate(([0.0], np.cumsum(steps)))
        return times, levels


@dataclass(frozen=True)
class Seen:
    """A gauge, and what is true at its last reading."""

    gauge: Gauge
    level: float
    slope_si_per_s: float

    def true_time_s(self, target: float) -> float:
        """Until the level would be reached at the mean rate."""
        return (self.level - target) / -self.slope_si_per_s


def seen(course: Course, step: float, noise_sd: float, luck: np.random.Generator) -> Seen:
    """What a gauge with a display's step and noise shows of a course."""
    times, levels = course.levels(luck)
    shown = levels + noise_sd * luck.normal(size=len(levels))
    if step:
        shown = np.round(shown / step) * step
    gauge = single_readings(times, shown, step, noise_sd)
    return Seen(gauge=gauge, level=float(levels[-1]), slope_si_per_s=-course.second_per_h / H)


def holds(found: Reach, true_s: float) -> bool:
    """Whether an interval has the truth in it."""
    if found.low_s is None or found.reaching is Reaching.LEADS_AWAY:
        return False
    return found.low_s <= true_s and (found.high_s is None or true_s <= found.high_s)


def line_since(gauge: Gauge, from_s: float, target: float) -> Reach:
    """The textbook's line through the readings since a moment: what the engine is to be better than."""
    is_in = gauge.times_s >= from_s
    times, values = gauge.times_s[is_in] - gauge.times_s[-1], gauge.values_si[is_in]
    columns = np.column_stack((np.ones(len(times)), times))
    found, *_ = np.linalg.lstsq(columns, values, rcond=None)
    freedom = len(times) - 2
    variance = float(np.sum((values - columns @ found) ** 2)) / freedom
    covariance = max(variance, 1e-12) * np.linalg.inv(columns.T @ columns)
    return reach(float(found[0]), float(found[1]), covariance, target, freedom)


def student_half_width(sd: float, freedom: float) -> float:
    """Half a 90 % interval."""
    return student_quantile(0.95, freedom) * sd
