"""Readings of one channel as rows on a grid that every channel shares: fine lately, coarse further back.

Stretches are aligned to the epoch, so that the same readings give the same rows whenever they are looked at.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from console.engine.draws import Floats
from console.engine.series import Series

BACK_S = 86400.0
"""How far back readings are looked at."""
FINE_BACK_S = 7200.0
FINE_S = 120.0
COARSE_S = 1200.0

Keys = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Rows:
    """All of shape (n,), in order of time."""

    keys: Keys
    """Which stretch of the shared grid each row is, in seconds of its start; unique."""
    widths_s: Floats
    times_s: Floats
    """Mean time of the readings."""
    values_si: Floats
    counts: Floats

    def __len__(self) -> int:
        """How many rows there are."""
        return len(self.times_s)


def rows_of(series: Series, at_s: float, until_s: float = np.inf) -> Rows:
    """The rows of one channel.

    Args:
        series: its good readings, of any fineness.
        at_s: the moment that "lately" is counted from.
        until_s: readings after it are not to be believed.
    """
    seen = series.between(at_s - BACK_S, min(at_s, until_s))
    # The border between fine and coarse lies on a coarse stretch's start, so that no stretch is cut in two.
    border_s = np.floor((at_s - FINE_BACK_S) / COARSE_S) * COARSE_S
    widths = np.where(seen.times_s >= border_s, FINE_S, COARSE_S)
    keys = (np.floor(seen.times_s / widths) * widths).astype(np.int64)
    if not len(keys):
        empty = np.zeros(0)
        return Rows(keys=keys, widths_s=empty, times_s=empty, values_si=empty, counts=empty)
    firsts = np.flatnonzero(np.diff(keys, prepend=keys[0] - 1))
    counts = np.add.reduceat(seen.counts, firsts)
    # Centred before they are summed: seconds since the epoch are large beside what they differ by.
    origin_s, base_si = seen.times_s[0], seen.means_si[0]
    times = np.add.reduceat(seen.counts * (seen.times_s - origin_s), firsts) / counts + origin_s
    values = np.add.reduceat(seen.counts * (seen.means_si - base_si), firsts) / counts + base_si
    return Rows(keys=keys[firsts], widths_s=widths[firsts], times_s=times, values_si=values, counts=counts)


def common(rows: list[Rows]) -> list[Rows]:
    """The rows of those stretches that all channels have."""
    shared = rows[0].keys
    for one in rows[1:]:
        shared = np.intersect1d(shared, one.keys, assume_unique=True)
    return [_only(one, np.isin(one.keys, shared, assume_unique=True)) for one in rows]


def converted(rows: Rows, amounts: Callable[[Floats], Floats]) -> Rows:
    """The rows with their values turned into another quantity; those that cannot be are left out."""
    values = amounts(rows.values_si)
    turned = Rows(
        keys=rows.keys,
        widths_s=rows.widths_s,
        times_s=rows.times_s,
        values_si=values,
        counts=rows.counts,
    )
    return _only(turned, np.isfinite(values))


def _only(rows: Rows, mask: NDArray[np.bool_]) -> Rows:
    return Rows(
        keys=rows.keys[mask],
        widths_s=rows.widths_s[mask],
        times_s=rows.times_s[mask],
        values_si=rows.values_si[mask],
        counts=rows.counts[mask],
    )
