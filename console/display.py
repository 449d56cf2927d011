"""How things are shown as text, alike on the board, in reports and in the handover. Pure; draws nothing.

Numbers never flatter: each kind of figure has a fixed side to which it is rounded, see ``Rounding``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from datetime import UTC, datetime
from enum import Enum

from console.units import Unit, UnitSystem, parse_unit

CAUTIONS = (
    "Advisory only: not certified for flight, diving, mining or medical use. Verify by independent "
    "calculation and primary instruments.",
    "Limits come from named documents; your own flight rules, local codes and licensed practice come first.",
)
"""What must stand wherever the tool explains itself."""

_UNSAFE = (
    "[\x00-\x08\x0b-\x1f\x7f-\x9f"  # C0 but tab and newline, DEL, C1
    "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"  # what Unicode's UAX #9 lists as Bidi_Control
    "\u2028\u2029"  # line and paragraph separator: a one-line field must stay one line
    "\ud800-\udfff]"  # halves of surrogate pairs: no UTF-8 can hold them
)


def clean_text(text: str) -> str:
    r"""Text from outside, with all that would act on a terminal replaced by something to see.

    Newline and tab stay; a Windows line end becomes a newline.

    >>> clean_text("\x1b[2Jall is well\u202e")
    '␛[2Jall is well<U+202E>'
    """
    if text.isprintable():
        return text  # nearly always; compiling the expression costs 5 ms at the first text that is not
    return re.sub(_UNSAFE, _visible, text.replace("\r\n", "\n"))


def _visible(match: re.Match[str]) -> str:
    code = ord(match.group())
    if code < 0x20:
        return chr(0x2400 + code)  # the Control Pictures of Unicode stand in the order of C0
    return "\u2421" if code == 0x7F else f"<U+{code:04X}>"


UNKNOWN = "not known"
"""What stands where a figure cannot be had; the reason belongs beside it."""


class Rounding(Enum):
    """To which side a figure is rounded. Never to the side that flatters.

    What is there, what is left, a time left, a margin and an allowance go DOWN (towards less, so a shortfall
    grows); what is used, an age and a rate of use go UP. NEAREST is for what must add up in print.
    """

    DOWN = "down"
    UP = "up"
    NEAREST = "nearest"


_LONGEST_H = 9999.9
_TOLERANCE = 1e-9  # of the figure: 12.3 h is 44280 s, which divides to 12.299999999999999


def figure_text(
    value: float, decimals: int, rounding: Rounding = Rounding.DOWN, *, signed: bool = False
) -> str:
    """A bare number with so many decimals; a number that is not finite is not known.

    >>> figure_text(87.68, 1), figure_text(-3.14, 1), figure_text(0.301, 2, Rounding.UP)
    ('87.6', '-3.2', '0.31')
    """
    if not math.isfinite(value):
        return UNKNOWN
    scaled = value * 10**decimals
    whole = round(scaled)
    if abs(scaled - whole) > _TOLERANCE * max(1.0, abs(scaled)) and rounding is not Rounding.NEAREST:
        whole = math.floor(scaled) if rounding is Rounding.DOWN else math.ceil(scaled)
    return f"{whole / 10**decimals:{'+' if signed else ''}.{decimals}f}"


def hours_figure(seconds: float | None, rounding: Rounding = Rounding.DOWN, *, signed: bool = False) -> str:
    """Hours with one decimal and no unit, for columns: a time left, or a margin with its sign, rounded down.

    The time to need goes UP: it is what has to be reached.

    >>> hours_figure(315648.0), hours_figure(-11304.0, signed=True), hours_figure(9.9e9), hours_figure(None)
    ('87.6', '-3.2', 'over 9999', 'not known')
    """
    if seconds is None or not math.isfinite(seconds):
        return UNKNOWN
    if seconds / 3600.0 > _LONGEST_H:
        return "over 9999"
    return figure_text(seconds / 3600.0, 1, rounding, signed=signed)


def hours_text(seconds: float | None, rounding: Rounding = Rounding.DOWN) -> str:
    """A time left in hours.

    >>> hours_text(315648.0)
    '87.6 h'
    """
    return _with_unit(hours_figure(seconds, rounding), "h")


def margin_text(seconds: float | None) -> str:
    """A margin with its word, which stands for the sign: a shortfall is rounded up, what is spare down.

    >>> margin_text(-11304.0), margin_text(44640.0)
    ('SHORT 3.2 h', 'spare 12.4 h')
    """
    if seconds is None or not math.isfinite(seconds):
        return UNKNOWN
    return f"{margin_word(seconds)} {_with_unit(hours_figure(seconds).removeprefix('-'), 'h')}"


def margin_word(seconds: float) -> str:
    """``SHORT`` where it does not reach, ``spare`` where it does."""
    return "SHORT" if seconds < 0.0 else "spare"


def hours_interval_text(low_s: float | None, high_s: float | None) -> str:
    """The ends of an interval in hours; an end that does not exist is said, not left out.

    >>> hours_interval_text(104760.0, 147600.0), hours_interval_text(104760.0, None)
    ('29.1 to 41.0 h', '29.1 h or more, no upper limit')
    """
    if low_s is None:
        return UNKNOWN if high_s is None else f"up to {hours_text(high_s)}, low end {UNKNOWN}"
    if high_s is None:
        return f"{hours_text(low_s)} or more, no upper limit"
    return f"{hours_figure(low_s)} to {hours_text(high_s)}"


def unit_text(unit: Unit) -> str:
    """A unit for people: ``A·h`` for ``A*h``."""
    return unit.text.replace("*", "·")


def amount_text(
    value_si: float | None, unit: Unit, rounding: Rounding = Rounding.DOWN, *, signed: bool = False
) -> str:
    """An amount in its supply's unit, to three or four figures.

    >>> from console.units import parse_unit
    >>> amount_text(77328.0, parse_unit("A*h")), amount_text(-2.134, parse_unit("kg"))
    ('21.4 A·h', '-2.14 kg')
    """
    if value_si is None or not math.isfinite(value_si):
        return UNKNOWN
    value = unit.from_si(value_si)
    return _with_unit(figure_text(value, _decimals(value), rounding, signed=signed), unit_text(unit))


def amount_interval_text(low_si: float | None, high_si: float | None, unit: Unit) -> str:
    """The ends of an interval of an amount."""
    if low_si is None or high_si is None:
        return f"{amount_text(low_si, unit)} to {amount_text(high_si, unit)}"
    low, high = unit.from_si(low_si), unit.from_si(high_si)
    decimals = min(_decimals(low), _decimals(high))
    return f"{figure_text(low, decimals)} to {figure_text(high, decimals)} {unit_text(unit)}"


def rate_text(value_si_per_s: float | None, rate_unit: Unit, rounding: Rounding = Rounding.UP) -> str:
    """A rate of use, rounded up; pass DOWN for an allowance.

    >>> from console.units import parse_unit
    >>> rate_text(1.5e-4, parse_unit("kg/h"))
    '0.540 kg/h'
    """
    return amount_text(value_si_per_s, rate_unit, rounding)


def cabin_unit(name: str, system: UnitSystem, *, written: Unit | None = None, is_share: bool = False) -> Unit:
    """The unit in which a property of the cabin is read.

    In US practice the whole's pressure is in psi and one gas's in mmHg (common practice, no source).

    Args:
        name: the property's, a value of CabinProperty.
        system: in which units people read figures.
        written: the unit that the config gives it; kept where figures are read as written, and for shares.
        is_share: whether a gas is meant as its share of the whole pressure.

    >>> cabin_unit("oxygen", UnitSystem.US).text, cabin_unit("pressure", UnitSystem.AS_WRITTEN).text
    ('mmHg', 'kPa')
    """
    share = is_share or name == "humidity"
    if written is not None and (system is UnitSystem.AS_WRITTEN or share):
        return written
    if share:
        return parse_unit("%")
    is_us = system is UnitSystem.US
    if name.endswith("temperature"):
        return parse_unit("degF" if is_us else "degC")
    if is_us:
        return parse_unit("psi" if name == "pressure" else "mmHg")
    return parse_unit("kPa")


def cabin_text(name: str, value_si: float | None, unit: Unit, rounding: Rounding | None = None) -> str:
    """A property of the cabin as it is, rounded to the worse side: carbon dioxide up, pressures down.

    Warmth and humidity can be bad at either end: to the nearest, unless a limit says which end counts.

    >>> [cabin_text(gas, 1009.9, parse_unit("kPa")) for gas in ("carbon_dioxide", "oxygen")]
    ['1.01 kPa', '1.00 kPa']
    """
    if rounding is None:
        is_either = name == "humidity" or name.endswith("temperature")
        worse = Rounding.UP if name == "carbon_dioxide" else Rounding.DOWN
        rounding = Rounding.NEAREST if is_either else worse
    return amount_text(value_si, unit, rounding)


def velocity_unit(system: UnitSystem) -> Unit:
    """The unit in which a change of velocity is read."""
    return parse_unit("ft/s" if system is UnitSystem.US else "m/s")


def mass_unit(system: UnitSystem) -> Unit:
    """The unit in which the mass of a part of the craft is read."""
    return parse_unit("lb" if system is UnitSystem.US else "kg")


def probability_text(probability: float | None) -> str:
    """A chance in whole percent, rounded down; sampling never shows certainty.

    >>> probability_text(0.987), probability_text(1.0), probability_text(0.0)
    ('98 %', 'over 99 %', 'under 1 %')
    """
    if probability is None or not math.isfinite(probability):
        return UNKNOWN
    if probability >= 1.0:
        return "over 99 %"
    return "under 1 %" if probability < 0.01 else f"{figure_text(probability * 100.0, 0)} %"


def span_text(seconds: float, rounding: Rounding) -> str:
    """A length of time in the two largest units that matter.

    >>> [span_text(s, Rounding.DOWN) for s in (42.9, 252.0, 18485.0, 400000.0)]
    ['42 s', '4m12s', '5h08m', '4d15h']
    """
    for limit_s, step_s, form in _SPANS:
        whole = int(figure_text(seconds / step_s, 0, rounding))
        if whole * step_s < limit_s:
            return form(whole)
    return f"{whole // 24}d{whole % 24:02d}h"


_SPANS: tuple[tuple[float, float, Callable[[int], str]], ...] = (
    (60.0, 1.0, lambda second: f"{second} s"),
    (3600.0, 1.0, lambda second: f"{second // 60}m{second % 60:02d}s"),
    (360_000.0, 60.0, lambda minute: f"{minute // 60}h{minute % 60:02d}m"),
    (math.inf, 3600.0, lambda hour: f"{hour // 24}d{hour % 24:02d}h"),
)


def age_text(seconds: float | None) -> str:
    """How old something is, rounded up.

    >>> age_text(3.2), age_text(None)
    ('4 s', 'not known')
    """
    if seconds is None or not math.isfinite(seconds):
        return UNKNOWN
    return span_text(max(0.0, seconds), Rounding.UP)


def countdown_text(seconds: float) -> str:
    """How far off a moment is; the time left is rounded down.

    >>> countdown_text(18485.0), countdown_text(-61.0)
    ('in 5h08m', '1m01s ago')
    """
    if seconds < 0.0:
        return f"{span_text(-seconds, Rounding.UP)} ago"
    return f"in {span_text(seconds, Rounding.DOWN)}"


def elapsed_text(at_s: float, *, with_seconds: bool = False) -> str:
    """Time since the epoch, as it may be typed back.

    >>> elapsed_text(93134.7), elapsed_text(93134.7, with_seconds=True), elapsed_text(-60.0)
    ('T+25h52m', 'T+25h52m14s', 'T-0h01m')
    """
    whole = math.floor(at_s if with_seconds else at_s / 60.0 + _TOLERANCE) * (1 if with_seconds else 60)
    minutes, second = divmod(abs(whole), 60)
    text = f"T{'-' if whole < 0 else '+'}{minutes // 60}h{minutes % 60:02d}m"
    return f"{text}{second:02d}s" if with_seconds else text


def utc_text(moment: datetime, *, with_seconds: bool = False) -> str:
    """A moment in UTC to the minute it lies in, so that a deadline is never shown late.

    >>> utc_text(datetime(2041, 6, 4, 16, 50, 59, tzinfo=UTC))
    '2041-06-04 16:50 UTC'
    """
    return moment.astimezone(UTC).strftime("%Y-%m-%d %H:%M:%S UTC" if with_seconds else "%Y-%m-%d %H:%M UTC")


def time_of_day_text(moment: datetime) -> str:
    """Hour, minute and second in UTC, for where the day stands beside it."""
    return moment.astimezone(UTC).strftime("%H:%M:%S")


def _decimals(value: float) -> int:
    size = abs(value)
    if size == 0.0 or size >= 1000.0:
        return 0
    if size >= 10.0:
        return 1
    return 2 if size >= 1.0 else 3


def _with_unit(figure: str, unit: str) -> str:
    return figure if figure == UNKNOWN else f"{figure} {unit}"
