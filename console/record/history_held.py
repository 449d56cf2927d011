"""What a history holds in memory: a track and a ladder for each channel, and the marks; one lock for all."""

from __future__ import annotations

import threading
from collections.abc import Iterable, Mapping

from console.engine.reading import FeedState, Quality, Reading
from console.engine.series import Arrived, Series
from console.record.history_blocks import Batch, Progress, gather
from console.record.history_ladder import Ladder
from console.record.history_track import Track


class Held:
    """Tracks by channel, and what belongs to them. Safe to share between threads."""

    def __init__(self, channels: Iterable[str]) -> None:
        self._lock = threading.Lock()
        self._tracks = {name: Track() for name in channels}
        self._ladders = {name: Ladder(track) for name, track in self._tracks.items()}
        self._marks: dict[str, str] = {}
        self._own_marks: dict[str, str] = {}
        """Those that were given to this process, in contrast to those read from the disk."""
        self._left_out = dict.fromkeys(self._tracks, 0)
        self._looked_back_s: dict[str, float] = {}
        """By channel, the time of the last reading that was older than one taken before."""
        self.changes = 0
        """Grows with every reading taken and every mark given."""

    @property
    def channels(self) -> tuple[str, ...]:
        """Their names."""
        return tuple(self._tracks)

    def take(self, feed: FeedState, mark: tuple[str, str] | None) -> None:
        """Take what a feed has told, and the mark that belongs to it, as one."""
        with self._lock:
            for name, track in self._tracks.items():
                arrived = feed.arrived.get(name)
                before = track.taken
                if arrived is not None:
                    self._left_out[name] += _take_arrived(track, arrived)
                elif (reading := feed.readings.get(name)) is not None:
                    self._take_reading(name, track, reading)
                self.changes += track.taken - before
            if mark is not None and self._marks.get(mark[0]) != mark[1]:
                self._marks[mark[0]] = self._own_marks[mark[0]] = mark[1]
                self.changes += 1

    def marked(self, key: str) -> str | None:
        """The newest mark of that key."""
        with self._lock:
            return self._marks.get(key)

    def series(self, channel: str, from_s: float, until_s: float, most: int) -> Series:
        """See ``Ladder.series``."""
        with self._lock:
            return self._ladders[channel].series(from_s, until_s, most)

    def full(self, channel: str, from_s: float, until_s: float) -> Arrived:
        """The readings between two moments, both included, that are held at full rate."""
        with self._lock:
            times = self._tracks[channel].full.line(0)
            first = int(times.searchsorted(from_s))
            last = int(times.searchsorted(until_s, side="right"))
            readings = self._tracks[channel].full.all[:, first:last].copy()
        readings.flags.writeable = False
        return Arrived(times_s=readings[0], values_si=readings[1])

    def last_s(self, channel: str) -> float | None:
        """When the newest reading taken of a channel was measured."""
        with self._lock:
            return self._tracks[channel].last_s

    def newest_s(self) -> float | None:
        """The same of all channels."""
        with self._lock:
            return max(
                (track.last_s for track in self._tracks.values() if track.last_s is not None), default=None
            )

    def left_out(self) -> Mapping[str, int]:
        """By channel, how many readings were left out because their time did not rise."""
        with self._lock:
            return dict(self._left_out)

    def batch(
        self, done: Mapping[str, Progress], saved_marks: Mapping[str, str]
    ) -> tuple[Batch, dict[str, Progress], int]:
        """All that was not saved yet, how far that goes, and the ``changes`` that it includes."""
        batch, progress = Batch(), {}
        with self._lock:
            for name, track in self._tracks.items():
                progress[name] = gather(name, track, done.get(name, Progress()), batch)
            batch.marks = {key: text for key, text in self._marks.items() if saved_marks.get(key) != text}
            return batch, progress, self.changes

    def adopt(self, tracks: Mapping[str, Track], marks: Mapping[str, str]) -> None:
        """Go on from what was on disk, and take on top what is held here and newer."""
        with self._lock:
            for name, track in tracks.items():
                times, values = self._tracks[name].full.all
                newer = int(times.searchsorted(track.last_s, side="right")) if track.last_s is not None else 0
                track.take(times[newer:], values[newer:])
                self._tracks[name] = track
                self._ladders[name] = Ladder(track)
            self._marks = {**marks, **self._own_marks}

    def _take_reading(self, name: str, track: Track, reading: Reading) -> None:
        at_s, value_si = reading.at_s, reading.value_si
        if reading.quality is not Quality.GOOD or at_s is None or value_si is None or at_s == track.last_s:
            return
        if track.last_s is not None and at_s < track.last_s:
            # The same old reading stands in every poll until a newer one comes: it is left out once.
            if self._looked_back_s.get(name) != at_s:
                self._looked_back_s[name] = at_s
                self._left_out[name] += 1
            return
        self._left_out[name] += track.take_one(at_s, value_si)


def _take_arrived(track: Track, arrived: Arrived) -> int:
    if len(arrived.times_s) == 1:
        return track.take_one(float(arrived.times_s[0]), float(arrived.values_si[0]))
    return track.take(arrived.times_s, arrived.values_si)
