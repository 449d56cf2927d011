"""How use that wanders about its mean shows in levels and meters, as covariances.

The rate's deviation is an Ornstein-Uhlenbeck process: it strays with a standard deviation that follows what
is switched on, and comes back within ``TAU_S``. A level carries its integral.
"""

from __future__ import annotations

import numpy as np

from console.engine.draws import Floats

TAU_S = 2700.0
"""In which a stray rate has come back by two thirds (common practice, no source)."""


def correlation(one_s: Floats, other_s: Floats) -> Floats:
    """Between the rate at some moments and at others, shape (n, m)."""
    found: Floats = np.exp(-np.abs(one_s[:, None] - other_s[None, :]) / TAU_S)
    return found


def integration(times_s: Floats, anchor_s: float) -> tuple[Floats, Floats, Floats]:
    """Stretches between the times and an anchor: middles (m,), widths (m,), which lie after a time (n, m)."""
    edges = np.unique(np.append(times_s, anchor_s))
    middles, widths = 0.5 * (edges[1:] + edges[:-1]), np.diff(edges)
    after = ((middles[None, :] > times_s[:, None]) & (middles[None, :] < anchor_s)).astype(np.float64)
    before = ((middles[None, :] < times_s[:, None]) & (middles[None, :] > anchor_s)).astype(np.float64)
    return middles, widths, after - before
