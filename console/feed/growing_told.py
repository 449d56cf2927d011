"""What is told of a growing file beside its readings: refused lines, unknown channels, what happened. Pure.

A state file says all of it anew in every document; a growing file says a thing once. So what was found is
told for some minutes, and what was counted stays.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from console.feed.growing_taking import MOST_TOLD, Refusals
from console.feed.word import unknown_channel_faults

TOLD_FOR_S = 600.0
"""How long what was found is told: long enough to be seen at a look every few minutes."""

MOST_EVENTS = 3
_MOST_OTHERS = 1000
"""Channels that the craft does not have, which are remembered by name."""


class Told:
    """What was found in one file, and when.

    Args:
        channels: the craft's, for the nearest spelling.
    """

    def __init__(self, channels: Iterable[str]) -> None:
        self._channels = tuple(channels)
        self.refused = 0
        """Lines that were refused since the file was first read, over restarts too."""
        self.not_risen = 0
        """Readings left out because their time did not rise, since the start."""
        self._refused = _Newest()
        self._not_risen = _Newest()
        self._events: list[tuple[float, str]] = []
        self._others: dict[str, float] = {}
        """By channel that the craft does not have, when it was last found."""
        self._other_faults: tuple[tuple[str, ...], tuple[str, ...]] = ((), ())

    def happened(self, what: str, now_s: float) -> None:
        """Something happened to the file."""
        self._events = [*self._events, (now_s, what)][-MOST_EVENTS:]

    def take(self, refused: Refusals, not_risen: Refusals, others: Mapping[str, int], now_s: float) -> None:
        """Take what was found in some lines."""
        self.refused += refused.count
        self.not_risen += not_risen.count
        self._refused.take(refused, now_s)
        self._not_risen.take(not_risen, now_s)
        for name in others:
            if name in self._others or len(self._others) < _MOST_OTHERS:
                self._others[name] = now_s

    def faults(self, now_s: float) -> tuple[str, ...]:
        """All that is told at a moment, in a fixed order."""
        events = [what for at_s, what in self._events if _is_told(at_s, now_s)]
        return (
            *events,
            *self._refused_faults(now_s),
            *self._left_out_faults(now_s),
            *self._others_told(now_s),
        )

    def _refused_faults(self, now_s: float) -> list[str]:
        told = self._refused.told(now_s)
        more = self.refused - len(told)
        if not told or not more:
            return told
        return [*told, f"and {more:,} more {'line' if more == 1 else 'lines'} refused since the start"]

    def _left_out_faults(self, now_s: float) -> list[str]:
        told = self._not_risen.told(now_s)
        if not told:
            return []
        readings = "reading was" if self.not_risen == 1 else "readings were"
        return [f"{self.not_risen:,} {readings} left out because time did not rise; the last: {told[-1]}"]

    def _others_told(self, now_s: float) -> tuple[str, ...]:
        names = tuple(name for name, at_s in self._others.items() if _is_told(at_s, now_s))
        if names != self._other_faults[0]:
            self._other_faults = (names, unknown_channel_faults(list(names), self._channels))
        return self._other_faults[1]


class _Newest:
    """The newest refusals, and when they were found."""

    def __init__(self) -> None:
        self._lines: list[tuple[int, str]] = []
        self._at_s = 0.0

    def take(self, found: Refusals, now_s: float) -> None:
        if found.count:
            self._lines, self._at_s = [*self._lines, *found.newest][-MOST_TOLD:], now_s

    def told(self, now_s: float) -> list[str]:
        if not _is_told(self._at_s, now_s):
            return []
        return [f"line {line}: {why}" for line, why in self._lines]


def _is_told(found_s: float, now_s: float) -> bool:
    return now_s - found_s <= TOLD_FOR_S
