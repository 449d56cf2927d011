"""A journal's entries as they were last read, and what their steps mean; read on when the journal changed."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

from console.engine.configuration import ConfigurationChange
from console.record.entry import Entry
from console.record.steps import changes_from

if TYPE_CHECKING:
    from console.record.journal import Journal


class KnownEntries:
    """May be asked from several threads.

    Args:
        journal: where they are; None where there is none, which has no entries.
    """

    def __init__(self, journal: Journal | None) -> None:
        self._journal = journal
        self._entries: tuple[Entry, ...] = ()
        self._mark: int | None = None
        self._changes: tuple[tuple[Entry, ...], tuple[ConfigurationChange, ...]] = ((), ())
        """The entries that were last read for steps, and those steps."""
        self._lock = threading.Lock()

    def all(self) -> tuple[Entry, ...]:
        """Every entry, read on from the last one known when the journal says that it has changed."""
        if self._journal is None:
            return ()
        with self._lock:
            mark = self._journal.change_mark()
            if mark != self._mark:
                last = self._entries[-1].sequence if self._entries else 0
                if newer := self._journal.entries(after=last):
                    self._entries = (*self._entries, *newer)
                self._mark = mark
            return self._entries

    def changes(self) -> tuple[ConfigurationChange, ...]:
        """The steps that count, as the engine sees them, in the journal's order."""
        entries = self.all()
        known, changes = self._changes
        if known is not entries:
            changes = changes_from(entries)
            self._changes = (entries, changes)
        return changes
