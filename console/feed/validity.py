"""Is what an instrument said believable, and what is shown when it is not. Pure.

``said_of`` judges one raw value by itself, ``judge`` against its last good value and the moment. One trouble,
one outcome (kept: the last good value stays, with its own time, and goes on growing old):

| what was said                                              | quality | value shown | why says            |
|------------------------------------------------------------|---------|-------------|---------------------|
| a number, or a text with a unit of the right dimension     | good    | the new one |                     |
| null                                                       | missing | kept        | the source says null|
| nothing: the channel is not in the document                | missing | kept        | not in the ...      |
| NaN, Infinity, 1e999, a text that is no quantity or has no |         |             |                     |
| unit, true or false, a list, a mapping without a value or  |         |             |                     |
| with unknown keys, an unknown unit                         | suspect | kept        | what was found, due |
| another dimension ("11 kg" for a pressure)                 | suspect | kept        | what was found, due |
| outside the channel's range, or below absolute zero        | suspect | kept        | the value, the range|
| a time that is not RFC 3339 with Z, or no time             | suspect | kept        | what was found, due |
| a time more than 60 s ahead of now                         | suspect | kept        | by how much         |
| a time up to 60 s ahead of now                             | good    | the new one | (feed: over 5 s)    |
| a time earlier than the last good one                      | suspect | kept        | by how much         |
| the last good time again, same value                       | good    | the same    |                     |
| the last good time again, another value                    | suspect | the first   | time did not advance|
| good, but the value shown is older than stale_after        | stale   | kept        | its age             |
| suspect or missing, and the value shown is older than that | as above| kept        | as above + its age  |
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from console.craft.channels import Channel
from console.display import age_text
from console.engine.reading import Quality, Reading
from console.errors import InstantError, UnitsError
from console.feed.raw_value import NotFinite, shown, shown_name
from console.instants import parse_utc, seconds_since
from console.units import LARGEST, Dimension, Unit, check_dimension, parse_unit, split_quantity

AHEAD_NAMED_S = 5.0
"""A time this far ahead of now is taken but named: the two clocks differ (common practice, no source)."""
AHEAD_REFUSED_S = 60.0
"""A time further ahead is not taken: it would never look old, and all after it would look backward."""

READING_KEYS = ("value", "unit", "at")


@dataclass(frozen=True, kw_only=True, slots=True)
class Said:
    """What a source said of one channel, judged by itself."""

    quality: Quality
    """Good: ``value_si`` and ``at_s`` are set. Suspect or missing: ``why`` is."""
    why: str = ""
    value_si: float | None = None
    at_s: float | None = None


class _Trouble(Exception):  # noqa: N818 - never leaves this module
    """A value that cannot be used; the text says what was found and what is due."""


def said_of(raw: object, channel: Channel, document_at: object, epoch: datetime) -> Said:
    """Judge one raw reading by itself: a bare value, or a mapping of value, unit and at.

    Args:
        raw: the reading as it was written.
        channel: its instrument.
        document_at: the time that holds where the reading carries none of its own.
        epoch: the scenario's.
    """
    try:
        value, unit, at = _parts(raw, document_at)
        if value is None:
            return Said(quality=Quality.MISSING, why="the source says null")
        value_si = _value_si(value, unit, channel)
        _check_range(value_si, channel)
        return Said(quality=Quality.GOOD, value_si=value_si, at_s=_at_s(at, epoch))
    except _Trouble as trouble:
        return Said(quality=Quality.SUSPECT, why=str(trouble))


def not_said(where: str) -> Said:
    """What holds for a channel that the source did not name, such as "not in the state file"."""
    return Said(quality=Quality.MISSING, why=where)


def judge(said: Said, channel: Channel, last: Reading | None, now_s: float) -> Reading:
    """Judge what was said against the channel's last good value and the moment.

    Judging the same word again changes nothing but its age, so that a document can be judged at every poll.
    """
    kept_si, kept_at_s = (None, None) if last is None else (last.value_si, last.at_s)
    quality, why = said.quality, said.why
    if said.value_si is not None and said.at_s is not None:
        why = _time_trouble(said.value_si, said.at_s, channel, kept_si, kept_at_s, now_s)
        if why:
            quality = Quality.SUSPECT
        else:
            kept_si, kept_at_s = said.value_si, said.at_s
    reading = Reading(channel=channel.name, quality=quality, why=why, value_si=kept_si, at_s=kept_at_s)
    return _aged(reading, channel, now_s)


def _aged(reading: Reading, channel: Channel, now_s: float) -> Reading:
    """The reading as it stands at a moment: stale when its value is too old, whatever else is wrong."""
    age_s = reading.age_s(now_s)
    if age_s is None:
        return reading
    if age_s <= channel.stale_after_s:
        return reading
    told = f"{age_text(age_s)} old, stale after {age_text(channel.stale_after_s)}"
    if reading.quality is Quality.GOOD:
        return replace(reading, quality=Quality.STALE, why=told)
    return replace(reading, why=f"{reading.why}; the last good value is {told}")


def utc_since_s(at: object, epoch: datetime) -> float:
    """A time as a source wrote it, in seconds since the epoch.

    Raises:
        InstantError: it is no RFC 3339 text in UTC.
    """
    if not isinstance(at, str):
        found = "no time" if at is None else shown(at)
        raise InstantError(found, "write UTC as 2041-06-02T03:10:00Z")
    try:
        return seconds_since(epoch, parse_utc(at))
    except InstantError as error:
        raise InstantError(shown(at), error.expected) from None


def _parts(raw: object, document_at: object) -> tuple[object, object, object]:
    """A reading's value, its unit or None, and its time."""
    if not isinstance(raw, Mapping):
        return raw, None, document_at
    unknown = [key for key in raw if key not in READING_KEYS]
    if unknown:
        # Not used in spite of it: behind "units: psi" a value would be read in the wrong unit.
        raise _Trouble(f"found the key {shown_name(str(unknown[0]))}; a reading has value, unit and at")
    if "value" not in raw:
        raise _Trouble("found a mapping without a value; a reading has value, unit and at")
    return raw["value"], raw.get("unit"), raw.get("at", document_at)


