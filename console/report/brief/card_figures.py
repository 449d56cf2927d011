"""Figures on the card: plain ASCII, enough digits that sums by hand come out as reckoned, early side."""

from __future__ import annotations

import math
import unicodedata

from console.display import UNKNOWN, Rounding, clean_text, figure_text
from console.units import Unit

HOUR_S = 3600.0
WIDTH = 80


def figure(value: float | None, rounding: Rounding = Rounding.DOWN, *, signed: bool = False) -> str:
    """A number with four figures that count; what is there goes down, what is used goes up.

    >>> figure(1461.27), figure(0.17391, Rounding.UP), figure(-15.251), figure(0.0), figure(None)
    ('1461', '0.1740', '-15.26', '0', 'not known')
    """
    if value is None or not math.isfinite(value):
        return UNKNOWN
    if value == 0.0:
        return "0"
    decimals = min(max(3 - math.floor(math.log10(abs(value))), 0), 5)
    return figure_text(value, decimals, rounding, signed=signed)


def hours(seconds: float | None, rounding: Rounding = Rounding.DOWN, *, signed: bool = False) -> str:
    """Hours with two decimals below a hundred, one above.

    >>> hours(9720.0), hours(-11304.0, signed=True), hours(558_000.0)
    ('2.70', '-3.14', '155.0')
    """
    if seconds is None or not math.isfinite(seconds):
        return UNKNOWN
    value = seconds / HOUR_S
    return figure_text(value, 2 if abs(value) < 100.0 else 1, rounding, signed=signed)


def short_elapsed(at_s: float) -> str:
    """Hours and minutes since the epoch, the minute that it lies in.

    >>> short_elapsed(102_600.0), short_elapsed(-61.0)
    ('28h30', '-0h02')
    """
    minutes = int(at_s // 60.0)
    sign, minutes = ("-", -minutes) if minutes < 0 else ("", minutes)
    return f"{sign}{minutes // 60}h{minutes % 60:02d}"


def unit_word(unit: Unit) -> str:
    """A unit as a typewriter writes it.

    >>> from console.units import parse_unit
    >>> unit_word(parse_unit("A*h"))
    'A.h'
    """
    return plain(unit.text.replace("*", "."))


def plain(text: str) -> str:
    """Text that every printer has: ASCII, on one line; what has no ASCII becomes a question mark.

    >>> plain("ballast 2 m³"), plain("réserve")
    ('ballast 2 m3', 'reserve')
    """
    flat = " ".join(clean_text(text).replace("·", ".").split())
    folded = unicodedata.normalize("NFKD", flat)
    bare = "".join(mark for mark in folded if not unicodedata.combining(mark))
    return bare.encode("ascii", "replace").decode("ascii")


def cut(text: str, width: int) -> str:
    """Plain text of at most so many columns; what is cut off shows by a final ~."""
    text = plain(text)
    return text if len(text) <= width else f"{text[: width - 1]}~"
