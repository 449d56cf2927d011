"""Plain decimal numbers in many cells at once, each to the very float that Python makes of its text. Pure.

Takes a sign, digits and a point. Exponents, and the few numbers whose last bit takes more than this, are left
to whoever reads cells one by one.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from console.feed.growing_bytes import (
    LONGEST_DIGITS,
    Flags,
    Ints,
    Padded,
    behind_in_words,
    behind_last,
    digits,
    digits_of_words,
    without_byte,
)

Floats = np.ndarray[Any, np.dtype[np.float64]]

_MINUS, _PLUS, _POINT = ord("-"), ord("+"), ord(".")
_MOST_DECIMALS = 22
"""Ten to a higher power is no float."""
_POWERS: Floats = np.array([10.0**power for power in range(_MOST_DECIMALS + 1)])
_WHOLE_POWERS: Ints = np.array([10**power if power <= 18 else 0 for power in range(_MOST_DECIMALS + 1)])
_MOST_DIGITS = 9e18
"""Beyond it the digits do not fit in 63 bits."""
_EXACT = 2**53
"""Whole numbers up to here are floats, so that dividing one by a power of ten rounds once: correctly."""
_SPLIT = 2.0**27 + 1.0
_CLEAR = 0.499
"""Of the step between two floats: a rest below it was rounded to the right side."""


def numbers(padded: Padded, starts: Ints, ends: Ints) -> tuple[Floats, Flags]:
    """The numbers in some cells, and which of them could be read."""
    first = padded.bytes[starts]
    is_minus: Flags = first == _MINUS
    starts = starts + (is_minus | (first == _PLUS))
    read = _short if int((ends - starts).max(initial=0)) <= 8 else _long
    number, decimals, fits = read(padded, ends, ends - starts)
    value, is_exact = _divided(number, decimals)
    return np.where(is_minus, -value, value), fits & is_exact


def _short(padded: Padded, ends: Ints, lengths: Ints) -> tuple[Ints, Ints, Flags]:
    """Digits without their point, how many stand behind it, and which fit: of eight bytes at most."""
    words = padded.words[ends - 8]
    behind = behind_in_words(words, _POINT, lengths)
    has_point = behind >= 0
    count = lengths - has_point
    words = np.where(has_point, without_byte(words, behind), words)
    number, fits = digits_of_words(words, count)
    return number, np.maximum(behind, 0), fits & (count >= 1)


def _long(padded: Padded, ends: Ints, lengths: Ints) -> tuple[Ints, Ints, Flags]:
    """The same of any number of bytes."""
    behind = behind_last(padded, _POINT, ends, lengths)
    has_point = behind >= 0
    decimals = np.maximum(behind, 0)
    count = lengths - has_point
    whole, fits = digits(padded, ends - decimals - has_point, count - decimals)
    fraction, is_fraction = digits(padded, ends, decimals)
    fits &= is_fraction & (count >= 1) & (lengths <= LONGEST_DIGITS) & (decimals <= _MOST_DECIMALS)
    decimals = np.minimum(decimals, _MOST_DECIMALS)
    fits &= whole * _POWERS[decimals] < _MOST_DIGITS
    return np.where(fits, whole * _WHOLE_POWERS[decimals] + fraction, 0), decimals, fits


def _divided(number: Ints, decimals: Ints) -> tuple[Floats, Flags]:
    """Whole numbers divided by powers of ten and rounded once; where that is not certain, False."""
    value = number / _POWERS[decimals]
    is_exact: Flags = number <= _EXACT
    if not is_exact.all():
        long = np.flatnonzero(~is_exact)
        value[long], is_exact[long] = _divided_long(number[long], _POWERS[decimals[long]])
    return value, is_exact


def _divided_long(number: Ints, power: Floats) -> tuple[Floats, Flags]:
    """The same for more digits than a float holds: the quotient and its rest as a sum of two floats.

    The rest of a division is itself a float (Dekker 1971, Numerische Mathematik 18, 224-242), so the sum
    falls short of the true quotient by less than 1e-15 of the last bit. Where what was rounded away is not
    clearly less than half a step, or the step changes (a power of two), it stays open.
    """
    high = number.astype(np.float64)
    low = (number - high.astype(np.int64)).astype(np.float64)
    quotient = high / power
    product, error = _product(quotient, power)
    rest = (((high - product) - error) + low) / power
    value = quotient + rest
    lost = rest - (value - quotient)
    is_clear: Flags = np.abs(lost) < _CLEAR * np.spacing(value)
    return value, is_clear & (np.frexp(value)[0] != 0.5)


def _product(one: Floats, other: Floats) -> tuple[Floats, Floats]:
    """A product and what was rounded away from it, exactly (Dekker 1971)."""
    product = one * other
    one_high, one_low = _halves(one)
    other_high, other_low = _halves(other)
    error = ((one_high * other_high - product) + one_high * other_low + one_low * other_high) + (
        one_low * other_low
    )
    return product, error


def _halves(value: Floats) -> tuple[Floats, Floats]:
    scaled = value * _SPLIT
    high = scaled - (scaled - value)
    return high, value - high
