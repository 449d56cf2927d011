"""Standard normal draws, the same for ever: by name and seed, on every machine and with every numpy.

A library's generator may change its stream from one release to the next, and the same inputs must give the
same Snapshot to the bit; so the shuffle is a published hash, and no generator keeps a state.
"""

from __future__ import annotations

import math
import zlib
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_GOLDEN = 0x9E3779B97F4A7C15
_WORD = 0xFFFFFFFFFFFFFFFF


@lru_cache(maxsize=2048)
def standard_draws(name: str, seed: int, count: int) -> Floats:
    """Standard normal draws for one uncertain thing, shape (count + 1,): row 0 is the central 0.

    Stratified (one draw in each slice of probability), so that a few hundred give a steady interval.
    """
    draws = np.zeros(count + 1)
    key = (zlib.crc32(name.encode()) << 32 | zlib.crc32(str(seed).encode())) & _WORD
    draws[1:] = normal_quantiles(count)[shuffled_indices(count, key)]
    draws.setflags(write=False)
    return draws


@lru_cache(maxsize=8)
def normal_quantiles(count: int) -> Floats:
    """Standard normal quantiles at the middles of ``count`` equal slices of probability.

    By interpolation in the distribution ``(1 + erf(z / √2)) / 2``, to 2e-5 between -4 and 4: far below what
    sampling leaves open.
    """
    grid = np.linspace(-8.0, 8.0, 3201)
    below = np.array([0.5 * math.erfc(-z / math.sqrt(2.0)) for z in grid.tolist()])
    quantiles: Floats = np.interp((np.arange(count) + 0.5) / max(count, 1), below, grid)
    quantiles.setflags(write=False)
    return quantiles


def shuffled_indices(count: int, key: int) -> NDArray[np.intp]:
    """The numbers from 0 to ``count - 1`` in an order that depends on the key alone.

    They are sorted by SplitMix64 of their own number (Steele, Lea and Flood, OOPSLA 2014, figure 16).
    """
    mixed = (np.arange(1, count + 1, dtype=np.uint64) * np.uint64(_GOLDEN)) + np.uint64(key)
    mixed = (mixed ^ (mixed >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    mixed = (mixed ^ (mixed >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return np.argsort(mixed ^ (mixed >> np.uint64(31)))
