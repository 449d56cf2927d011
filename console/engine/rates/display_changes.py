"""A quiet gauge with coarse steps: the moments at which its display changed, as readings of their own.

Between two changes such a display says nothing new, but when it changes the amount is just between two values
of it, to within the time between two readings.
"""

from __future__ import annotations

import numpy as np

from console.engine.draws import Floats
from console.engine.rates.gauge import Gauge, Indices, rows_in_order

FEWEST = 5
SAME_STEPS = 0.05
"""Rows closer to one another than this share of a step show the same."""


def display_changes(gauge: Gauge, noise_sd_si: float) -> Gauge:
    """The changes of the display as readings: the amount just then, with the error of not seeing the moment.

    Only changes between two rests (two or more rows that show the same) are taken; rows in between (means
    over a change) are part of the time in which it may have happened. Where the display skips values, the
    amount is as uncertain as it skipped. Changes to and fro over one border count as one, at their mean.

    Args:
        gauge: the readings.
        noise_sd_si: of a single reading, behind the display.
    """
    rows = gauge.rows(rows_in_order(gauge))
    step = rows.step_si
    firsts, lasts = _rests(rows, step)
    if step <= 0.0 or len(firsts) < 2:
        return _as_gauge(np.zeros((0, 3)), gauge)
    shown, begins, ends = rows.values_si[firsts], rows.times_s[lasts[:-1]], rows.times_s[firsts[1:]]
    skipped = np.abs(np.diff(shown)) / step
    is_change = skipped > 0.5
    moments, widths = 0.5 * (begins + ends)[is_change], (ends - begins)[is_change]
    values, skips = 0.5 * (shown[1:] + shown[:-1])[is_change], skipped[is_change]
    span_s = float(np.ptp(moments)) if len(moments) > 1 else 0.0
    slope = abs(float(values[-1] - values[0])) / span_s if span_s > 0.0 else 0.0
    # One display step apart there is one value between; each further step leaves it anywhere between.
    variance = ((slope * widths) ** 2 + ((np.maximum(skips, 1.0) - 1.0) * step) ** 2) / 12.0
    variance += noise_sd_si**2 + 1e-6 * step**2
    return _as_gauge(_joined(np.column_stack((moments, values, variance)), step), gauge)


def _as_gauge(changes: Floats, gauge: Gauge) -> Gauge:
    """Rows of moment, amount and variance as a gauge without steps."""
    largest = float(changes[:, 2].max()) if len(changes) else 0.0
    return Gauge(
        times_s=changes[:, 0],
        values_si=changes[:, 1],
        counts=largest / changes[:, 2],
        step_si=0.0,
        noise_sd_si=float(np.sqrt(largest)),
        bias_sd_si=gauge.bias_sd_si,
    )


def _joined(changes: Floats, step_si: float) -> Floats:
    """Changes one after the other over the same border as one."""
    if not len(changes):
        return changes
    firsts = np.flatnonzero(np.abs(np.diff(changes[:, 1], prepend=np.inf)) > 0.5 * step_si)
    sizes = np.diff(firsts, append=len(changes))
    means: Floats = np.add.reduceat(changes - changes[0], firsts, axis=0) / sizes[:, None] + changes[0]
    return means


def _rests(rows: Gauge, step_si: float) -> tuple[Indices, Indices]:
    """First and last row of each stretch of two or more rows that show the same."""
    if not len(rows):
        return np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp)
    moved = np.abs(np.diff(rows.values_si)) > SAME_STEPS * step_si
    firsts = np.concatenate((np.zeros(1, dtype=np.intp), np.flatnonzero(moved) + 1))
    lasts = np.concatenate((firsts[1:] - 1, [len(rows) - 1]))
    is_rest = lasts > firsts
    return firsts[is_rest], lasts[is_rest]
