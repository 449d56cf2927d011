"""A track as blocks of bytes for the disk, and back: what is new since the last saving, in whole blocks.

A block holds one channel's full-rate readings of one minute, or its rows of sixty stretches. Numbers are
little-endian float64, so that what comes back is the same to the bit. Knows nothing of files.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from console.engine.draws import Floats
from console.record.history_columns import Columns
from console.record.history_rows import (
    MINUTE_S,
    ROW_LINES,
    START,
    SUM_LINES,
    TEN_MINUTES_S,
    TIME,
    firsts_of,
    starts_of,
)
from console.record.history_track import Track

BLOCK_S = {"full_rate": MINUTE_S, "minutes": 60 * MINUTE_S, "ten_minutes": 60 * TEN_MINUTES_S}
"""By table, the stretch of time of one block."""

_NUMBER = np.dtype("<f8")


@dataclass(frozen=True, kw_only=True, slots=True)
class Block:
    """A piece of one channel's readings or rows."""

    table: str
    channel: str
    number: int
    """Where its stretch of time begins, in lengths of its table's blocks since the epoch."""
    content: bytes


@dataclass(frozen=True, kw_only=True, slots=True)
class Cut:
    """The blocks of one channel before a number have aged and can go."""

    table: str
    channel: str
    number: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Progress:
    """How far a track was saved."""

    last_s: float = -math.inf
    taken: int = 0
    minutes_made: int = 0
    tens_made: int = 0
    begins: tuple[int | None, ...] = (None, None, None)
    """The first block held, by table."""


@dataclass(kw_only=True, slots=True)
class Batch:
    """All that one transaction writes."""

    states: list[tuple[str, bytes]] = field(default_factory=list)
    """By channel, what a track knows beside its readings and rows."""
    blocks: list[Block] = field(default_factory=list)
    cuts: list[Cut] = field(default_factory=list)
    marks: dict[str, str] = field(default_factory=dict)

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to write."""
        return not (self.states or self.marks)


@dataclass(kw_only=True, slots=True)
class SavedTrack:
    """One channel as it came from the disk, blocks in order of time and joined."""

    state: bytes = b""
    pieces: dict[str, list[bytes]] = field(default_factory=lambda: {table: [] for table in BLOCK_S})


class SavedTrackError(ValueError):
    """What came from the disk is no track."""


def gather(channel: str, track: Track, done: Progress, batch: Batch) -> Progress:
    """Add to a batch what a track has that was not saved yet, and say how far that goes."""
    if track.last_s is None or track.taken == done.taken:
        return done
    batch.states.append((channel, _state(track)))
    full = track.full.all
    first = int(np.searchsorted(full[0], done.last_s, side="right"))
    news = {
        "full_rate": (full[0], full, first),
        "minutes": _new_rows(track.minutes, track.minutes_made - done.minutes_made),
        "ten_minutes": _new_rows(track.tens, track.tens_made - done.tens_made),
    }
    for table, (times, columns, first_new) in news.items():
        batch.blocks.extend(_blocks(table, channel, times, columns, first_new))
    begins = tuple(_first_block(table, times) for table, (times, _, _) in news.items())
    for table, number, before in zip(BLOCK_S, begins, done.begins, strict=True):
        if number is not None and number != before:
            batch.cuts.append(Cut(table=table, channel=channel, number=number))
    return Progress(
        last_s=track.last_s,
        taken=track.taken,
        minutes_made=track.minutes_made,
        tens_made=track.tens_made,
        begins=begins,
    )


def restored(saved: SavedTrack) -> Track:
    """The track that was saved.

    Raises:
        SavedTrackError: it is none.
    """
    track = Track()
    if not saved.state:
        return track
    state = _numbers(saved.state, 4 + SUM_LINES)[:, 0]
    full = _numbers(b"".join(saved.pieces["full_rate"]), 2)
    track.full.append(full)
    track.minutes.append(_rows(saved.pieces["minutes"], MINUTE_S))
    track.tens.append(_rows(saved.pieces["ten_minutes"], TEN_MINUTES_S))
    track.last_s = float(state[0])
    track.taken, track.minutes_made, track.tens_made = (int(number) for number in state[1:4])
    track.begun = state[4:].tolist()
    track.trim()
    if not _is_sound(track):
        raise SavedTrackError("its readings are not in order of time, or some are missing")
    return track


def progress_of(track: Track) -> Progress:
    """That of a track which has just come from the disk; what has aged there is cut with the next saving."""
    return Progress(
        last_s=-math.inf if track.last_s is None else track.last_s,
        taken=track.taken,
        minutes_made=track.minutes_made,
        tens_made=track.tens_made,
    )


def _state(track: Track) -> bytes:
    counts = (track.last_s, track.taken, track.minutes_made, track.tens_made)
    return np.array((*counts, *(track.begun or ())), _NUMBER).tobytes()


def _new_rows(rows: Columns, new: int) -> tuple[Floats, Floats, int]:
    return rows.line(START), rows.all[TIME:], len(rows) - min(new, len(rows))


def _blocks(table: str, channel: str, times: Floats, columns: Floats, first_new: int) -> Iterator[Block]:
    """The blocks that hold the columns from some on, each from its own beginning."""
    length_s = BLOCK_S[table]
    if first_new >= len(times):
        return
    begins_s = starts_of(times[first_new : first_new + 1], length_s)
    first = int(np.searchsorted(times, begins_s[0]))
    starts = starts_of(times[first:], length_s)
    cuts = [*firsts_of(starts).tolist(), len(starts)]
    # Column after column, so that blocks can be joined as they are.
    content = np.ascontiguousarray(columns[:, first:].T, _NUMBER)
    for begin, end in pairwise(cuts):
        number = int(starts[begin]) // length_s
        yield Block(table=table, channel=channel, number=number, content=content[begin:end].tobytes())


def _first_block(table: str, times: Floats) -> int | None:
    return math.floor(times[0]) // BLOCK_S[table] if len(times) else None


def _numbers(content: bytes, lines: int) -> Floats:
    if len(content) % (lines * _NUMBER.itemsize):
        raise SavedTrackError("a block has an impossible length")
    numbers = np.frombuffer(content, _NUMBER).astype(np.float64, copy=False)
    return numbers.reshape(-1, lines).T


def _rows(pieces: list[bytes], width_s: int) -> Floats:
    kept = _numbers(b"".join(pieces), ROW_LINES - 1)
    return np.concatenate((starts_of(kept[0], width_s)[np.newaxis], kept))


def _is_sound(track: Track) -> bool:
    """Whether all that the counts promise is there and in order of time."""
    rising = (track.full.line(0), track.minutes.line(START), track.tens.line(START))
    if any((times[1:] <= times[:-1]).any() for times in rising):
        return False
    counted = (
        (track.taken, track.full),
        (track.minutes_made, track.minutes),
        (track.tens_made, track.tens),
    )
    return (
        all(made >= len(held) for made, held in counted)
        and len(track.full) > 0
        and track.full.line(0)[-1] == track.last_s
    )
