"""The measured trend of a quantity that an instrument reads: a straight line through the last hour.

A line lags behind a change of the configuration, so a trend is one more opinion beside the plan's clock and
never stands in for it. What must be remembered goes in and comes out.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from console.engine.snapshot import Interval

APART_S = 60.0
"""Readings closer than this to the last one kept are passed over: they say little that is new."""
WINDOW_S = 3600.0
LONGEST_GAP_S = 600.0
"""After a longer silence nobody knows what happened in it: the trend starts anew."""
SHORTEST_S = 600.0
FEWEST = 8
_NORMAL_95 = 1.6448536269514722

Points = tuple[tuple[float, float], ...]
"""Moments and values, in order of time."""


@dataclass(frozen=True, kw_only=True, slots=True)
class TrendMemory:
    """The recent good readings of each channel."""

    points: Mapping[str, Points] = field(default_factory=dict)

    def with_reading(self, channel: str, at_s: float, value_si: float) -> TrendMemory:
        """The memory after one more good reading; the same reading seen again changes nothing."""
        old = self.points.get(channel, ())
        if old and 0.0 <= at_s - old[-1][0] < APART_S:
            return self
        starts_anew = bool(old) and not 0.0 <= at_s - old[-1][0] <= LONGEST_GAP_S
        kept = () if starts_anew else tuple(point for point in old if at_s - point[0] <= WINDOW_S)
        return TrendMemory(points={**self.points, channel: (*kept, (at_s, value_si))})


@dataclass(frozen=True, kw_only=True, slots=True)
class Trend:
    """A straight line through some readings, by least squares about their mean time."""

    mean_at_s: float
    mean_si: float
    mean_sd_si: float
    slope_si_per_s: float
    slope_sd_si_per_s: float
    window_s: float
    count: int
    quantile: float
    """How many standard deviations hold 90 %, for so few readings."""

    def reaches_in_s(self, level_si: float, from_s: float, bias_sd_si: float = 0.0) -> Interval | None:
        """How long until the line is at a level; None where the slope does not clearly lead there.

        Fieller's interval: all x with (m + b x - L)^2 <= q^2 (sm^2 + sb^2 x^2), x counted from the mean time.

        Args:
            level_si: the level.
            from_s: the moment it is counted from.
            bias_sd_si: an error that all readings share, which the line cannot see.
        """
        gap = level_si - self.mean_si
        slope, slope_error = self.slope_si_per_s, self.quantile * self.slope_sd_si_per_s
        if slope * gap <= 0.0 or abs(slope) <= slope_error:
            return None
        mean_error = self.quantile * math.hypot(self.mean_sd_si, bias_sd_si)
        square = slope**2 - slope_error**2
        root = math.sqrt(max((slope * gap) ** 2 - square * (gap**2 - mean_error**2), 0.0))
        since_s = self.mean_at_s - from_s
        ends = ((slope * gap - root) / square, gap / slope, (slope * gap + root) / square)
        low, middle, high = (max(end + since_s, 0.0) for end in ends)
        return Interval(p05=low, p50=middle, p95=high)


def trend_of(points: Points, at_s: float, resolution_si: float) -> Trend | None:
    """The trend of some readings; None where they are too few, too short a time, or too old.

    Args:
        points: the readings, in order of time.
        at_s: now.
        resolution_si: the step of the display, whose rounding a fit of a few steps does not show.
    """
    if len(points) < FEWEST or at_s - points[-1][0] > LONGEST_GAP_S:
        return None
    window_s = points[-1][0] - points[0][0]
    if window_s < SHORTEST_S:
        return None
    times = np.array([moment for moment, _ in points])
    values = np.array([value for _, value in points])
    mean_at_s = float(times.mean())
    centred, mean_si = times - mean_at_s, float(values.mean())
    spread = float(centred @ centred)
    slope = float(centred @ (values - mean_si)) / spread
    residuals = values - mean_si - slope * centred
    freedom = len(points) - 2
    variance = max(float(residuals @ residuals) / freedom, resolution_si**2 / 12.0)
    return Trend(
        mean_at_s=mean_at_s,
        mean_si=mean_si,
        mean_sd_si=math.sqrt(variance / len(points)),
        slope_si_per_s=slope,
        slope_sd_si_per_s=math.sqrt(variance / spread),
        window_s=window_s,
        count=len(points),
        quantile=_student_95(freedom),
    )


def _student_95(freedom: int) -> float:
    """Student's t that 95 % lie below, by the expansion about the normal quantile.

    Source: Abramowitz and Stegun, 26.7.5 (from memory); within 0.002 for 6 degrees of freedom and more.
    """
    z = _NORMAL_95
    first = (z**3 + z) / 4.0
    second = (5.0 * z**5 + 16.0 * z**3 + 3.0 * z) / 96.0
    third = (3.0 * z**7 + 19.0 * z**5 + 17.0 * z**3 - 15.0 * z) / 384.0
    return z + first / freedom + second / freedom**2 + third / freedom**3
