"""A Series of one channel out of its track: which width of stretches to show, and their rows, quickly.

Stretches that are over never change, so their rows are made once and kept for as long as they are asked for;
the one that is not over is made anew. What comes out depends on the track and the question alone.
"""

from __future__ import annotations

import numpy as np

from console.engine.draws import Floats
from console.engine.series import Series, series_of
from console.record.history_columns import Columns
from console.record.history_rows import (
    FINE_WIDTHS_S,
    MINUTE_S,
    MINUTE_WIDTHS_S,
    ROW_LINES,
    START,
    TEN_MINUTES_S,
    WIDE_WIDTHS_S,
    ceil_to,
    floor_to,
    merged,
    rows_of,
    sums_of,
)
from console.record.history_track import LARGEST_TIME_S, Track

_SPARE_ROWS = 2048
"""Rows kept from before what is asked for, so that a longer look back need not make them again."""


class Ladder:
    """Rows of one track at every width that was asked for."""

    __slots__ = ("_made", "_track")

    def __init__(self, track: Track) -> None:
        self._track = track
        self._made: dict[int, _Made] = {}

    def series(self, from_s: float, until_s: float, most: int) -> Series:
        """The readings between two moments, both included, in at most so many rows.

        Every row is made of readings between the two and of all the readings of its stretch that are: a
        stretch which had begun before ``from_s`` is left out.
        """
        track = self._track
        if track.last_s is None or from_s > min(until_s, track.last_s):
            return _NOTHING
        from_s, until_s = max(from_s, -LARGEST_TIME_S), min(until_s, track.last_s)
        if track.full_from_s <= from_s:
            times = track.full.line(0)
            first, last = _between(times, from_s, until_s)
            if last - first <= most:
                return _single(track.full.all[:, first:last].copy())
            width_s = self._fine_width(float(times[first]), from_s, until_s, most)
            if width_s is not None:
                return _shown(*self._rows(width_s, from_s, until_s))
        return self._coarse(from_s, until_s, most)

    def _fine_width(self, first_s: float, from_s: float, until_s: float, most: int) -> int | None:
        """The narrowest width below a minute that surely gives no more rows than asked for."""
        starts = self._track.minutes.line(START)
        first, last = np.searchsorted(starts, [floor_to(from_s, MINUTE_S), until_s])
        minutes = int(last - first) + 1
        for width_s in FINE_WIDTHS_S:
            span = (floor_to(until_s, width_s) - floor_to(first_s, width_s)) // width_s + 1
            if min(span, minutes * (MINUTE_S // width_s)) <= most:
                return width_s
        return None

    def _coarse(self, from_s: float, until_s: float, most: int) -> Series:
        """Rows of the narrowest width from a minute on that gives no more than asked for."""
        track = self._track
        widths = list(WIDE_WIDTHS_S)
        if track.minutes_from_s <= from_s:
            widths[:0] = MINUTE_WIDTHS_S
        from_s = max(from_s, track.tens_from_s)
        width_s = widths.pop(0)
        closed, tail = self._rows(width_s, from_s, until_s)
        # Each row takes the place of so many of the narrowest, and the first may be left out: where too many
        # would remain, none are made.
        span_s = width_s * (closed.shape[1] + tail.shape[1])
        while closed.shape[1] + tail.shape[1] > most:
            width_s = widths.pop(0) if widths else 2 * width_s
            if span_s <= (most + 1) * width_s:
                closed, tail = self._rows(width_s, from_s, until_s)
        return _shown(closed, tail)

    def _rows(self, width_s: int, from_s: float, until_s: float) -> tuple[Floats, Floats]:
        """The rows of stretches that are over by then, and of the one that is not (or none)."""
        begun_s = floor_to(until_s, width_s)
        if begun_s < from_s:
            nothing = np.empty((ROW_LINES, 0))
            return nothing, nothing
        rows = self._closed(width_s, from_s)
        first, last = np.searchsorted(rows[START], [from_s, begun_s])
        return rows[:, first:last], self._unfinished(width_s, begun_s, until_s)

    def _closed(self, width_s: int, from_s: float) -> Floats:
        """Rows of at least all the stretches that begin from then on and are over by the newest reading."""
        track = self._track
        if width_s == MINUTE_S:
            return track.minutes.all
        if width_s == TEN_MINUTES_S:
            return track.tens.all
        made = self._made.get(width_s)
        begins_s = ceil_to(from_s, width_s)
        if made is None or begins_s < made.begins_s:
            made = self._made[width_s] = _Made(width_s, begins_s)
        made.go_on(track)
        made.let_go(from_s)
        return made.rows.all

    def _unfinished(self, width_s: int, begun_s: float, until_s: float) -> Floats:
        """The row of a stretch's readings up to some moment in it; none where they are not known."""
        track = self._track
        if width_s < MINUTE_S:
            return self._of_full(width_s, begun_s, until_s)
        if width_s == MINUTE_S:
            if until_s == track.last_s and track.begun is not None:
                return rows_of(np.array(track.begun)[:, np.newaxis])
            return self._of_full(width_s, begun_s, until_s)
        narrow_s = MINUTE_S if width_s <= TEN_MINUTES_S else TEN_MINUTES_S
        narrow, narrow_from_s = (
            (track.minutes, track.minutes_from_s) if narrow_s == MINUTE_S else (track.tens, track.tens_from_s)
        )
        if narrow_from_s > begun_s:
            return np.empty((ROW_LINES, 0))
        last_begun_s = floor_to(until_s, narrow_s)
        first, last = np.searchsorted(narrow.line(START), [begun_s, last_begun_s])
        tail = self._unfinished(narrow_s, last_begun_s, until_s)
        return merged(np.concatenate((narrow.all[:, first:last], tail), axis=1), width_s)

    def _of_full(self, width_s: int, begun_s: float, until_s: float) -> Floats:
        track = self._track
        first, last = _between(track.full.line(0), begun_s, until_s)
        if first == last or track.full_from_s > begun_s:
            return np.empty((ROW_LINES, 0))
        times, values = track.full.all[:, first:last]
        return rows_of(sums_of(times, values, width_s))


class _Made:
    """The rows of one width that are made: all whose stretches begin between two moments."""

    __slots__ = ("_ends_s", "_width_s", "begins_s", "rows")

    def __init__(self, width_s: int, begins_s: float) -> None:
        self._width_s = width_s
        self.begins_s = begins_s
        self._ends_s = begins_s
        self.rows = Columns(ROW_LINES)

    def go_on(self, track: Track) -> None:
        """Make the rows of the stretches that are over by now."""
        over_s = floor_to(track.last_s or 0.0, self._width_s)
        if over_s <= self._ends_s:
            return
        if self._width_s < MINUTE_S:
            first, last = np.searchsorted(track.full.line(0), [self._ends_s, over_s])
            if last > first:
                times, values = track.full.all[:, first:last]
                self.rows.append(rows_of(sums_of(times, values, self._width_s)))
        else:
            narrow = track.minutes if self._width_s < TEN_MINUTES_S else track.tens
            first, last = np.searchsorted(narrow.line(START), [self._ends_s, over_s])
            self.rows.append(merged(narrow.all[:, first:last], self._width_s))
        self._ends_s = over_s

    def let_go(self, from_s: float) -> None:
        """Keep no more than a little from before what is asked for."""
        before = int(np.searchsorted(self.rows.line(START), from_s))
        if before > 2 * _SPARE_ROWS:
            self.rows.drop_first(before - _SPARE_ROWS)
            self.begins_s = float(self.rows.line(START)[0])


def _between(times_s: Floats, from_s: float, until_s: float) -> tuple[int, int]:
    """Which of some rising times lie between two moments, both included."""
    return int(np.searchsorted(times_s, from_s)), int(np.searchsorted(times_s, until_s, side="right"))


def _shown(closed: Floats, tail: Floats) -> Series:
    return _series(np.concatenate((closed[1:], tail[1:]), axis=1))


def _series(columns: Floats) -> Series:
    columns.flags.writeable = False
    times_s, means_si, lows_si, highs_si, counts = columns
    return Series(times_s=times_s, means_si=means_si, lows_si=lows_si, highs_si=highs_si, counts=counts)


def _single(readings: Floats) -> Series:
    readings.flags.writeable = False
    series = series_of(readings[0], readings[1])
    series.counts.flags.writeable = False
    return series


_NOTHING = _series(np.empty((ROW_LINES - 1, 0)))
