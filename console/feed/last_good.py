"""What can still be believed of a source: each channel's last good value and the source's newest time.

The memory behind every source that can say something wrong. A word is judged against it at every poll; what
is not believed leaves it as it was.
"""

from __future__ import annotations

from collections.abc import Mapping

from console.craft.channels import Channel
from console.display import age_text
from console.engine.reading import Reading
from console.feed.validity import AHEAD_NAMED_S, AHEAD_REFUSED_S, judge, not_said
from console.feed.word import Word

DEFAULT_STALE_AFTER_S = 60.0
"""When a source without channels is old: the channels' own default."""


class LastGood:
    """The last good values of a source's channels.

    Args:
        channels: the craft's instruments.
        nothing_yet: why a channel is missing before the first word, such as "no state file was read yet".
    """

    def __init__(self, channels: Mapping[str, Channel], nothing_yet: str) -> None:
        self._channels = channels
        self._nothing_yet = not_said(nothing_yet)
        self._word_at_s: float | None = None
        self._time_is_believed = True
        self._faults: tuple[str, ...] = ()
        self.readings: dict[str, Reading] = {}
        """One for every channel, as of the last ``take``."""
        ages_s = (channel.stale_after_s for channel in channels.values())
        self._stale_after_s = min(ages_s, default=DEFAULT_STALE_AFTER_S)

    @property
    def at_s(self) -> float | None:
        """The newest time that was believed."""
        times_s = [reading.at_s for reading in self.readings.values() if reading.at_s is not None]
        return max((*times_s, *(() if self._word_at_s is None else (self._word_at_s,))), default=None)

    @property
    def time_is_believed(self) -> bool:
        """Whether the last word's own time could be taken."""
        return self._time_is_believed

    @property
    def faults(self) -> tuple[str, ...]:
        """What is wrong with the times of the last word."""
        return self._faults

    def is_stale(self, now_s: float) -> bool:
        """Whether the newest time is older than the channel that ages soonest allows."""
        return self.at_s is not None and now_s - self.at_s > self._stale_after_s

    def take(self, word: Word | None, now_s: float) -> None:
        """Judge a word, new or said before; None where there never was one."""
        word_faults = () if word is None else self._take_time(word, now_s)
        self.readings = {
            name: judge(
                self._nothing_yet if word is None else word.said[name],
                channel,
                self.readings.get(name),
                now_s,
            )
            for name, channel in self._channels.items()
        }
        self._faults = (*word_faults, *([] if word is None else self._ahead_faults(word, now_s)))

    def _take_time(self, word: Word, now_s: float) -> tuple[str, ...]:
        fault = _time_fault(word.at_s, self._word_at_s, now_s)
        self._time_is_believed = word.at_s is not None and not fault
        if not self._time_is_believed:
            return (fault,) if fault else ()
        self._word_at_s = word.at_s
        return _ahead_fault("", word.at_s, now_s)

    def _ahead_faults(self, word: Word, now_s: float) -> list[str]:
        """Readings whose own time, other than the word's, lies ahead of now and was taken."""
        return [
            fault
            for name, reading in self.readings.items()
            if word.said[name].at_s == reading.at_s != word.at_s
            for fault in _ahead_fault(f"{name}: ", reading.at_s, now_s)
        ]


def _time_fault(at_s: float | None, last_s: float | None, now_s: float) -> str:
    """Why a word's own time cannot be taken; empty when it can, or when there is none to judge."""
    if at_s is None:
        return ""
    if at_s - now_s > AHEAD_REFUSED_S:
        return f"its time lies {age_text(at_s - now_s)} ahead of now; it is not taken"
    if last_s is not None and at_s < last_s:
        back = age_text(last_s - at_s)
        return f"its time went back by {back}; it is taken again once it has passed the last good one"
    return ""


def _ahead_fault(place: str, at_s: float | None, now_s: float) -> tuple[str, ...]:
    if at_s is None or at_s - now_s <= AHEAD_NAMED_S:
        return ()
    return (f"{place}its time lies {age_text(at_s - now_s)} ahead of now; the two clocks differ",)
