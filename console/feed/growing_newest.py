"""The newest time in a growing file, from its last lines alone: what ``--at state`` takes as now."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from console.errors import FeedError, InstantError
from console.feed.growing_beginning import BYTE_ORDER_MARK
from console.feed.growing_file import source_name
from console.feed.growing_layout import Layout, layout_of
from console.feed.growing_line import LONGEST_LINE, LineRefusedError, said_in_csv, said_in_json, text_of
from console.feed.growing_reader import ReadAt, open_plain_file
from console.feed.rewritten_file import FileTroubleError
from console.feed.validity import AHEAD_REFUSED_S, utc_since_s

TAIL_BYTES = 2 * LONGEST_LINE
"""Looked at first; it holds a whole line wherever it begins."""
MOST_TAIL_BYTES = 16 * 2**20
"""Looked at in the end, where nearer to the end no line has a time."""


def growing_file_time_s(path: Path, epoch: datetime, *, read_at: ReadAt = os.pread) -> float:
    """The newest time in a growing file, in seconds since the epoch.

    Of the last lines that have a time; one that lies more than a minute ahead of the very last of them is
    left aside, as it would be by a clock that went on with the file.

    Raises:
        FeedError: the file cannot be read or has no time in its last lines.
    """
    with opened_layout(path, read_at=read_at) as (handle, layout):
        return _newest_s(handle, layout, epoch, read_at)


@contextlib.contextmanager
def opened_layout(path: Path, *, read_at: ReadAt = os.pread) -> Iterator[tuple[int, Layout]]:
    """A growing file, open, and how its lines are read.

    Raises:
        FeedError: it cannot be read, or its first line says nothing that can be used.
    """
    name = source_name(path)
    try:
        handle = open_plain_file(path)
        try:
            yield handle, _layout(read_at(handle, LONGEST_LINE + 1, 0), path.suffix)
        finally:
            os.close(handle)
    except OSError as error:
        raise FeedError(f"{name}: cannot be read ({(error.strerror or 'unknown reason').lower()})") from None
    except (FileTroubleError, FeedError) as error:
        raise FeedError(f"{name}: {error}") from None


def line_time_s(line: bytes, layout: Layout, epoch: datetime) -> float | None:
    """The time in a line, seconds since the epoch; None where it has none, as a header."""
    with contextlib.suppress(LineRefusedError, InstantError):
        text = text_of(line)
        said = said_in_json(text) if layout.is_json else said_in_csv(text, layout.columns)
        return utc_since_s(said.raw.get("at"), epoch)
    return None


def _newest_s(handle: int, layout: Layout, epoch: datetime, read_at: ReadAt) -> float:
    size, tail_bytes = os.fstat(handle).st_size, TAIL_BYTES
    while True:
        begin = max(0, size - tail_bytes)
        times_s = list(_times_s(_read_all(handle, begin, size - begin, read_at), begin == 0, layout, epoch))
        if times_s:
            return max(at_s for at_s in times_s if at_s - times_s[-1] <= AHEAD_REFUSED_S)
        if begin == 0 or tail_bytes >= MOST_TAIL_BYTES:
            where = "it" if begin == 0 else f"its last {tail_bytes // 2**20} MiB"
            raise FeedError(f"no line of {where} has a time; name the moment with --at TIME")
        tail_bytes *= 16


def _layout(head: bytes, suffix: str) -> Layout:
    for number, line in enumerate(head.removeprefix(BYTE_ORDER_MARK).split(b"\n")[:-1], 1):
        if line and not line.isspace():
            return layout_of(line, number, suffix)[0]
    raise FeedError("holds no whole line yet; name the moment with --at TIME")


def _read_all(handle: int, begin: int, count: int, read_at: ReadAt) -> bytes:
    parts: list[bytes] = []
    while count > 0 and (part := read_at(handle, count, begin)):
        parts.append(part)
        begin, count = begin + len(part), count - len(part)
    return b"".join(parts)


def _times_s(tail: bytes, is_whole: bool, layout: Layout, epoch: datetime) -> Iterator[float]:
    """The times of the whole lines; a header has none."""
    for line in tail.split(b"\n")[0 if is_whole else 1 : -1]:
        if (at_s := line_time_s(line, layout, epoch)) is not None:
            yield at_s
