"""Readings as they come in: a source is polled, the history takes what it said, both make a Situation.

Only the session holds one. Nothing here judges a reading or computes a margin.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Protocol, runtime_checkable

from console.craft.model import Craft
from console.engine.configuration import ConfigurationChange
from console.engine.decisions import decided
from console.engine.known import Situation
from console.engine.memory import Memory
from console.engine.reading import FeedState
from console.errors import FeedError
from console.feed.source import Source
from console.record.steps import unknown_names, unknown_options
from console.scenario.load import Scenario

if TYPE_CHECKING:
    from console.engine.series import Series
    from console.record.history import History

PLACE_MARK = "growing file"
"""Under which a history remembers where a growing file was left."""


@runtime_checkable
class Resumable(Protocol):
    """A source that can say where it was left, so that a new start reads only what is new."""

    is_caught_up: bool

    def place(self) -> Any:
        """Where it was left; its ``as_mapping`` is plain JSON."""
        ...


class Intake:
    """What comes in of one scenario's readings. May be asked from several threads.

    Args:
        source: where readings come from; None where only the journal is wanted.
        history: what keeps them; None for nobody, and the engine goes by the newest word alone.
        reads_on: whether a poll goes on until the source has nothing more, for who looks but once.
        notices: what stands beside every Snapshot.
    """

    def __init__(
        self,
        source: Source | None,
        history: History | None = None,
        *,
        reads_on: bool = False,
        notices: tuple[str, ...] = (),
    ) -> None:
        self._source = source
        self._history = history
        self._reads_on = reads_on
        self._notices = notices
        self._lock = threading.Lock()
        self.feed: FeedState | None = None
        """As of the last poll."""

    def poll(self, now_s: Callable[[], float]) -> tuple[float, FeedState]:
        """Now, and what the source knows; the clock is read inside the lock, so that no poll looks back.

        Raises:
            FeedError: there is no source.
        """
        source = self._source
        if source is None:
            raise FeedError("no source of readings: name one with --state FILE, --feed FILE or --feed sim")
        with self._lock:
            at_s = now_s()
            self.feed = self._taken(source, at_s)
            while self._reads_on and isinstance(source, Resumable) and not source.is_caught_up:
                self.feed = self._taken(source, at_s)
            return at_s, self.feed

    def situation(
        self,
        scenario: Scenario,
        feed: FeedState,
        changes: tuple[ConfigurationChange, ...],
        at_s: float,
        memory: Memory | None,
    ) -> Situation:
        """All that is known at a moment.

        Args:
            scenario: what is watched.
            feed: what the source said.
            changes: the logged steps.
            at_s: the moment.
            memory: of the last assessment; None before the first.
        """
        history = self._history_until(scenario.craft, at_s)
        decisions = decided(scenario.craft, scenario.plan, changes, at_s)
        return Situation(
            slug=scenario.slug,
            craft=decisions.craft,
            plan=decisions.plan,
            feed=feed,
            changes=changes,
            notices=(*self._notices, *self._troubles(), *_passed_over(changes, scenario)),
            decision=decisions.decision,
            charges=_recalled(scenario.craft, history, at_s) if memory is None else memory.charges,
            at_s=at_s,
            history=history,
        )

    def close(self) -> None:
        """Save what is left of the history and let go of it."""
        if self._history is not None:
            self._history.close()

    def _taken(self, source: Source, at_s: float) -> FeedState:
        feed = source.poll(at_s)
        if self._history is not None:
            mark = (PLACE_MARK, source.place().as_mapping()) if isinstance(source, Resumable) else None
            self._history.take(feed, mark)
        return feed

    def _history_until(self, craft: Craft, at_s: float) -> dict[str, Series]:
        if self._history is None:
            return {}
        from console.engine.series import HISTORY_BACK_S, HISTORY_ROWS, STILL_BACK_S, is_still

        found = {}
        for name in craft.channels:
            series = self._history.series(name, at_s - HISTORY_BACK_S, at_s, HISTORY_ROWS)
            if is_still(series.between(at_s - 0.5 * HISTORY_BACK_S, at_s)):
                series = self._history.series(name, at_s - STILL_BACK_S, at_s, HISTORY_ROWS)
            found[name] = series
        # One reading of each is no history: nothing can be learnt of it.
        return found if any(len(series) > 1 for series in found.values()) else {}

    def _troubles(self) -> tuple[str, ...]:
        trouble = "" if self._history is None else self._history.trouble
        return (trouble,) if trouble else ()


def _recalled(craft: Craft, history: Mapping[str, Series], at_s: float) -> Mapping[str, Any]:
    """What would be remembered of the batteries by who had watched all the while."""
    if not history:
        return {}
    from console.engine.recall import recalled_charges

    return recalled_charges(craft, history, at_s)


def _passed_over(changes: tuple[ConfigurationChange, ...], scenario: Scenario) -> tuple[str, ...]:
    """What the journal names and this scenario does not have."""
    return (
        *(
            f"the journal names {name}, which this craft does not have: passed over"
            for name in unknown_names(changes, scenario.craft)
        ),
        *(
            f"the journal commits to {name}, which this plan does not have: passed over"
            for name in unknown_options(changes, scenario.plan)
        ),
    )
