"""What a gauge said of one amount over time, as the fits of the rates take it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from console.engine.draws import Floats

Indices = NDArray[np.intp]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Gauge:
    """Readings of one amount, one row each or thinned to means; arrays of shape (n,)."""

    times_s: Floats
    """The readings' own times, seconds since the epoch; rows whose time does not rise are left out."""
    values_si: Floats
    counts: Floats
    """How many readings each row is the mean of, at least 1."""
    step_si: float
    """The display's step in units of the amount; 0 for none."""
    noise_sd_si: float
    """Fresh noise of one reading, as guessed beforehand; a fit of enough rows goes by what it sees."""
    bias_sd_si: float = 0.0
    """A steady error that all readings share, which none of them shows."""

    def __len__(self) -> int:
        """How many rows there are."""
        return len(self.times_s)

    def rows(self, which: Indices) -> Gauge:
        """Some of its rows."""
        return Gauge(
            times_s=self.times_s[which],
            values_si=self.values_si[which],
            counts=self.counts[which],
            step_si=self.step_si,
            noise_sd_si=self.noise_sd_si,
            bias_sd_si=self.bias_sd_si,
        )


def single_readings(
    times_s: Floats, values_si: Floats, step_si: float, noise_sd_si: float, bias_sd_si: float = 0.0
) -> Gauge:
    """A gauge whose rows are single readings."""
    return Gauge(
        times_s=times_s,
        values_si=values_si,
        counts=np.ones(len(times_s)),
        step_si=step_si,
        noise_sd_si=noise_sd_si,
        bias_sd_si=bias_sd_si,
    )


def rows_in_order(gauge: Gauge) -> Indices:
    """The rows that are numbers and later than every one before them."""
    is_number = np.isfinite(gauge.times_s) & np.isfinite(gauge.values_si) & (gauge.counts >= 1.0)
    times = np.where(is_number, gauge.times_s, -np.inf)
    latest = np.maximum.accumulate(times)
    before = np.concatenate(([-np.inf], latest[:-1])) if len(times) else latest
    return np.flatnonzero(is_number & (times > before))
