"""A quantity that gains at a steady rate and loses in proportion to itself: its course in closed form.

The one linear law under the cabin's gases and its warmth. Works on floats and on arrays of samples alike.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def gained_s(decay_per_s: Floats | float, time_s: Floats | float) -> Floats:
    """What a steady gain of 1 per second has added up to after a time, less what has decayed of it.

    phi(lambda, t) = (1 - exp(-lambda t)) / lambda, and t where lambda is 0; lambda 1/s, t s.

    Source: solution of dx/dt = 1 - lambda x from 0 (calculus). Valid for lambda and t not below 0.

    >>> float(gained_s(0.0, 60.0)), round(float(gained_s(1 / 60.0, 60.0)), 4)
    (60.0, 37.9272)
    """
    decay, time = np.asarray(decay_per_s, dtype=float), np.asarray(time_s, dtype=float)
    safe = np.where(decay > 0.0, decay, 1.0)
    result: Floats = np.where(decay > 0.0, -np.expm1(-safe * time) / safe, time)
    return result


def kept(decay_per_s: Floats | float, time_s: Floats | float) -> Floats:
    """The share of a quantity that is left after a time, exp(-lambda t), with the symbols of ``gained_s``.

    Source: calculus. Valid for lambda and t not below 0.

    >>> round(float(kept(0.5, 2.0)), 4)
    0.3679
    """
    result: Floats = np.exp(-np.asarray(decay_per_s, dtype=float) * time_s)
    return result


def after(
    start: Floats | float, gain_per_s: Floats | float, decay_per_s: Floats | float, time_s: Floats | float
) -> Floats:
    """A quantity some time after it was ``start``.

    x(t) = x0 exp(-lambda t) + g phi(lambda, t), with x0 the start, g the gain per second, lambda the decay
    1/s and phi as in ``gained_s``. It goes from x0 towards g / lambda and never turns round.

    Source: solution of dx/dt = g - lambda x (calculus). Valid for lambda and t not below 0.

    >>> round(float(after(10.0, 1.0, 0.5, 2.0)), 4)
    4.943
    """
    result: Floats = start * kept(decay_per_s, time_s) + gain_per_s * gained_s(decay_per_s, time_s)
    return result


def time_to_reach_s(
    start: Floats | float, gain_per_s: Floats | float, decay_per_s: Floats | float, level: Floats | float
) -> Floats:
    """How long until a quantity is at a level; infinite where it never is, 0 where it is there.

    t = ln(1 + lambda (L - x0) / (g - lambda L)) / lambda, and (L - x0) / g where lambda is 0, with L the
    level and the other symbols as in ``after``.

    Source: ``after`` solved for t. Valid for lambda not below 0. A level that is only approached is never
    reached.

    >>> float(time_to_reach_s(0.0, 2.0, 0.0, 120.0)), float(time_to_reach_s(0.0, 1.0, 0.1, 10.0))
    (60.0, inf)
    """
    decay = np.asarray(decay_per_s, dtype=float)
    gap = np.asarray(level - np.asarray(start, dtype=float), dtype=float)
    speed_there = gain_per_s - decay * level
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        ratio = np.asarray(gap / speed_there, dtype=float)
        curved = np.log1p(decay * ratio) / np.where(decay > 0.0, decay, 1.0)
        time = np.where(decay > 0.0, curved, ratio)
    never = ~np.isfinite(time) | (time < 0.0)
    result: Floats = np.where(gap == 0.0, 0.0, np.where(never, np.inf, time))
    return result
