"""The thread that ticks the session. It holds the newest Snapshot, the error of the last try, and when.

It is a daemon and never touches the screen: a screen that stalls cannot hold it, nor it the end of the
program. An error is held and shown; the next tick tries again.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from console.engine.snapshot import Snapshot
from console.record.entry import Entry
from console.record.journal_corrections import Standing

if TYPE_CHECKING:
    from console.session import Session

ENTRIES_HELD = 200
"""Newest log entries that the board can scroll through."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Tick:
    """What the engine last said."""

    snapshot: Snapshot | None = None
    """The newest that could be made."""
    made_at_s: float | None = None
    """When, by the monotonic clock."""
    engine_error: str = ""
    """Why the last try made none; empty when it did."""
    entries: tuple[Entry, ...] = ()
    standings: Mapping[int, Standing] = field(default_factory=dict)
    """By sequence, how entries stand that were corrected."""
    log_error: str = ""
    """Why the log could not be read at the last try."""


class Ticker:
    """Ticks a session at an interval, in a thread of its own.

    Args:
        session: what is ticked.
        interval_s: from one tick to the next.
        monotonic: the clock that ages are measured by.
    """

    def __init__(self, session: Session, interval_s: float, monotonic: Callable[[], float]) -> None:
        self.interval_s = interval_s
        self._session = session
        self._monotonic = monotonic
        self._latest = Tick()
        self._started_s = monotonic()
        self._wake = threading.Event()
        self._stopping = False
        self._thread = threading.Thread(target=self._run, name="engine", daemon=True)

    @property
    def latest(self) -> Tick:
        """The newest word; a whole that is replaced, never changed."""
        return self._latest

    def start(self) -> None:
        """Begin to tick."""
        self._started_s = self._monotonic()
        self._thread.start()

    def tick_soon(self) -> None:
        """Do not wait for the interval: something was logged."""
        self._wake.set()

    def stop(self, timeout_s: float) -> None:
        """End after the tick in hand, or leave it behind if it takes too long."""
        self._stopping = True
        self._wake.set()
        if self._thread.is_alive():
            self._thread.join(timeout_s)

    def waited_s(self) -> float:
        """How long ago the newest Snapshot was made, or since the start where there is none."""
        made_at_s = self._latest.made_at_s
        return self._monotonic() - (self._started_s if made_at_s is None else made_at_s)

    def tick(self) -> None:
        """Tick once; an error becomes part of what is held."""
        latest = self._latest
        snapshot, made_at_s, error = latest.snapshot, latest.made_at_s, ""
        try:
            snapshot = self._session.tick()
            made_at_s = self._monotonic()
        except Exception as failure:  # noqa: BLE001  the thread's border: it must go on, and shows what it met
            error = described(failure)
        entries, standings, log_error = latest.entries, latest.standings, ""
        try:
            entries = self._session.entries(ENTRIES_HELD)
            standings = self._session.standings()
        except Exception as failure:  # noqa: BLE001  the same
            log_error = described(failure)
        self._latest = Tick(
            snapshot=snapshot,
            made_at_s=made_at_s,
            engine_error=error,
            entries=entries,
            standings=standings,
            log_error=log_error,
        )

    def _run(self) -> None:
        due_s = self._monotonic()
        while not self._stopping:
            self._wake.clear()
            self.tick()
            due_s = max(due_s + self.interval_s, self._monotonic())
            self._wake.wait(max(0.0, due_s - self._monotonic()))


def described(failure: BaseException) -> str:
    """An error in one line: our own by their words, others with their kind."""
    from console.errors import EnduranceError

    words = " ".join(str(failure).split())
    return words if isinstance(failure, EnduranceError) else f"{type(failure).__name__}: {words}"
