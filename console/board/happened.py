"""When an entry happened, as an operator types it: nothing for now, a time of day, or a full moment."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from console.board.faces.step_effect import recorded_text
from console.display import elapsed_text, utc_text
from console.errors import InstantError
from console.instants import at_epoch_plus, parse_instant_s, seconds_since

_TIME_OF_DAY = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)", re.ASCII)
HAPPENED_HINT = "nothing for now; or 04:58 (UTC), or T+25h48m"
EXPECTED = "write 04:58 (UTC), T+25h48m or 2041-06-03T04:58:00Z, or nothing for now"


def looks_like_a_time(text: str, epoch: datetime) -> bool:
    """Whether a text is a time in one of the forms taken here, whatever lies ahead: no reason is one."""
    stripped = text.strip()
    if _TIME_OF_DAY.fullmatch(stripped):
        return True
    try:
        parse_instant_s(stripped, epoch)
    except InstantError:
        return False
    return True


def parse_happened_s(text: str, epoch: datetime, now_s: float) -> float | None:
    """Seconds since the epoch; None for now. A time of day is the last one that has been.

    Raises:
        InstantError: the text is none of these, or lies ahead.
    """
    stripped = text.strip()
    if not stripped:
        return None
    match = _TIME_OF_DAY.fullmatch(stripped)
    if match is not None:
        now = at_epoch_plus(epoch, now_s)
        moment = now.replace(hour=int(match[1]), minute=int(match[2]), second=0, microsecond=0)
        return seconds_since(epoch, moment if moment <= now else moment - timedelta(days=1))
    try:
        at_s = parse_instant_s(stripped, epoch)
    except InstantError as error:
        raise InstantError(error.found, EXPECTED) from None
    if at_s > now_s:
        raise InstantError(repr(stripped), "write a time that has been: it lies ahead of now")
    return at_s


def recorded_words(typed: str, epoch: datetime, now_s: float) -> str:
    """The time that will be recorded for what is typed, or why that will not do."""
    try:
        happened_s = parse_happened_s(typed, epoch, now_s)
    except InstantError as error:
        return str(error)
    at_s = now_s if happened_s is None else happened_s
    return recorded_text(happened_s, now_s, f"{utc_text(at_epoch_plus(epoch, at_s))}, {elapsed_text(at_s)}")
