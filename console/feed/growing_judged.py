"""Readings good by themselves against the last good one of their channel and the moment, all at once.

Pure. The outcome of each is that of ``validity.judge`` on one after the other, which also gives the words.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from console.craft.channels import Channel
from console.engine.reading import Quality, Reading
from console.engine.series import Arrived
from console.feed.growing_bytes import Flags, Ints
from console.feed.growing_numbers import Floats
from console.feed.growing_plain import Columns
from console.feed.growing_taking import MOST_TOLD, Refusals, SaidOnLine
from console.feed.validity import AHEAD_REFUSED_S, Said, judge

SAME_AGAIN = "the last good time again, with the same value"


@dataclass(frozen=True, kw_only=True, slots=True)
class LastValue:
    """A channel's last good value."""

    value_si: float
    at_s: float


@dataclass(kw_only=True, slots=True)
class Judged:
    """What became of some readings."""

    arrived: dict[str, Arrived] = field(default_factory=dict)
    """By channel, those that were taken."""
    newest: dict[str, SaidOnLine] = field(default_factory=dict)
    """By channel, the newest that is good by itself."""
    ahead: Refusals = field(default_factory=Refusals)
    """Those too far ahead of now."""
    not_risen: Refusals = field(default_factory=Refusals)
    """Those left out because their time did not rise."""


def judged(
    good: Columns, channels: Mapping[str, Channel], last: Mapping[str, LastValue], now_s: float
) -> Judged:
    """Judge readings in the order of their lines.

    Args:
        good: readings that are good by themselves.
        channels: the craft's instruments.
        last: by channel, the last good value before.
        now_s: the moment.
    """
    outcome = Judged()
    order = np.argsort(good.channels, kind="stable")
    times_s, values_si = good.times_s[order], good.values_si[order]
    begin = 0
    counts = np.bincount(good.channels, minlength=len(channels)).tolist()
    for (name, channel), count in zip(channels.items(), counts, strict=True):
        if count:
            part = slice(begin, begin + count)
            track = _Track(channel, last.get(name), times_s[part], values_si[part])
            track.judge(outcome, good.lines, order[part], now_s)
            begin += count
    return outcome


class _Track:
    """One channel's readings that are to be judged."""

    def __init__(self, channel: Channel, last: LastValue | None, times_s: Floats, values_si: Floats) -> None:
        # Never old: what is wanted of ``judge`` here is what is wrong with a reading, not how old another is.
        self._channel = replace(channel, stale_after_s=math.inf)
        self._last = last
        self._times_s, self._values_si = times_s, values_si

    def judge(self, outcome: Judged, lines: Ints, rows: Ints, now_s: float) -> None:
        name, row = self._channel.name, len(rows) - 1
        outcome.newest[name] = SaidOnLine(line=int(lines[rows[row]]), said=self._said(row))
        is_ahead, is_taken = self._outcomes(now_s)
        if is_taken.all():
            outcome.arrived[name] = arrived(self._times_s, self._values_si)
            return
        if is_taken.any():
            outcome.arrived[name] = arrived(self._times_s[is_taken], self._values_si[is_taken])
        self._tell(np.flatnonzero(is_ahead), outcome.ahead, is_taken, lines[rows], now_s)
        self._tell(np.flatnonzero(~is_ahead & ~is_taken), outcome.not_risen, is_taken, lines[rows], now_s)

    def _outcomes(self, now_s: float) -> tuple[Flags, Flags]:
        """Which readings are too far ahead, and which are taken."""
        last_s = -math.inf if self._last is None else self._last.at_s
        is_ahead: Flags = self._times_s - now_s > AHEAD_REFUSED_S
        before_s = np.concatenate(([last_s], self._times_s[:-1]))
        if is_ahead.any() or not (self._times_s > before_s).all():
            before_s = np.concatenate(([last_s], np.where(is_ahead, last_s, self._times_s)[:-1]))
            before_s = np.maximum.accumulate(before_s)
        return is_ahead, ~is_ahead & (self._times_s > before_s)

    def _tell(self, rows: Ints, told: Refusals, is_taken: Flags, lines: Ints, now_s: float) -> None:
        told.count += max(0, len(rows) - MOST_TOLD)
        for row in rows[-MOST_TOLD:].tolist():
            before = np.flatnonzero(is_taken[:row])
            last = self._reading(int(before[-1])) if len(before) else self._last_reading()
            why = judge(self._said(row), self._channel, last, now_s).why or SAME_AGAIN
            told.add(int(lines[row]), f"{self._channel.name}: {why}")

    def _said(self, row: int) -> Said:
        value_si, at_s = float(self._values_si[row]), float(self._times_s[row])
        return Said(quality=Quality.GOOD, value_si=value_si, at_s=at_s)

    def _reading(self, row: int) -> Reading:
        said = self._said(row)
        return Reading(
            channel=self._channel.name, quality=Quality.GOOD, value_si=said.value_si, at_s=said.at_s
        )

    def _last_reading(self) -> Reading | None:
        if self._last is None:
            return None
        value_si, at_s = self._last.value_si, self._last.at_s
        return Reading(channel=self._channel.name, quality=Quality.GOOD, value_si=value_si, at_s=at_s)


def arrived(times_s: Floats, values_si: Floats) -> Arrived:
    """Readings as they are handed over, which nobody can change."""
    times_s, values_si = times_s.copy(), values_si.copy()
    times_s.flags.writeable = values_si.flags.writeable = False
    return Arrived(times_s=times_s, values_si=values_si)


def newest_said(*words: Mapping[str, SaidOnLine]) -> dict[str, Said]:
    """Of several words of a channel the one that stands last in the file."""
    newest: dict[str, SaidOnLine] = {}
    for each in words:
        for name, word in each.items():
            if name not in newest or word.line > newest[name].line:
                newest[name] = word
    return {name: word.said for name, word in newest.items()}