def _value_si(value: object, unit: object, channel: Channel) -> float:
    if isinstance(value, str):
        if unit is not None:
            raise _Trouble(f"found the text {shown(value)} beside a unit; write the value as a number")
        number, written = _split(value, channel)
    else:
        number, written = _number(value, channel), channel.unit if unit is None else _unit(unit)
    try:
        check_dimension(f"{number:g} {written.text}", written, channel.unit.dimension)
    except UnitsError as error:
        raise _Trouble(str(error)) from None
    value_si = written.to_si(number)
    if not math.isfinite(value_si):
        raise _Trouble(f"found {number:g} {written.text}, beyond all numbers; {_due(channel)}")
    return value_si


def _split(text: str, channel: Channel) -> tuple[float, Unit]:
    try:
        number, unit = split_quantity(text)
    except UnitsError as error:
        raise _Trouble(f"found {shown(text)}; {_due(channel)}" if len(text) > 60 else str(error)) from None
    if unit is None:
        raise _Trouble(f"found {shown(text)}, a text without a unit; {_due(channel)}")
    return number, unit


def _number(value: object, channel: Channel) -> float:
    trouble = _Trouble(f"found {shown(value)}; {_due(channel)}")
    if isinstance(value, bool | NotFinite) or not isinstance(value, int | float):
        raise trouble
    try:
        number = float(value)
    except OverflowError:
        raise trouble from None
    if not math.isfinite(number):
        raise trouble
    return number


def _unit(unit: object) -> Unit:
    if not isinstance(unit, str):
        raise _Trouble(f"found {shown(unit)} as a unit; write a text such as kPa")
    try:
        return parse_unit(unit)
    except UnitsError as error:
        raise _Trouble(f"found {shown(unit)} as a unit; {error.expected}") from None


def _due(channel: Channel) -> str:
    dimension = channel.unit.dimension
    return f"write a number in {channel.unit.text}, or a {dimension.word} such as {dimension.example!r}"


def _check_range(value_si: float, channel: Channel) -> None:
    low_si, high_si = channel.low_si, channel.high_si
    if not abs(value_si) <= LARGEST:
        raise _Trouble(f"found {value_si:.3g} in SI; write a number that a gauge can show")
    if channel.unit.dimension is Dimension.TEMPERATURE:
        low_si = 0.0 if low_si is None else max(low_si, 0.0)
    below = low_si is not None and value_si < low_si
    above = high_si is not None and value_si > high_si
    if below or above:
        raise _Trouble(f"found {_in_unit(value_si, channel)}; {_range_words(low_si, high_si, channel)}")


def _range_words(low_si: float | None, high_si: float | None, channel: Channel) -> str:
    if low_si is None or high_si is None:
        limit_si, side = (high_si, "most") if low_si is None else (low_si, "least")
        return f"the channel shows at {side} {_in_unit(limit_si or 0.0, channel)}"
    return f"the channel's range is {channel.unit.from_si(low_si):.6g} to {_in_unit(high_si, channel)}"


def _in_unit(value_si: float, channel: Channel) -> str:
    return f"{channel.unit.from_si(value_si):.6g} {channel.unit.text}"


def _at_s(at: object, epoch: datetime) -> float:
    try:
        return utc_since_s(at, epoch)
    except InstantError as error:
        raise _Trouble(f"its time: {error}") from None


def _time_trouble(
    value_si: float,
    at_s: float,
    channel: Channel,
    kept_si: float | None,
    kept_at_s: float | None,
    now_s: float,
) -> str:
    """Why a value cannot be taken for its time; empty when it can."""
    ahead_s = at_s - now_s
    if ahead_s > AHEAD_REFUSED_S:
        return f"its time lies {age_text(ahead_s)} ahead of now; it is not taken"
    if kept_si is None or kept_at_s is None:
        return ""
    if at_s < kept_at_s:
        return f"its time lies {age_text(kept_at_s - at_s)} before the last good one"
    if at_s == kept_at_s and value_si != kept_si:
        return f"time did not advance, but the value became {_in_unit(value_si, channel)}"
    return ""
