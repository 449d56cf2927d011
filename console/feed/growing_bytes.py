"""Whole lines of a growing file as bytes in which numpy looks at many places at once, eight bytes each.

Pure. Knows digits, and nothing of what they mean. Around the lines stand bytes that belong to no line, so
that eight bytes before and some after any place can be looked at.
"""

from __future__ import annotations

from typing import Any

import numpy as np

Bytes = np.ndarray[Any, np.dtype[np.uint8]]
Words = np.ndarray[Any, np.dtype[np.uint64]]
Ints = np.ndarray[Any, np.dtype[np.int64]]
Flags = np.ndarray[Any, np.dtype[np.bool_]]

FRONT = 32
"""Bytes before the first line: as far back as the longest run of digits is looked for."""
REAR = 96
"""Bytes after the last line: as far on as the longest name that is looked up."""

LONGEST_DIGITS = 24

_EACH = 0x0101010101010101
_HIGH, _ZEROS, _SIXES = (np.uint64(_EACH * byte) for byte in (0xF0, 0x30, 0x06))
_NIBBLES, _LOW_SEVEN = np.uint64(_EACH * 0x0F), np.uint64(_EACH * 0x7F)
_ONE, _TEN, _HUNDRED, _TEN_THOUSAND = (np.uint64(number) for number in (1, 10, 100, 10_000))
_EIGHT, _SIXTEEN, _THIRTY_TWO = (np.uint64(number) for number in (8, 16, 32))
_PAIRS, _FOURS, _ALL_EIGHT = (
    np.uint64(mask) for mask in (0x00FF00FF00FF00FF, 0x0000FFFF0000FFFF, 0xFFFFFFFF)
)
_PLACE, _SEVEN, _TOP = np.uint64(0x0001020304050607), np.uint64(7), np.uint64(56)
"""``_PLACE`` times a word in which one byte is 1 has that byte's number on top."""

FIRST = np.array([(1 << 8 * count) - 1 for count in range(9)], dtype=np.uint64)
"""By a count of bytes, what keeps so many at the beginning of a word and clears the others."""
LAST = ~FIRST[::-1]
"""The same at the end of a word."""

_LARGEST_THIRD = 900
"""The most that the third eight digits may say, so that all twenty-four fit in 63 bits."""


class Padded:
    """Whole lines and what stands around them.

    Args:
        lines: the bytes; places inside are counted from ``FRONT``.
    """

    def __init__(self, lines: bytes) -> None:
        self.content = bytes(FRONT) + lines + bytes(REAR)
        self.begin, self.end = FRONT, FRONT + len(lines)
        self.bytes: Bytes = np.frombuffer(self.content, np.uint8)
        self.words: Words = np.ndarray((len(self.content) - 7,), "<u8", buffer=self.content, strides=(1,))
        """The eight bytes that begin at each place; the first is the lowest."""


def digits(padded: Padded, ends: Ints, lengths: Ints) -> tuple[Ints, Flags]:
    """The numbers that stand before some places, and where they are digits and fit; no digit at all says 0.

    Args:
        padded: the lines.
        ends: the places behind the last digits.
        lengths: how many digits, at most ``LONGEST_DIGITS``; -1 does not fit.
    """
    fits: Flags = (lengths >= 0) & (lengths <= LONGEST_DIGITS)
    number, fine = digits_of_words(padded.words[ends - 8], np.minimum(lengths, 8))
    fits &= fine
    longest = int(lengths.max(initial=0))
    if longest > 8:
        higher, fine = digits_of_words(padded.words[ends - 16], _within_eight(lengths - 8))
        number += higher * 10**8
        fits &= fine
    if longest > 16:
        highest, fine = digits_of_words(padded.words[ends - 24], _within_eight(lengths - 16))
        fits &= fine & (highest <= _LARGEST_THIRD)
        number += np.minimum(highest, _LARGEST_THIRD) * 10**16
    return number, fits


def digits_of_words(words: Words, lengths: Ints) -> tuple[Ints, Flags]:
    """The numbers that the last bytes of some words say, at most eight, and where all of them are digits."""
    keep = LAST[lengths]
    word = (words & keep) | (_ZEROS & ~keep)
    fine: Flags = ((word & _HIGH) == _ZEROS) & (((word + _SIXES) & _HIGH) == _ZEROS)
    word &= _NIBBLES  # then they are added up in pairs, fours and eights inside one word
    word = (word * _TEN + (word >> _EIGHT)) & _PAIRS
    word = (word * _HUNDRED + (word >> _SIXTEEN)) & _FOURS
    word = (word * _TEN_THOUSAND + (word >> _THIRTY_TWO)) & _ALL_EIGHT
    return word.view(np.int64), fine


def behind_last(padded: Padded, sign: int, ends: Ints, lengths: Ints) -> Ints:
    """How many bytes stand behind a sign in the ``LONGEST_DIGITS`` bytes before some places; -1 without one.

    Where a sign stands there twice, it is one of the two.
    """
    behind: Ints = np.full(len(ends), -1, dtype=np.int64)
    for begin in range(0, min(int(lengths.max(initial=0)), LONGEST_DIGITS), 8):
        found = behind_in_words(padded.words[ends - (begin + 8)], sign, _within_eight(lengths - begin))
        behind = np.where(found >= 0, begin + found, behind)
    return behind


def behind_in_words(words: Words, sign: int, lengths: Ints) -> Ints:
    """The same in the last bytes of some words, at most eight."""
    word = words ^ np.uint64(_EACH * sign)
    hits = ~(((word & _LOW_SEVEN) + _LOW_SEVEN) | word | _LOW_SEVEN)  # 0x80 in every byte that was zero
    hits &= LAST[lengths]
    lowest = (hits & (~hits + _ONE)) >> _SEVEN
    behind: Ints = 7 - ((lowest * _PLACE) >> _TOP).view(np.int64)
    behind[hits == 0] = -1
    return behind


def without_byte(words: Words, behind: Ints) -> Words:
    """Words from which the byte was taken out that has so many behind it: those before it move on by one."""
    after = LAST[behind]
    return (words & after) | ((words << _EIGHT) & ~after)


def _within_eight(lengths: Ints) -> Ints:
    return np.minimum(np.maximum(lengths, 0), 8)
