"""All channels' histories side by side, one line each, the newest word in the last column.

Lines that are shorter begin with copies of their first row, which ``valid`` marks; so the newest words, about
which everything here turns, stand below each other and one sum serves all channels.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from console.engine.draws import Floats
from console.engine.reading import Reading
from console.engine.series import Series
from console.engine.validity.context import ChannelContext

FEWEST_ROWS = 12
"""A channel with fewer is not judged over time: nobody knows yet how it behaves (our own choice)."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Grid:
    """Channels by rows of time: everything of shape (channels, n) or (channels,)."""

    contexts: tuple[ChannelContext, ...]
    times_s: Floats
    means_si: Floats
    lows_si: Floats
    highs_si: Floats
    counts: Floats
    valid: NDArray[np.bool_]
    lengths: NDArray[np.intp]
    """How many of each line's last columns are its own."""
    same_rows: NDArray[np.intp]
    """How many of each line's last columns hold nothing but its newest value, to the bit."""
    steps_si: Floats
    """The display's, 0 where it is not stated."""
    accuracies_si: Floats

    def __len__(self) -> int:
        """How many channels there are."""
        return len(self.contexts)

    def first(self, line: int) -> int:
        """The column of a line's own first row."""
        return int(self.means_si.shape[1] - self.lengths[line])


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Line:
    series: Series
    newest: tuple[float, float] | None
    """Time and value of the newest word where it stands beside the rows; None where it is their last."""
    last: tuple[float, float, float, float, float]
    """The last row without the newest word: time, mean, low, high, count."""

    @property
    def length(self) -> int:
        return len(self.series) + (self.newest is not None)


def grid_of(
    channel_series: Mapping[str, Series],
    contexts: Mapping[str, ChannelContext],
    readings: Mapping[str, Reading],
) -> Grid:
    """The channels that have enough of a history, in the order of the contexts."""
    lines: list[_Line] = []
    kept: list[ChannelContext] = []
    for name, context in contexts.items():
        series = channel_series.get(name)
        if series is None or len(series) < FEWEST_ROWS - 1:
            continue
        line = _line(series, readings.get(name))
        if line.length >= FEWEST_ROWS:
            lines.append(line)
            kept.append(context)
    width = max((line.length for line in lines), default=0)
    columns = np.empty((5, len(lines), width))
    for index, line in enumerate(lines):
        _fill(columns[:, index], line, width)
    lengths = np.array([line.length for line in lines], dtype=np.intp)
    channels = [context.channel for context in kept]
    valid = np.arange(width) >= width - lengths[:, np.newaxis]
    newest = columns[1, :, -1:]
    differs = (columns[2] != newest) | (columns[3] != newest) | ~valid
    return Grid(
        contexts=tuple(kept),
        times_s=columns[0],
        means_si=columns[1],
        lows_si=columns[2],
        highs_si=columns[3],
        counts=columns[4],
        valid=valid,
        lengths=lengths,
        # Where nothing differs argmax is 0, which would say that the newest does.
        same_rows=np.where(differs.any(axis=1), differs[:, ::-1].argmax(axis=1), width) if width else lengths,
        steps_si=np.array([channel.resolution_si for channel in channels]),
        accuracies_si=np.array([channel.accuracy_si for channel in channels]),
    )


def _line(series: Series, reading: Reading | None) -> _Line:
    """A channel's rows with its newest word taken out of the last one, where it is one of several in it."""
    time, mean, low, high, count = (
        float(column[-1])
        for column in (series.times_s, series.means_si, series.lows_si, series.highs_si, series.counts)
    )
    whole = (time, mean, low, high, count)
    if reading is None or reading.value_si is None or reading.at_s is None or reading.at_s <= time:
        return _Line(series=series, newest=None, last=whole)
    value, at_s = reading.value_si, reading.at_s
    if count > 1.0 and low <= value <= high:
        # In differences: what is the same in every reading stays so to the bit.
        time -= (at_s - time) / (count - 1.0)
        mean -= (value - mean) / (count - 1.0)
        count -= 1.0
        if value == high > low:
            high = mean if count == 1.0 else min(high, mean + max(mean - low, 0.0))
        elif value == low < high:
            low = mean if count == 1.0 else max(low, mean - max(high - mean, 0.0))
        previous = float(series.times_s[-2]) if len(series) > 1 else -np.inf
        if time <= previous:  # the word was not of that row after all
            time, mean, low, high, count = whole
    return _Line(series=series, newest=(at_s, value), last=(time, mean, low, high, count))


def _fill(columns: Floats, line: _Line, width: int) -> None:
    """Write a line's columns, shape (5, width)."""
    series = line.series
    first = width - line.length
    end = width - (line.newest is not None)
    for index, column in enumerate(
        (series.times_s, series.means_si, series.lows_si, series.highs_si, series.counts)
    ):
        columns[index, :first] = column[0]
        columns[index, first:end] = column
        columns[index, end - 1] = line.last[index]
    if line.newest is not None:
        at_s, value = line.newest
        columns[:, -1] = (at_s, value, value, value, 1.0)
