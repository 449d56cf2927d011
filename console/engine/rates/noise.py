"""How much readings scatter, and which of them stand alone far off.

The scatter is taken from each row against its two neighbours, so that neither slopes nor a use that wanders
count as noise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from console.engine.draws import Floats
from console.engine.rates.gauge import Gauge, Indices
from console.engine.rates.rounding import noise_behind

SPIKE_SD = 8.0
WINDOW = 7
"""Rows about each row among which it must not stand out: up to three spikes in a row are seen."""
LONGEST_GAP = 4.0
"""Neighbours further away than so many usual spacings say nothing of the noise."""
PRIOR_FREEDOM = 4.0
"""What the guess of the noise counts for where rows are few; it fades out with twice as many of them."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Noise:
    """The scatter of single readings."""

    sd_si: float
    """Behind the display's rounding."""
    freedom: float
    """Of its estimate, for Student's t."""


def spikes(gauge: Gauge, breaks_s: tuple[float, ...]) -> Indices:
    """Rows that stand far off the median of those about them; at a sudden change nothing is called a spike.

    Args:
        gauge: in order of time.
        breaks_s: when the amount jumps.
    """
    values, count = gauge.values_si, len(gauge)
    if count < WINDOW:
        return np.zeros(0, dtype=np.intp)
    padded = np.pad(values, WINDOW // 2, mode="reflect", reflect_type="odd")
    medians = np.median(np.lib.stride_tricks.sliding_window_view(padded, WINDOW), axis=1)
    off = np.abs(values - medians)
    usual = 1.4826 * float(np.median(off))
    limit = SPIKE_SD * max(usual, gauge.step_si / 3.0, _guess(gauge) if usual == 0.0 else 0.0)
    far = off > limit
    for break_s in breaks_s:
        near = int(np.searchsorted(gauge.times_s, break_s))
        far[max(near - WINDOW // 2, 0) : near + WINDOW // 2] = False
    found = np.flatnonzero(far)
    # So many are no spikes: something else is going on, and all of it counts.
    return found if len(found) <= max(count // 8, 1) else found[:0]


def _guess(gauge: Gauge) -> float:
    return gauge.noise_sd_si / float(np.sqrt(np.median(gauge.counts)))


def noise_of(gauge: Gauge, breaks_s: tuple[float, ...]) -> Noise:
    """The noise of a single reading.

    Args:
        gauge: in order of time, without spikes.
        breaks_s: when the amount jumps.
    """
    squares = _second_differences(gauge, breaks_s)
    # Neighbouring triples share two rows: about two thirds of them are news.
    freedom = 2.0 * len(squares) / 3.0
    guessed = max(PRIOR_FREEDOM - 0.5 * freedom, 0.0)
    seen = float(squares.sum()) / len(squares) if len(squares) else 0.0
    prior = gauge.noise_sd_si**2
    if freedom + guessed == 0.0:
        return Noise(sd_si=gauge.noise_sd_si, freedom=PRIOR_FREEDOM)
    behind = noise_behind(seen, gauge.step_si)
    mixed = (freedom * behind**2 + guessed * prior) / (freedom + guessed)
    return Noise(sd_si=float(np.sqrt(mixed)), freedom=max(freedom + guessed, 1.0))


def _second_differences(gauge: Gauge, breaks_s: tuple[float, ...]) -> Floats:
    """Squares of what each row is off the line between its neighbours, as of single readings' variance."""
    times, values = gauge.times_s, gauge.values_si
    if len(gauge) < 3:
        return np.zeros(0)
    gaps = np.diff(times)
    whole = gaps[:-1] + gaps[1:]
    before, after = gaps[1:] / whole, gaps[:-1] / whole
    off = before * (values[:-2] - values[1:-1]) + after * (values[2:] - values[1:-1])
    inverse = 1.0 / gauge.counts
    size = before**2 * inverse[:-2] + after**2 * inverse[2:] + inverse[1:-1]
    is_near: NDArray[np.bool_] = whole <= 2.0 * LONGEST_GAP * float(np.median(gaps))
    for break_s in breaks_s:
        is_near &= (times[:-2] >= break_s) | (times[2:] < break_s)
    squares: Floats = (off**2 / size)[is_near]
    return squares
