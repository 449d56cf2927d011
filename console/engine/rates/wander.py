"""Use that wanders about its mean, as it shows in the readings of a level: as columns with a known spread.

The rate's deviation is an Ornstein-Uhlenbeck process; the level carries its integral, so that rows an hour
apart still err together. It is followed as its means over equal cells, whose covariance is exact.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from console.engine.draws import Floats
from console.engine.rates.segments import Segments

CELLS_IN_TAU = 3.0
MOST_CELLS = 32


@dataclass(frozen=True, kw_only=True, slots=True)
class Wander:
    """How far use strays."""

    sds_si_per_s: tuple[float, ...]
    """Standard deviation of the rate about its mean: one for all, or one for each stretch between knots."""
    tau_s: float
    """In which a stray rate has come back by two thirds."""


def wander_columns(wander: Wander, times_s: Floats, segments: Segments) -> Floats:
    """What a wandering of spread 1 does to the level at some moments, 0 at the anchor: (n, cells)."""
    first_s = float(times_s[0])
    span_s = max(segments.anchor_s - first_s, 1.0)
    cells = min(max(math.ceil(CELLS_IN_TAU * span_s / wander.tau_s), 1), MOST_CELLS)
    edges = np.linspace(-span_s, 0.0, cells + 1)
    from_anchor = np.minimum(times_s - segments.anchor_s, 0.0)
    # A clock that runs as fast as the rate strays: zero where nothing is on.
    at_edges, at_times = _strayed(wander, edges, segments), _strayed(wander, from_anchor, segments)
    after = at_edges[1:] - np.maximum(at_edges[:-1], at_times[:, None])
    columns: Floats = -np.maximum(after, 0.0) @ _root(cells, span_s / cells / wander.tau_s)
    return columns


def _strayed(wander: Wander, from_anchor_s: Floats, segments: Segments) -> Floats:
    """The integral of the spread from far back up to some moments, both counted from the anchor."""
    sds = np.array(wander.sds_si_per_s)
    edges = segments.edges_s
    if len(sds) == 1:
        strayed: Floats = sds * from_anchor_s
        return strayed
    if len(sds) != len(edges) - 1:
        raise ValueError(f"{len(sds)} spreads for {len(edges) - 1} stretches between knots")
    found: Floats = np.clip(from_anchor_s[:, None], edges[:-1], edges[1:]) @ sds
    return found


@lru_cache(maxsize=256)
def _root(cells: int, width_in_tau: float) -> Floats:
    """Root of the covariance of the means over equal cells of a process of variance 1."""
    w = width_in_tau
    lags = np.arange(cells, dtype=np.float64)
    by_lag = (2.0 * np.cosh(w) - 2.0) / w**2 * np.exp(-lags * w)
    by_lag[0] = 2.0 * (w + math.expm1(-w)) / w**2
    grid = np.abs(lags[:, None] - lags[None, :]).astype(np.intp)
    root: Floats = np.asarray(np.linalg.cholesky(by_lag[grid] + 1e-12 * np.eye(cells)))
    root.setflags(write=False)
    return root
