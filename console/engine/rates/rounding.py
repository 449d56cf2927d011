"""What rounding to a display's step does to readings: what is fresh in each, and what follows the level.

Noise far below a step leaves an error that depends on the level alone, so that no averaging takes it out;
noise of half a step and more makes it fresh in every reading.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats
from console.engine.rates.gauge import Gauge

HARMONICS = 3
"""So many waves of the error along the level are followed; what is left of it (14 % of its variance in a
quiet gauge) is taken as fresh in each row."""
_WAVES = np.arange(1.0, 41.0)
_WEIGHTS = 1.0 / (2.0 * np.pi**2 * _WAVES**2)
QUIET_STEPS = 0.2
"""Noise below this share of a display's step leaves an error that follows the level."""
ALIKE_STEPS = 0.25
"""Within this share of a step such an error is about the same: a sawtooth's correlation is 0 at 0.21."""


def steady_variance(noise_sd_si: float, step_si: float, first: int = 1) -> float:
    """Variance of the part of a rounding error that depends on the level alone, from the ``first`` wave on.

    sum over k of step² / (2 π² k²) exp(-4 π² k² s² / step²), with s the noise; for no noise step²/12 in all.

    Source: Fourier series of the rounding error, Widrow, IRE Trans. Circuit Theory 3 (1956) (from memory).

    >>> round(steady_variance(0.0, 1.0) * 12.0, 2), steady_variance(0.5, 1.0) < 1e-5
    (0.98, True)
    """
    if step_si == 0.0:
        return 0.0
    faded = np.exp(-((2.0 * np.pi * noise_sd_si / step_si * _WAVES[first - 1 :]) ** 2))
    return step_si**2 * float(faded @ _WEIGHTS[first - 1 :])


def fresh_variance(noise_sd_si: float, step_si: float) -> float:
    """Variance that is fresh in every rounded reading: noise and rounding, less what depends on the level."""
    whole = steady_variance(0.0, step_si) - steady_variance(noise_sd_si, step_si)
    return noise_sd_si**2 + whole


def noise_behind(fresh_si2: float, step_si: float) -> float:
    """The noise (standard deviation) that gives rounded readings some fresh variance, by bisection."""
    if step_si == 0.0:
        return math.sqrt(fresh_si2)
    low, high = 0.0, math.sqrt(fresh_si2)
    for _ in range(24):
        middle = 0.5 * (low + high)
        if fresh_variance(middle, step_si) < fresh_si2:
            low = middle
        else:
            high = middle
    return high


def mean_variance(noise_sd_si: float, step_si: float, counts: Floats) -> Floats:
    """Variance of the mean of some rounded readings of about one level.

    noise²/n where noise dithers the steps, step²/12 however many there are where it does not.
    """
    variance: Floats = fresh_variance(noise_sd_si, step_si) / counts + steady_variance(noise_sd_si, step_si)
    return variance


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class RowErrors:
    """How rows err: each for itself, and together."""

    sds_si: Floats
    """Of each for itself, (n,)."""
    columns_si: Floats
    """Errors that several share: columns whose coefficients have a spread of 1, (n, errors)."""


def row_errors(rows: Gauge, noise_sd_si: float, levels_si: Floats, slopes_si_per_s: Floats) -> RowErrors:
    """How rounded rows err about a line.

    Dithered by noise, the waves of the error along the level are followed (the display's zero is not used:
    the phase of each is open). In a quiet display as many rows as lie within a quarter of a step are taken to
    err as one, which is more than they do.

    Args:
        rows: in order of time.
        noise_sd_si: of a single reading, behind the display.
        levels_si: about where the line goes, (n,).
        slopes_si_per_s: about how fast, at each row, (n,).
    """
    step = rows.step_si
    fresh = fresh_variance(noise_sd_si, step) / rows.counts
    if noise_sd_si > QUIET_STEPS * step or len(rows) < 2:
        rest = steady_variance(noise_sd_si, step, first=HARMONICS + 1)
        return RowErrors(sds_si=np.sqrt(fresh + rest), columns_si=_waves(levels_si, noise_sd_si, step))
    gaps = np.diff(rows.times_s, append=2.0 * rows.times_s[-1] - rows.times_s[-2])
    moved = np.maximum(np.abs(slopes_si_per_s) * gaps, 1e-300)
    _, stretches, sizes = np.unique(slopes_si_per_s, return_inverse=True, return_counts=True)
    alike = np.clip(ALIKE_STEPS * step / moved, 1.0, np.maximum(sizes[stretches], 1.0))
    variance = fresh + steady_variance(noise_sd_si, step) * alike
    return RowErrors(sds_si=np.sqrt(variance), columns_si=np.zeros((len(rows), 0)))


def _waves(levels_si: Floats, noise_sd_si: float, step_si: float) -> Floats:
    parts = []
    for k in range(1, HARMONICS + 1) if step_si else ():
        size = step_si / (math.sqrt(2.0) * math.pi * k)
        size *= math.exp(-2.0 * (math.pi * k * noise_sd_si / step_si) ** 2)
        if size > 1e-3 * step_si:
            phases = 2.0 * np.pi * k * (levels_si - levels_si[-1]) / step_si
            parts += [size * np.cos(phases), size * np.sin(phases)]
    return np.column_stack(parts) if parts else np.zeros((len(levels_si), 0))
