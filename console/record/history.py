"""The history of readings: bounded in memory and on disk, thinned with age, the same after a restart.

A reading that was taken is on disk some ten seconds later; until then a sudden end of the process or of the
power can lose it (a logged entry never: that is the journal's business). A full, read-only or locked disk
never stops the taking. Per channel there are kept the newest 6 hours at full rate (at most 30,000 readings:
a feed faster than 1.4 a second is thinned earlier), 3 days of rows of a minute and 6 weeks of rows of ten
minutes, counted in stretches that hold readings: a jump in time costs nothing that is held. A reading with a
time far ahead would make all later ones count as old (see ``left_out``); that no such reading gets here is
the business of the feed's validity.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any

from console.engine.reading import FeedState
from console.engine.series import Arrived, Series
from console.record.history_held import Held

if TYPE_CHECKING:
    from console.record.history_store import HistoryStore


class History:
    """The readings of a craft's channels over time. Safe to share between threads.

    Making one reads what its store has on disk.

    Args:
        channels: the names of the channels to keep; others are passed over.
        store: where readings are kept on disk; None for in memory only.
        monotonic: seconds of a clock that never steps, by which saving is timed.
    """

    def __init__(
        self,
        channels: Iterable[str],
        store: HistoryStore | None = None,
        *,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        self._held = Held(channels)
        self._keeper = None
        if store is not None:
            from console.record.history_keeper import Keeper  # SQLite is paid for only where there is a store

            self._keeper = Keeper(self._held, store, monotonic)
            self._keeper.begin()

    @property
    def trouble(self) -> str:
        """What keeps readings from the disk, in one sentence; empty when all is well."""
        return "" if self._keeper is None else self._keeper.trouble

    @property
    def is_writer(self) -> bool:
        """Whether this process is the one that writes the file; that another one is, is no trouble."""
        return self._keeper is not None and self._keeper.is_writer

    @property
    def newest_s(self) -> float | None:
        """When the newest reading of all was measured, seconds since the epoch."""
        return self._held.newest_s()

    @property
    def left_out(self) -> Mapping[str, int]:
        """By channel, how many readings were left out since the start: their time did not rise."""
        return self._held.left_out()

    def take(self, feed: FeedState, mark: tuple[str, Mapping[str, Any]] | None = None) -> None:
        """Take the readings that are new in a feed; the disk is seen to beside it and raises nothing here.

        Args:
            feed: all that arrived of a channel where the feed says, else its newest good reading.
            mark: a key and what to remember under it, kept in the same transaction as these readings: after
                a restart it is as old as the newest reading that is left, neither older nor newer.

        Raises:
            TypeError, ValueError: the mark is no JSON, and nothing was taken.
        """
        written = None
        if mark is not None:
            written = (mark[0], json.dumps(mark[1], allow_nan=False, sort_keys=True))
        self._held.take(feed, written)
        if self._keeper is not None:
            self._keeper.nudge()

    def marked(self, key: str) -> Mapping[str, Any] | None:
        """What was last remembered under a key."""
        text = self._held.marked(key)
        document: Mapping[str, Any] | None = None if text is None else json.loads(text)
        return document

    def series(self, channel: str, from_s: float, until_s: float, most: int = 400) -> Series:
        """The readings of a channel between two moments, both included, in at most so many rows.

        Single readings where they are few and still held, else rows of the narrowest stretches that give no
        more than ``most`` and are still held: of 1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600
        seconds and on by doubling. Every row is made of readings between the two moments: a stretch that had
        begun before the first is left out whole, of one not over at the last only the part before it counts,
        or nothing where its readings are held in rows alone.

        Raises:
            KeyError: there is no such channel.
            ValueError: not even one row is allowed.
        """
        if most < 1:
            raise ValueError(f"most: found {most}; write 1 or more")
        return self._held.series(channel, from_s, until_s, most)

    def full(self, channel: str, from_s: float, until_s: float) -> Arrived:
        """The readings between two moments, both included, as far as they are still held one by one."""
        return self._held.full(channel, from_s, until_s)

    def last_s(self, channel: str) -> float | None:
        """When the newest reading taken of a channel was measured; None before the first."""
        return self._held.last_s(channel)

    def flush(self) -> None:
        """Bring all that was taken to the disk now; what stands in the way is told in ``trouble``."""
        if self._keeper is not None:
            self._keeper.save()

    def close(self) -> None:
        """Save what is left and let go of the file; more than once does no harm."""
        if self._keeper is not None:
            self._keeper.close()
