"""The spectrum of a channel's rows, and the regular swing about a line that fits them best. Pure sums."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats

FEWEST_PERIODS = 4.0
"""Fewer are no regularity."""
LEAST_SHARE = 0.7
"""Of the variance about the trend that the period and its harmonics must carry."""
MOST_UNLIKE = 0.7
"""So far may the swings of two halves lie apart, as a share of the larger: some 40 degrees at like size."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Swing:
    """A regular swing about a line."""

    period_s: float
    amplitude_si: float
    """Half of what lies between its highest and its lowest."""
    left_sd_si: float
    """Of what neither it nor the line explains."""
    since_s: float
    average_si: float
    """The line at the last of its rows."""
    slope_si_per_s: float
    average_sd_si: float
    ends_s: float
    """The last of its rows."""
    share: float
    """Of the variance about the line that it carries."""

    def line_si(self, at_s: float) -> float:
        """What it swings about, at a moment."""
        return self.average_si + self.slope_si_per_s * (at_s - self.ends_s)

    def explains(self, before_si: float, before_at_s: float, jump_si: float) -> bool:
        """Whether a shift is no more than its swing: no larger, and away from about its own line.

        So the first swings of a quiet gauge are not held for steps for ever, but a gain beside them is.
        """
        is_within = abs(jump_si) <= 2.5 * self.amplitude_si
        return is_within and abs(before_si - self.line_si(before_at_s)) <= 1.3 * self.amplitude_si


def spectrum(values: Floats) -> Floats:
    """Power at whole numbers of periods, of each line about a straight line through it."""
    rows = values.shape[1]
    at = np.arange(rows) - 0.5 * (rows - 1)
    centred = values - values.mean(axis=1, keepdims=True)
    centred -= (centred @ at / (at @ at))[:, np.newaxis] * at
    power: Floats = np.abs(np.fft.rfft(centred, axis=1)) ** 2
    return power


def refined(power: Floats, peak: int) -> float:
    """The number of periods between whole ones, by the larger neighbour of the peak."""
    if not 0 < peak < len(power) - 1:
        return float(peak)
    left, right = math.sqrt(power[peak - 1]), math.sqrt(power[peak + 1])
    middle = math.sqrt(power[peak])
    if right >= left:
        return peak + right / (right + middle)
    return peak - left / (left + middle)


def fitted_swing(times_s: Floats, values_si: Floats, period_s: float) -> Swing | None:
    """The swing of about a period, with its harmonics and a line, by least squares.

    None where it has fewer than four periods, or carries too little of the variance about the line.
    """
    span_s = float(times_s[-1] - times_s[0])
    best = _fit(times_s, values_si, period_s)
    if best is None or best.share < 0.75 * LEAST_SHARE:
        return None
    for nudge in (-0.5, -0.25, 0.25, 0.5):
        periods = span_s / period_s + nudge
        fit = _fit(times_s, values_si, span_s / periods) if periods >= FEWEST_PERIODS - 0.5 else None
        if fit is not None and fit.share > best.share:
            best = fit
    return best if best.share >= LEAST_SHARE and _keeps_its_phase(times_s, values_si, best) else None


def _keeps_its_phase(times_s: Floats, values_si: Floats, swing: Swing) -> bool:
    """Whether both halves swing alike; wander that looks regular over a few periods does not."""
    at = times_s - times_s[-1]
    about = values_si - swing.average_si - swing.slope_si_per_s * at
    turns = about * np.exp(-2.0j * math.pi / swing.period_s * at)
    half = len(at) // 2
    halves = (complex(turns[:half].mean()), complex(turns[half:].mean()))
    return abs(halves[0] - halves[1]) <= MOST_UNLIKE * max(map(abs, halves))


def _fit(times_s: Floats, values_si: Floats, period_s: float) -> Swing | None:
    """The swing of just this period; None where there is no variance to carry."""
    span_s, rows = float(times_s[-1] - times_s[0]), len(times_s)
    design = _design(times_s - times_s[-1], span_s, period_s)
    middle = float(values_si.mean())  # out of the way of the sums
    # By the normal equations: columns of like size, and at the limit of the rows one of them is empty.
    solved = np.linalg.lstsq(design.T @ design, design.T @ (values_si - middle), rcond=1e-10)[0]
    left = values_si - middle - design @ solved
    about = values_si - middle - design[:, :2] @ solved[:2]
    error, total = float(left @ left), float(about @ about)
    if total <= 0.0:
        return None
    amplitude = 0.5 * float(np.ptp(design[:, 2:] @ solved[2:]))
    left_sd = math.sqrt(error / max(rows - len(solved), 1))
    return Swing(
        period_s=period_s,
        amplitude_si=amplitude,
        left_sd_si=left_sd,
        since_s=float(times_s[0]),
        ends_s=float(times_s[-1]),
        average_si=middle + float(solved[0]),
        slope_si_per_s=float(solved[1]) / span_s,
        average_sd_si=math.hypot(2.0 * left_sd / math.sqrt(rows), 0.5 * amplitude * period_s / span_s),
        share=1.0 - error / total,
    )


def _design(times_s: Floats, span_s: float, period_s: float) -> Floats:
    """A line and up to three harmonics, as many as the rows resolve; times end at zero."""
    rows = len(times_s)
    harmonics = 1 + sum(period_s / harmonic >= 2.5 * span_s / (rows - 1) for harmonic in (2, 3))
    design = np.empty((rows, 2 + 2 * harmonics))
    design[:, 0] = 1.0
    design[:, 1] = times_s / span_s
    for harmonic in range(1, harmonics + 1):
        phase = (2.0 * math.pi * harmonic / period_s) * times_s
        np.cos(phase, out=design[:, 2 * harmonic])
        np.sin(phase, out=design[:, 2 * harmonic + 1])
    return design
