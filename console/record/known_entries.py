"""What is known of a journal from tick to tick: its newest entries, and what its steps mean.

Of a journal of any length only that is held; it is read on when the journal changed. Once the steps have been
read, figures can go on with them when the journal cannot be read any more: ``newest`` then says so.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from console.engine.configuration import ConfigurationChange
from console.errors import JournalError
from console.record.entry import Entry, EntryKind
from console.record.journal_corrections import Standing, standings
from console.record.steps import changes_from

if TYPE_CHECKING:
    from console.record.journal import Journal
    from console.record.journal_search import Search
    from console.record.journal_stored import Stored

_COUNTING = (EntryKind.STEP, EntryKind.CORRECTION)
"""The kinds that say what the configuration is."""

_Asked = tuple[int | None, datetime | None, int | None]


class KnownEntries:
    """May be asked from several threads.

    Args:
        journal: where they are; None where there is none, which has no entries.
        until: the moment until which what was written counts; None for all of it.
    """

    def __init__(self, journal: Journal | None, until: Callable[[], datetime] | None = None) -> None:
        self._journal = journal
        self._until = until
        self._newest: tuple[Entry, ...] = ()
        self._newest_of: _Asked | None = None
        """Journal's mark, moment and limit for which those are the newest."""
        self._read: tuple[Entry, ...] | None = None
        """Every step and correction that was read; None before the first reading."""
        self._read_of: tuple[int, int] | None = None
        """Journal's mark and generation of that."""
        self._counting: tuple[Entry, ...] = ()
        """Of those, what had been written at the moment last asked for."""
        self._changes: tuple[tuple[Entry, ...], tuple[ConfigurationChange, ...]] = ((), ())
        """The entries that were last read for steps, and those steps."""
        self._standings: tuple[tuple[Entry, ...], Mapping[int, Standing]] = ((), {})
        self._lock = threading.RLock()

    def newest(self, limit: int | None = None) -> tuple[Entry, ...]:
        """The newest entries that count, oldest of them first; all of them without a limit.

        Raises:
            JournalError: the journal cannot be read.
        """
        journal = self._journal
        if journal is None:
            return ()
        with self._lock:
            asked = (journal.change_mark(), self._moment(), limit)
            if limit is None:
                return journal.entries(until=asked[1])  # as many as there are: not to be held
            if asked != self._newest_of:
                newest = journal.entries(limit=limit, until=asked[1])
                # Clocks run on while nothing is written: then it is still the same.
                self._newest = self._newest if newest == self._newest else newest
                self._newest_of = asked
            return self._newest

    def steps(self) -> tuple[Entry, ...]:
        """Every step and correction that counts, in the journal's order; the same one while nothing comes.

        Raises:
            JournalError: the journal cannot be read, and never could be.
        """
        journal = self._journal
        if journal is None:
            return ()
        with self._lock:
            try:
                read = self._read_on(journal)
            except JournalError:
                if self._read is None:
                    raise
                read = self._read  # what was known stays; the board says that the log cannot be read
            moment = self._moment()
            counting = (
                read if moment is None else tuple(entry for entry in read if entry.written_at <= moment)
            )
            if counting != self._counting:
                self._counting = counting
            return self._counting

    def changes(self) -> tuple[ConfigurationChange, ...]:
        """The steps that count, as the engine sees them, in the journal's order."""
        entries = self.steps()
        known, changes = self._changes
        if known is not entries:
            changes = changes_from(entries)
            self._changes = (entries, changes)
        return changes

    def standings(self) -> Mapping[int, Standing]:
        """How every entry that was corrected stands now, by sequence."""
        entries = self.steps()
        known, found = self._standings
        if known is not entries:
            found = standings(entries)
            self._standings = (entries, found)
        return found

    def find(self, search: Search) -> tuple[Entry, ...]:
        """The entries that are looked for, oldest first, of those that count.

        Raises:
            JournalError: the journal cannot be read.
        """
        if self._journal is None:
            return ()
        from console.record.journal_search import found  # only who looks for something pays for it

        return found(self._journal, replace(search, written_until=self._moment()))

    def each(self, search: Search) -> Iterator[Entry]:
        """The same one by one, for a journal of any length.

        Raises:
            JournalError: the journal cannot be read.
        """
        if self._journal is None:
            return iter(())
        from console.record.journal_search import each_found

        return each_found(self._journal, replace(search, written_until=self._moment()))

    def stored(self, sequence: int) -> Stored:
        """One entry with what it was hashed from.

        Raises:
            JournalError: there is none of that number, or the journal cannot be read.
        """
        if self._journal is None:
            raise JournalError(f"found no entry #{sequence}; the journal has no entries yet")
        from console.record.journal_stored import stored

        found = stored(self._journal, sequence)
        moment = self._moment()
        if moment is not None and found.entry.written_at > moment:
            raise JournalError(f"found no entry #{sequence} at that moment: it was written later")
        return found

    def operators(self) -> tuple[str, ...]:
        """Everybody who has written an entry.

        Raises:
            JournalError: the journal cannot be read.
        """
        if self._journal is None:
            return ()
        from console.record.journal_search import operators

        return operators(self._journal)

    def latest(self) -> datetime | None:
        """When the last of all that is logged happened; None where nothing is.

        Raises:
            JournalError: the journal cannot be read.
        """
        return None if self._journal is None else self._journal.latest()

    def _moment(self) -> datetime | None:
        return None if self._until is None else self._until()

    def _read_on(self, journal: Journal) -> tuple[Entry, ...]:
        mark = (journal.change_mark(), journal.generation)
        if self._read is None or self._read_of is None or mark[1] != self._read_of[1]:
            self._read = journal.of_kinds(_COUNTING)
        elif mark != self._read_of:
            last = self._read[-1].sequence if self._read else 0
            if newer := journal.of_kinds(_COUNTING, after=last):
                self._read = (*self._read, *newer)
        self._read_of = mark
        return self._read
