"""What a history held at a moment, as a source: for looking back where no file of readings is left."""

from __future__ import annotations

from collections.abc import Mapping

from console.craft.channels import Channel
from console.display import age_text
from console.engine.reading import FeedState, Quality
from console.errors import FeedError
from console.feed.last_good import LastGood
from console.feed.validity import Said, not_said
from console.feed.word import Word
from console.record.history import History

LOOKED_BACK_S = (600.0, 6 * 3600.0, 86400.0)
"""Where the newest reading of a channel is looked for: the nearer, the narrower the rows that are held."""
ROWS = 1200


class HistorySource:
    """Readings as a history has them; what was wrong with a reading at the time it does not tell.

    Args:
        history: the history.
        channels: the craft's instruments.
        name: what a person calls it.
    """

    def __init__(self, history: History, channels: Mapping[str, Channel], name: str) -> None:
        self._history = history
        self._channels = channels
        self._name = name
        self._memory = LastGood(channels, f"{name} holds nothing of it until then")

    def poll(self, now_s: float) -> FeedState:
        """All that was known at a moment.

        Raises:
            FeedError: nothing is held of the day before that moment.
        """
        said = {name: self._said(name, now_s) for name in self._channels}
        times_s = [one.at_s for one in said.values() if one.at_s is not None]
        if not times_s:
            raise FeedError(f"{self._name} holds no reading of the day before the moment that is asked for")
        self._memory.take(Word(at_s=max(times_s), said=said, faults=()), now_s)
        is_stale = self._memory.is_stale(now_s)
        age = age_text(now_s - max(times_s))
        return FeedState(
            source=self._name,
            at_s=self._memory.at_s,
            quality=Quality.STALE if is_stale else Quality.GOOD,
            faults=(f"{self._name}: its newest reading is {age} older than the moment asked for",)
            if is_stale
            else (),
            readings=dict(self._memory.readings),
        )

    def _said(self, name: str, now_s: float) -> Said:
        for back_s in LOOKED_BACK_S:
            rows = self._history.series(name, now_s - back_s, now_s, ROWS)
            if len(rows):
                return Said(
                    quality=Quality.GOOD, value_si=float(rows.means_si[-1]), at_s=float(rows.times_s[-1])
                )
        return not_said(f"{self._name} holds nothing of it in the day before")
