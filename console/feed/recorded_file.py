"""A growing file as it was: at any moment it ends before the first line whose time had not come yet.

Lines are taken to stand in the order in which they were written, so in that of their times but for few.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import suppress
from datetime import datetime
from itertools import islice
from pathlib import Path
from statistics import median

from console.craft.channels import Channel
from console.engine.reading import FeedState
from console.errors import FeedError
from console.feed.growing_file import GrowingFileSource
from console.feed.growing_layout import Layout
from console.feed.growing_newest import line_time_s, opened_layout
from console.feed.growing_resume import Resume

CLOSE_BYTES = 2**16
"""So near to the place, lines are looked at one by one."""
PROBED_LINES = 9
"""Of a place in the file, so many tell the time: one alone may have a wrong one."""


class RecordedFileSource:
    """Readings from a growing file, as far as they had come at the moment asked for.

    Args:
        path: the file.
        channels: the craft's instruments.
        epoch: the scenario's.
    """

    def __init__(self, path: Path, channels: Mapping[str, Channel], epoch: datetime) -> None:
        self._path = path
        self._epoch = epoch
        self._end = 0
        self._source = GrowingFileSource(path, channels, epoch, read_at=self._read_at)
        self.is_caught_up = False
        """Whether the last poll read all that there was then."""

    def poll(self, now_s: float) -> FeedState:
        """Read what had come since the last poll, and say what was known at a moment no earlier than that."""
        with suppress(FeedError):  # the file itself is told of below
            self._end = max(self._end, end_at(self._path, self._epoch, now_s, self._end))
        feed = self._source.poll(now_s)
        self.is_caught_up = self._source.is_caught_up
        return feed

    def place(self) -> Resume:
        """Where it was left."""
        return self._source.place()

    def _read_at(self, handle: int, count: int, offset: int) -> bytes:
        return os.pread(handle, max(0, min(count, self._end - offset)), offset)


def first_time_s(path: Path, epoch: datetime) -> float:
    """The time of the first line that has one, seconds since the epoch.

    Raises:
        FeedError: the file cannot be read, or no line of it has a time.
    """
    with opened_layout(path) as (handle, layout):
        size = os.fstat(handle).st_size
        found = next(_timed(handle, 0, size, layout, epoch), None)
    if found is None:
        raise FeedError(f"growing file {path.name}: no line of it has a time")
    return found[1]


def end_at(path: Path, epoch: datetime, now_s: float, begin: int = 0) -> int:
    """How many bytes of a growing file had been written at a moment, by the times in its lines.

    Args:
        path: the file.
        epoch: the scenario's.
        now_s: the moment, seconds since the epoch.
        begin: bytes that are known to have been there, up to the end of a line.

    Raises:
        FeedError: the file cannot be read, or its first line says nothing that can be used.
    """
    with opened_layout(path) as (handle, layout):
        size = os.fstat(handle).st_size
        first, last = begin, size
        while last - first > CLOSE_BYTES:
            middle = (first + last) // 2
            probe = list(islice(_timed(handle, middle, last, layout, epoch), PROBED_LINES))
            if not probe or median(at_s for _, at_s in probe) > now_s:
                last = middle
            else:
                first = probe[0][0]
        return _end_near(_timed(handle, first, size, layout, epoch), now_s, size)


def _end_near(lines: Iterator[tuple[int, float]], now_s: float, size: int) -> int:
    """Where the first of two lines in a row begins that had not come; one alone may have a wrong time."""
    ahead: int | None = None
    for start, at_s in lines:
        if at_s <= now_s:
            ahead = None
        elif ahead is None:
            ahead = start
        else:
            return ahead
    return size if ahead is None else ahead


def _timed(handle: int, begin: int, end: int, layout: Layout, epoch: datetime) -> Iterator[tuple[int, float]]:
    """Where each line begins that has a time, and that time; from the first whole line after a place on."""
    start = begin if begin == 0 or os.pread(handle, 1, begin - 1) == b"\n" else None
    rest, place = b"", begin
    while place < end and (block := os.pread(handle, min(CLOSE_BYTES, end - place), place)):
        place += len(block)
        *lines, rest = (rest + block).split(b"\n")
        for line in lines:
            if start is not None and (at_s := line_time_s(line, layout, epoch)) is not None:
                yield start, at_s
            start = (begin if start is None else start) + len(line) + 1
