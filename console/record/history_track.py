"""The readings of one channel in three ages: full rate, rows of a minute, rows of ten minutes; in memory.

What is held depends only on the readings taken, never on the batches in which they came. Each age is bounded
by a number of stretches that hold readings, not by a date: a channel that is read without a gap keeps full
rate for 6 hours, minutes for 3 days and ten minutes for 6 weeks; after a gap or a jump in time it keeps the
same amount of older readings instead of losing all.
"""

from __future__ import annotations

import math

import numpy as np

from console.engine.draws import Floats
from console.record.history_columns import Columns
from console.record.history_rows import (
    MINUTE_S,
    ROW_LINES,
    START,
    SUM_START,
    TEN_MINUTES_S,
    add_reading,
    floor_to,
    merged,
    rows_of,
    sums_of,
)

FULL_MINUTES = 361
"""Stretches of a minute of which every reading is kept: 6 hours and the minute that is not over."""
MOST_FULL = 30_000
"""Readings kept of those at most: a feed faster than 1.4 a second is thinned earlier."""
MINUTE_ROWS = 4320
"""Rows of a minute: 3 days."""
TEN_MINUTE_ROWS = 6048
"""Rows of ten minutes: 6 weeks."""

LARGEST_TIME_S = 1e11
"""Times beyond 3,000 years on either side are no times of a contingency, and whole seconds stay exact."""
LARGEST_VALUE_SI = 1e100
"""Beyond, sums could overflow; no instrument reads so much."""


class Track:
    """One channel."""

    __slots__ = (
        "begun",
        "full",
        "last_s",
        "minutes",
        "minutes_made",
        "taken",
        "tens",
        "tens_made",
    )

    def __init__(self) -> None:
        self.full = Columns(2)
        """Times and values of the readings still held at full rate."""
        self.minutes = Columns(ROW_LINES)
        """Rows of the minutes that are over."""
        self.tens = Columns(ROW_LINES)
        """Rows of the ten minutes that are over."""
        self.begun: list[float] | None = None
        """Sums of the minute that is not over; None before the first reading."""
        self.last_s: float | None = None
        self.taken = 0
        """Readings ever taken."""
        self.minutes_made = 0
        self.tens_made = 0

    @property
    def full_from_s(self) -> float:
        """From when on every reading is held."""
        return -math.inf if self.taken == len(self.full) else float(self.full.line(0)[0])

    @property
    def minutes_from_s(self) -> float:
        """From when on every minute is held."""
        return -math.inf if self.minutes_made == len(self.minutes) else float(self.minutes.line(START)[0])

    @property
    def tens_from_s(self) -> float:
        """From when on every ten minutes are held."""
        return -math.inf if self.tens_made == len(self.tens) else float(self.tens.line(START)[0])

    def take(self, times_s: Floats, values_si: Floats) -> int:
        """Take readings in the order in which they came.

        Returns:
            How many of them were left out: their time does not rise, or they are no numbers.
        """
        times, values = self._admitted(times_s, values_si)
        if len(times):
            self._add(times, values)
        return len(times_s) - len(times)

    def take_one(self, at_s: float, value_si: float) -> int:
        """``take`` of a single reading: the same to the bit, and quicker in the minute that has begun."""
        begun = self.begun
        if begun is None or self.last_s is None or floor_to_or_none(at_s) != begun[SUM_START]:
            return self.take(np.array([at_s]), np.array([value_si]))
        if not (at_s > self.last_s and abs(value_si) <= LARGEST_VALUE_SI):
            return 1
        self.full.append_one(at_s, value_si + 0.0)
        add_reading(begun, at_s, value_si + 0.0)
        self.taken += 1
        self.last_s = at_s
        self.full.keep_last(MOST_FULL)
        return 0

    def trim(self) -> None:
        """Let go of what has aged."""
        minutes = self.minutes.line(START)
        if len(minutes) >= FULL_MINUTES:
            oldest_s = minutes[1 - FULL_MINUTES]
            self.full.drop_first(int(np.searchsorted(self.full.line(0), oldest_s)))
        self.full.keep_last(MOST_FULL)
        self.minutes.keep_last(MINUTE_ROWS)
        self.tens.keep_last(TEN_MINUTE_ROWS)

    def _admitted(self, times_s: Floats, values_si: Floats) -> tuple[Floats, Floats]:
        times, values = np.asarray(times_s, np.float64), np.asarray(values_si, np.float64)
        # NaN is no greater and no smaller than anything, so it fails both.
        sound = (np.abs(times) <= LARGEST_TIME_S) & (np.abs(values) <= LARGEST_VALUE_SI)
        if not sound.all():
            times, values = times[sound], values[sound]
        before = np.maximum.accumulate(
            np.concatenate(([-np.inf if self.last_s is None else self.last_s], times))
        )
        rises = times > before[:-1]
        if not rises.all():
            times, values = times[rises], values[rises]
        return times + 0.0, values + 0.0  # no negative zero: which of two zeros is the lower is not defined

    def _add(self, times_s: Floats, values_si: Floats) -> None:
        self.full.append(np.stack((times_s, values_si)))
        sums = sums_of(times_s, values_si, MINUTE_S, self.begun)
        over = sums[:, :-1]
        if self.begun is not None and self.begun[SUM_START] != sums[SUM_START, 0]:
            over = np.concatenate((np.array(self.begun)[:, np.newaxis], over), axis=1)
        self.begun = sums[:, -1].tolist()
        self.taken += len(times_s)
        self.last_s = float(times_s[-1])
        if over.shape[1]:
            self.minutes.append(rows_of(over))
            self.minutes_made += over.shape[1]
            self._make_tens(self.last_s)
            self.trim()
        else:
            self.full.keep_last(MOST_FULL)

    def _make_tens(self, last_s: float) -> None:
        """Make the rows of the ten minutes that are now over."""
        made_until_s = self.tens.line(START)[-1] + TEN_MINUTES_S if self.tens_made else -math.inf
        starts = self.minutes.line(START)
        first, last = np.searchsorted(starts, [made_until_s, floor_to(last_s, TEN_MINUTES_S)])
        if last > first:
            rows = merged(self.minutes.all[:, first:last], TEN_MINUTES_S)
            self.tens.append(rows)
            self.tens_made += rows.shape[1]


def floor_to_or_none(at_s: float) -> float | None:
    """The minute that holds a moment; None where it is no moment at all."""
    return floor_to(at_s, MINUTE_S) if abs(at_s) <= LARGEST_TIME_S else None
