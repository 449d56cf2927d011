"""RFC 3339 times in many cells at once, as seconds since the epoch: what ``validity.utc_since_s`` says. Pure.

Times that stand unchanged in line after line are read once. A time in any other form, or one that does not
exist, is left to whoever reads cells one by one.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np

from console.feed.growing_bytes import Flags, Ints, Padded, digits
from console.feed.growing_numbers import Floats
from console.instants import FIRST_YEAR, LAST_YEAR

_DIGITS = np.array([0, 1, 2, 3, 5, 6, 8, 9, 11, 12, 14, 15, 17, 18])
_MARKS = np.array([4, 7, 10, 13, 16])
_MARK_BYTES = np.frombuffer(b"--T::", np.uint8)
_SHORTEST, _LONGEST = 20, 30
"""Without a fraction, and with nine digits of one."""
_POINT, _UTC = ord("."), ord("Z")
_LONGEST_EXACT_US = 2**53
"""Whole numbers up to here are floats, so that dividing one by a million rounds once, as Python does."""
_UNIX = datetime(1970, 1, 1, tzinfo=UTC)


def microseconds(epoch: datetime) -> int:
    """The epoch for ``times_since``: microseconds since 1970."""
    return (epoch - _UNIX) // timedelta(microseconds=1)


def times_since(padded: Padded, starts: Ints, ends: Ints, epoch_us: int) -> tuple[Floats, Flags]:
    """The times in some cells, and which of them could be read."""
    if not len(starts):
        return np.empty(0), np.empty(0, dtype=np.bool_)
    is_new = _is_new(padded, starts, ends)
    rows = np.cumsum(is_new) - 1
    times_s, fits = _times(padded, starts[is_new], ends[is_new], epoch_us)
    return times_s[rows], fits[rows]


def _is_new(padded: Padded, starts: Ints, ends: Ints) -> Flags:
    """Which cells differ from the one before; of a cell of more than 32 bytes only the ends are compared."""
    is_new: Flags = np.ones(len(starts), dtype=np.bool_)
    lengths = ends - starts
    is_new[1:] = (lengths[1:] != lengths[:-1]) | (lengths[1:] > _LONGEST) | (lengths[1:] < _SHORTEST)
    places = [starts, starts + 8, ends - 8]
    if lengths.max() > 24:
        places.append(ends - 16)
    for place in places:
        word = padded.words[place]
        is_new[1:] |= word[1:] != word[:-1]
    return is_new


def _times(padded: Padded, starts: Ints, ends: Ints, epoch_us: int) -> tuple[Floats, Flags]:
    lengths = ends - starts
    fits: Flags = (lengths == _SHORTEST) | ((lengths > _SHORTEST + 1) & (lengths <= _LONGEST))
    starts = np.where(fits, starts, padded.begin)  # a place with bytes behind it, whatever they say
    read = padded.bytes[starts[:, None] + _DIGITS].astype(np.int64) - ord("0")
    fits &= ((read >= 0) & (read <= 9)).all(axis=1)
    fits &= (padded.bytes[starts[:, None] + _MARKS] == _MARK_BYTES).all(axis=1)
    fits &= padded.bytes[ends - 1] == _UTC
    seconds, exists = _seconds(read)
    fraction_us, is_fraction = _fraction_us(padded, starts, ends, lengths)
    since_us = seconds * 1_000_000 + fraction_us - epoch_us
    fits &= exists & is_fraction & (np.abs(since_us) <= _LONGEST_EXACT_US)
    return since_us / 1e6, fits


def _fraction_us(padded: Padded, starts: Ints, ends: Ints, lengths: Ints) -> tuple[Ints, Flags]:
    """Microseconds, cut off and not rounded; 0 without a fraction."""
    if not (lengths > _SHORTEST).any():
        return np.zeros(len(starts), dtype=np.int64), np.ones(len(starts), dtype=np.bool_)
    count = np.clip(lengths - _SHORTEST - 1, 0, 9)
    number, fits = digits(padded, ends - 1, count)
    fits &= (lengths == _SHORTEST) | (padded.bytes[starts + _SHORTEST - 1] == _POINT)
    powers = 10 ** np.arange(10, dtype=np.int64)
    return number * powers[np.maximum(6 - count, 0)] // powers[np.maximum(count - 6, 0)], fits


def _seconds(read: Ints) -> tuple[Ints, Flags]:
    """Seconds since 1970 of fourteen digits, and where that moment exists."""
    year = read[:, 0] * 1000 + read[:, 1] * 100 + read[:, 2] * 10 + read[:, 3]
    month, day, hour, minute, second = (
        read[:, column] * 10 + read[:, column + 1] for column in (4, 6, 8, 10, 12)
    )
    exists: Flags = (year >= FIRST_YEAR) & (year <= LAST_YEAR) & (month >= 1) & (month <= 12)
    months = np.where(exists, (year - 1970) * 12 + month - 1, 0)
    first_day, next_first_day = (_first_day(months + offset) for offset in (0, 1))
    exists &= (
        (day >= 1) & (day <= next_first_day - first_day) & (hour <= 23) & (minute <= 59) & (second <= 59)
    )
    days = first_day + day - 1
    return ((days * 24 + hour) * 60 + minute) * 60 + second, exists


def _first_day(months: Ints) -> Ints:
    """Days from 1970 to the first of months that are counted from then."""
    days: Ints = months.astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
    return days
