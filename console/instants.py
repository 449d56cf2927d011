"""Moments: RFC 3339 in UTC at the edges, float seconds since the scenario's epoch inside.

Only strict forms are taken: ``2041-06-02T03:10:00Z`` and ``T+12h30m``. A text without a zone is refused,
because a board that guesses a time zone is wrong by hours and looks right.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

from console.errors import InstantError

_RFC3339 = re.compile(r"(\d{4})-(\d{2})-(\d{2})T(\d{2}):(\d{2}):(\d{2})(?:\.(\d{1,9}))?Z", re.ASCII)
_PARTS = "".join(rf"(?:(\d+(?:\.\d+)?){letter})?" for letter in "dhms")
_ELAPSED = re.compile(rf"T([+-])(?=\d){_PARTS}", re.ASCII)
_SECONDS = (86400.0, 3600.0, 60.0, 1.0)

LONGEST_S = 100 * 365.25 * 86400.0
"""No contingency is longer; a figure beyond it is a slip of the pen, and would leave the calendar."""

FIRST_YEAR, LAST_YEAR = 1900, 2500
"""Moments beyond these are slips of the pen too, and reckoning from them would leave the calendar."""

EXPECTED = "write UTC as 2041-06-02T03:10:00Z, or time since the epoch as T+12h30m"


def parse_utc(text: str) -> datetime:
    """Read an RFC 3339 instant that ends in Z.

    Raises:
        InstantError: the text has another form, another zone, or names no moment that exists.

    >>> parse_utc("2041-06-02T03:10:00Z").isoformat()
    '2041-06-02T03:10:00+00:00'
    """
    match = _RFC3339.fullmatch(text.strip())
    if match is None:
        raise InstantError(repr(text), "write UTC as 2041-06-02T03:10:00Z")
    year, month, day, hour, minute, second, fraction = match.groups()
    if not FIRST_YEAR <= int(year) <= LAST_YEAR:
        raise InstantError(repr(text), f"write a year between {FIRST_YEAR} and {LAST_YEAR}")
    try:
        whole = datetime(int(year), int(month), int(day), int(hour), int(minute), int(second), tzinfo=UTC)
    except ValueError as error:
        raise InstantError(repr(text), f"write a moment that exists ({error})") from None
    return whole + timedelta(microseconds=int((fraction or "0").ljust(6, "0")[:6]))


def parse_instant_s(text: str, epoch: datetime) -> float:
    """Read an instant as seconds since the epoch, from RFC 3339 in UTC or from ``T+12h30m``.

    Raises:
        InstantError: the text has neither form.

    >>> parse_instant_s("T+1d2h30m", parse_utc("2041-06-02T03:10:00Z"))
    95400.0
    """
    stripped = text.strip()
    match = _ELAPSED.fullmatch(stripped)
    if match is not None:
        sign, *parts = match.groups()
        total_s = sum(float(part or 0.0) * seconds for part, seconds in zip(parts, _SECONDS, strict=True))
        if total_s > LONGEST_S:
            raise InstantError(repr(text), "write a time within 100 years of the epoch")
        return total_s if sign == "+" else -total_s
    try:
        return seconds_since(epoch, parse_utc(stripped))
    except InstantError as error:
        is_utc = _RFC3339.fullmatch(stripped) is not None
        raise InstantError(error.found, error.expected if is_utc else EXPECTED) from None


def seconds_since(epoch: datetime, moment: datetime) -> float:
    """Seconds from the epoch to a moment, both with a zone."""
    return (moment - epoch).total_seconds()


def at_epoch_plus(epoch: datetime, at_s: float) -> datetime:
    """The moment that lies ``at_s`` seconds after the epoch."""
    return epoch + timedelta(seconds=at_s)


def format_utc(moment: datetime) -> str:
    """RFC 3339 in UTC; milliseconds only where there are some.

    >>> format_utc(parse_utc("2041-06-02T03:10:00.250Z"))
    '2041-06-02T03:10:00.250Z'
    """
    utc = moment.astimezone(UTC)
    rounded = utc + timedelta(microseconds=500 - (utc.microsecond + 500) % 1000)
    text = rounded.strftime("%Y-%m-%dT%H:%M:%S")
    milliseconds = rounded.microsecond // 1000
    return f"{text}.{milliseconds:03d}Z" if milliseconds else f"{text}Z"
