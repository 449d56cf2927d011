"""How use that wanders about its mean shows in levels and meters, as covariances.

The rate's deviation is an Ornstein-Uhlenbeck process: it strays with a standard deviation that follows what
is switched on, and comes back within some time. A level carries its integral.
"""

from __future__ import annotations

import numpy as np

from console.craft.model import Supply
from console.engine.draws import Floats

LOADS_TAU_S = 1800.0
OTHER_TAU_S = 3600.0
"""In which a stray rate has come back by two thirds: that of loads, that of people and all other uses (common
practice, no source)."""


def tau_of(supply: Supply) -> float:
    """In which the stray use of a supply comes back."""
    return LOADS_TAU_S if supply.is_electrical else OTHER_TAU_S


def correlation(one_s: Floats, other_s: Floats, tau_s: float) -> Floats:
    """Between the rate at some moments and at others, shape (n, m)."""
    found: Floats = np.exp(-np.abs(one_s[:, None] - other_s[None, :]) / tau_s)
    return found


def integration(times_s: Floats, anchor_s: float) -> tuple[Floats, Floats, Floats]:
    """Stretches between the times and an anchor: middles (m,), widths (m,), which lie after a time (n, m)."""
    edges = np.unique(np.append(times_s, anchor_s))
    middles, widths = 0.5 * (edges[1:] + edges[:-1]), np.diff(edges)
    after = ((middles[None, :] > times_s[:, None]) & (middles[None, :] < anchor_s)).astype(np.float64)
    before = ((middles[None, :] < times_s[:, None]) & (middles[None, :] > anchor_s)).astype(np.float64)
    return middles, widths, after - before
