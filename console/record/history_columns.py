"""Columns that grow at their end and shrink at their beginning, in one array with a little room to spare."""

from __future__ import annotations

import numpy as np

from console.engine.draws import Floats

_LEAST_ROOM = 16


class Columns:
    """Some lines of numbers of one length; what is read is a view that holds until the next change.

    Args:
        lines: how many.
    """

    __slots__ = ("_array", "_begin", "_end")

    def __init__(self, lines: int) -> None:
        self._array = np.empty((lines, _LEAST_ROOM))
        self._begin = 0
        self._end = 0

    def __len__(self) -> int:
        return self._end - self._begin

    @property
    def all(self) -> Floats:
        """All of it, shape (lines, n); not to be written to nor kept."""
        return self._array[:, self._begin : self._end]

    def line(self, number: int) -> Floats:
        """One line, shape (n,); not to be written to nor kept."""
        return self._array[number, self._begin : self._end]

    def append(self, columns: Floats) -> None:
        """Add at the end, shape (lines, any number)."""
        count = columns.shape[1]
        self._make_room(count)
        self._array[:, self._end : self._end + count] = columns
        self._end += count

    def append_one(self, *numbers: float) -> None:
        """Add one column at the end."""
        self._make_room(1)
        self._array[:, self._end] = numbers
        self._end += 1

    def drop_first(self, count: int) -> None:
        """Let go of so many at the beginning."""
        self._begin += count

    def keep_last(self, count: int) -> None:
        """Let go of all but so many."""
        self._begin = max(self._begin, self._end - count)

    def _make_room(self, count: int) -> None:
        if self._end + count <= self._array.shape[1]:
            return
        held, need = self.all, len(self) + count
        # A quarter to spare: what keeps its length is then moved once in so many additions as it is long / 4.
        room = self._array if need + need // 5 <= self._array.shape[1] else None
        array = np.empty((len(held), need + need // 4 + _LEAST_ROOM)) if room is None else room
        array[:, : len(self)] = held
        self._array, self._begin, self._end = array, 0, len(self)
