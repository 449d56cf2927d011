"""When a rate changed, and by how much, within a window in which it did: every moment weighed.

For meters the level of the readings steps, for gauges the slope does. That there is a change is for others to
say; the weight of the readings for one is given, so that they can.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats
from console.engine.rates.gauge import Gauge
from console.engine.rates.noise import noise_of
from console.engine.rates.rounding import row_errors
from console.engine.rates.segments import Segments
from console.engine.rates.wander import Wander, wander_columns

EDGE_ROWS = 2
"""No change is looked for nearer to the window's ends than so many rows."""
FEWEST = 8


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ChangeMoment:
    """One change, by the readings of a window."""

    at_s: float
    """The likeliest moment."""
    mean_s: float
    sd_s: float
    """Of the moment, over all moments by their likelihood."""
    size_si: float
    """By how much the rate of a meter, or the slope of a gauge, changed: over all moments."""
    sd_si: float
    gain: float
    """By how much the log likelihood of the readings rises with the change, at the best moment."""


def meter_change(times_s: Floats, values_si: Floats, sds_si: Floats) -> ChangeMoment | None:
    """When the readings of a meter stepped.

    Args:
        times_s: in order, (n,).
        values_si: what the meter said.
        sds_si: errors of each reading for itself.

    Returns:
        None for too few readings.
    """
    moments = _between(times_s)
    if not len(moments):
        return None
    stepped = (times_s[:, None] > moments).astype(np.float64)
    return _weighed(
        values_si, np.ones((len(times_s), 1)), stepped, sds_si, moments, np.zeros((len(times_s), 0))
    )


def gauge_change(
    gauge: Gauge, knots_s: tuple[float, ...] = (), wander: Wander | None = None
) -> ChangeMoment | None:
    """When the slope of a gauge changed, beside the knots that are known.

    Args:
        gauge: in order of time, without spikes.
        knots_s: known changes of the slope.
        wander: how use strays.

    Returns:
        None for too few readings.
    """
    times = gauge.times_s
    moments = _between(times)
    if not len(moments):
        return None
    segments = Segments(anchor_s=float(times[-1]), knots_s=knots_s)
    columns = segments.columns(times)
    columns = columns[:, np.any(columns != 0.0, axis=0)]
    noise = noise_of(gauge, ())
    rough, *_ = np.linalg.lstsq(columns / np.abs(columns).max(axis=0), gauge.values_si, rcond=None)
    levels = columns / np.abs(columns).max(axis=0) @ rough
    slope = float(np.ptp(levels)) / max(float(np.ptp(times)), 1.0)
    errors = row_errors(gauge, noise.sd_si, levels, np.full(len(gauge), slope))
    aside = errors.columns_si
    if wander is not None:
        aside = np.column_stack((aside, wander_columns(wander, times, segments)))
    bent = np.maximum(times[:, None] - moments, 0.0)
    least = 1e-3 * gauge.noise_sd_si + 1e-6 * (float(np.ptp(gauge.values_si)) or 1.0)
    return _weighed(gauge.values_si, columns, bent, np.hypot(errors.sds_si, least), moments, aside)


def _between(times_s: Floats) -> Floats:
    """Moments between the rows, the ends left out."""
    if len(times_s) < FEWEST:
        return np.zeros(0)
    middles = 0.5 * (times_s[1:] + times_s[:-1])
    return middles[EDGE_ROWS - 1 : len(middles) - EDGE_ROWS + 1]


def _weighed(
    values: Floats, columns: Floats, changes: Floats, sds: Floats, moments: Floats, aside: Floats
) -> ChangeMoment:
    """Every change (one column each) beside the columns that are there anyway: size, error, likelihood."""
    known = np.column_stack((aside, columns / np.abs(columns).max(axis=0))) / sds[:, None]
    # Errors with a spread of 1 are rows of their own; the change and the readings have nothing there.
    ridge = np.eye(aside.shape[1], known.shape[1])
    basis, _ = np.linalg.qr(np.vstack((known, ridge)))
    below = np.zeros((len(ridge), changes.shape[1] + 1))
    base = float(values.mean())
    both = np.vstack((np.column_stack((changes, values - base)) / sds[:, None], below))
    left = both - basis @ (basis.T @ both)
    bends, misfit = left[:, :-1], left[:, -1]
    power = np.maximum(np.einsum("ij,ij->j", bends, bends), 1e-300)
    sizes = bends.T @ misfit / power
    gains = 0.5 * sizes**2 * power
    lengths = np.gradient(moments) if len(moments) > 1 else np.ones(1)
    logs = gains + np.log(lengths)
    weights = np.exp(logs - np.logaddexp.reduce(logs))
    from_first = moments - moments[0]
    mean, size = float(weights @ from_first), float(weights @ sizes)
    spread = float(weights @ (from_first - mean) ** 2 + weights @ lengths**2 / 12.0)
    best = int(np.argmax(gains))
    return ChangeMoment(
        at_s=float(moments[best]),
        mean_s=mean + float(moments[0]),
        sd_s=math.sqrt(spread),
        size_si=size,
        sd_si=math.sqrt(float(weights @ (1.0 / power + (sizes - size) ** 2))),
        gain=float(gains[best]),
    )
