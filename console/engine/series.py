"""What an instrument said over time, as columns: what a feed hands over and what a history gives back.

They stand below feed and record as readings do; the engine reads them and keeps none.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from console.engine.draws import Floats

HISTORY_BACK_S: Final = 24.0 * 3600.0
"""How far back the engine is given readings,"""
HISTORY_ROWS: Final = 800
"""and in how many rows of a channel at most: of a day, rows of two minutes."""
STILL_BACK_S: Final = 5.5 * 86400.0
"""How far back where nothing moved in half of that: to see how it used to move."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Arrived:
    """The good readings of one channel that came in since the last look, in the order in which they came."""

    times_s: Floats
    """Each reading's own time, seconds since the epoch, shape (n,); times that do not rise are left out."""
    values_si: Floats
    """Shape (n,)."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Series:
    """The good readings of one channel, thinned: one row for each stretch that holds any, in order of time.

    All of shape (n,). A row of one reading is that reading itself.
    """

    times_s: Floats
    """The mean time of the stretch's readings, seconds since the epoch."""
    means_si: Floats
    lows_si: Floats
    highs_si: Floats
    counts: Floats
    """How many readings, at least 1."""

    def __len__(self) -> int:
        """How many rows there are."""
        return len(self.times_s)

    def between(self, from_s: float, until_s: float) -> Series:
        """The rows of a stretch of time, both ends included."""
        first, last = np.searchsorted(self.times_s, [from_s, np.nextafter(until_s, np.inf)])
        return Series(
            times_s=self.times_s[first:last],
            means_si=self.means_si[first:last],
            lows_si=self.lows_si[first:last],
            highs_si=self.highs_si[first:last],
            counts=self.counts[first:last],
        )


def is_still(series: Series) -> bool:
    """Whether nothing moved in any of its readings."""
    return len(series) > 0 and float(series.highs_si.max()) == float(series.lows_si.min())


def series_of(times_s: Floats, values_si: Floats) -> Series:
    """A series of single readings, in order of time."""
    return Series(
        times_s=times_s,
        means_si=values_si,
        lows_si=values_si,
        highs_si=values_si,
        counts=np.ones(len(times_s)),
    )
