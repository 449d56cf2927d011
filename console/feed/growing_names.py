"""Which known name stands in each of many cells, all at once. Pure.

A name is taken for known only when all its bytes are the same: the hash but finds the one to compare with.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from console.feed.growing_bytes import FIRST, REAR, Flags, Ints, Padded, Words

LONGEST_NAME = REAR - 16
"""Bytes; a longer name is never found."""

_SPREAD = 64
"""Places for each name, so that few names meet."""
_TRIES = 32

Numbers = np.ndarray[Any, np.dtype[np.int16]]


class NameTable:
    """Names and the numbers by which cells that hold them are told.

    Args:
        names: numbers from 0 to 32767 by name.
    """

    def __init__(self, names: Mapping[bytes, int]) -> None:
        kept = {name: number for name, number in names.items() if 0 < len(name) <= LONGEST_NAME}
        self._numbers: Numbers = np.array([*kept.values(), -1], dtype=np.int16)
        self._lengths: Ints = np.array([len(name) for name in kept], dtype=np.int64)
        width = max(1, -(-max(map(len, kept), default=0) // 8))
        self._words: Words = np.array(
            [np.frombuffer(name.ljust(8 * width, b"\0"), "<u8") for name in kept], dtype=np.uint64
        ).reshape(len(kept), width)
        lengths = np.arange(LONGEST_NAME + 2) % (LONGEST_NAME + 1)  # longer ones keep nothing
        self._keep = [FIRST[np.clip(lengths - 8 * place, 0, 8)] for place in range(width)]
        """By place of a word and length of a name, what keeps the name's bytes of that word."""
        self._bits = max(4, (len(kept) * _SPREAD).bit_length())
        self._multipliers, self._table = self._scattered()
        met = [name for row, name in enumerate(kept) if row not in self._table]
        self._others = NameTable({name: kept[name] for name in met}) if met else None
        """The names whose place another one has."""

    def find(self, padded: Padded, starts: Ints, ends: Ints) -> Numbers:
        """The number of the name in each cell; -1 where it is none of them."""
        if not len(self._lengths):
            return np.full(len(starts), -1, dtype=np.int16)
        lengths = ends - starts
        kept_lengths = np.minimum(lengths, LONGEST_NAME + 1)
        words = [
            padded.words[starts + 8 * place] & keep[kept_lengths] for place, keep in enumerate(self._keep)
        ]
        row = self._table[self._hash(words)]
        is_same: Flags = (row >= 0) & (self._lengths[row] == lengths)
        for place, word in enumerate(words):
            is_same &= self._words[row, place] == word
        found = self._numbers[np.where(is_same, row, -1)]
        if self._others is not None and not is_same.all():
            other = np.flatnonzero(~is_same)
            found[other] = self._others.find(padded, starts[other], ends[other])
        return found

    def _hash(self, words: list[Words]) -> Words:
        mixed = words[0] * self._multipliers[0]
        for word, multiplier in zip(words[1:], self._multipliers[1:], strict=True):
            mixed = mixed + word * multiplier
        mixed ^= mixed >> np.uint64(29)
        places: Words = (mixed * self._multipliers[0]) >> np.uint64(64 - self._bits)
        return places

    def _scattered(self) -> tuple[Words, Numbers]:
        """Of some multipliers those under which the fewest names meet, and the row at each place."""
        generator = np.random.default_rng(0)  # its seed is fixed: the same names give the same table
        count, width = self._words.shape
        best: tuple[int, Words, Words] | None = None
        for _ in range(_TRIES):
            self._multipliers = generator.integers(1 << 62, 1 << 63, width, dtype=np.uint64) | np.uint64(1)
            places = self._hash([self._words[:, place] for place in range(width)])
            apart = len(np.unique(places))
            if best is None or apart > best[0]:
                best = (apart, self._multipliers, places)
            if apart == count:
                break
        assert best is not None  # noqa: S101 - there is at least one try
        table: Numbers = np.full(1 << self._bits, -1, dtype=np.int16)
        table[best[2]] = np.arange(count, dtype=np.int16)
        return best[1], table
