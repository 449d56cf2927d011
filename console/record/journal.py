"""The journal: an append-only store of entries in one SQLite file, for many threads and processes at once.

An entry that ``append`` returned is on the disk, come what may. Nothing is ever edited or removed. Opening
reads a page or two and verifies nothing; ``verify`` does that. ``journal_search`` finds entries in it.
"""

from __future__ import annotations

import os
import sqlite3
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from console.display import clean_text
from console.errors import JournalError
from console.record import database
from console.record.admission import Admitted, EntryRefusedError, admit
from console.record.chain import COLUMNS, Head, entry_hash
from console.record.entry import Draft, Entry, EntryKind, new_id
from console.record.journal_clock import boot_id, clock_step
from console.record.journal_indexes import add_indexes
from console.record.journal_kept import NOTHING, Kept
from console.record.row import Row, entry_of, field_bytes, moment_of, moment_text

_SELECT = f"SELECT {', '.join(COLUMNS)} FROM entry"  # noqa: S608  our own names
_INSERT = f"INSERT INTO entry VALUES ({', '.join('?' * len(COLUMNS))})"  # noqa: S608  our own count
_ANY = 2**63 - 1
"""The largest number that SQLite takes."""
_LAST = "SELECT sequence, hash FROM entry ORDER BY sequence DESC LIMIT 1"


class Journal:
    """One open journal. Make it with ``Journal.open``; it is safe to share between threads.

    It must not be carried through a fork: open another one in the child.
    """

    def __init__(
        self,
        *,
        path: Path,
        meta: dict[str, str],
        epoch: datetime,
        clock: Callable[[], datetime],
        monotonic: Callable[[], float],
        host: str,
        read_only: bool,
        patience_s: float,
        watches_clock: bool,
    ) -> None:
        self.path = path
        self._meta = meta
        self._epoch = epoch
        self._clock = clock
        self._monotonic = monotonic
        self._host = host
        self._boot_id = boot_id()
        self._read_only = read_only
        self._patience_s = patience_s
        self._watches_clock = watches_clock
        self._lock = threading.RLock()
        self._connection: sqlite3.Connection | None = None
        self._is_closed = False
        self._mark = 0
        self._seen_version: int | None = None
        self._place: tuple[int, int] | None = None
        """Which file it is that is open, whatever stands under its name by now."""
        self.generation = 0
        """Another number when another file stands under the journal's name: what was read before is void."""

    @classmethod
    def open(
        cls,
        path: Path,
        *,
        scenario: str,
        epoch: datetime,
        clock: Callable[[], datetime],
        monotonic: Callable[[], float],
        host: str | None = None,
        create: bool = True,
        read_only: bool = False,
        patience_s: float = database.PATIENCE_S,
        watches_clock: bool = False,
    ) -> Self:
        """Open the journal of a scenario, and make it where there is none.

        Args:
            path: the file; missing folders on the way are made, for the owner alone.
            scenario: the scenario's slug.
            epoch: the scenario's epoch.
            clock: the moment now, with its zone.
            monotonic: seconds of a clock that never steps.
            host: this machine's name; its own where None.
            create: whether to make the file where there is none.
            read_only: whether to refuse every append; makes no file.
            patience_s: how long to wait for other programs.
            watches_clock: whether an entry of kind CLOCK is written when ``clock`` stepped against
                ``monotonic``; not for a rehearsal, whose clock runs at a speed of its own.

        Raises:
            JournalError: it cannot be opened, is no journal, or is another scenario's.
        """
        journal = cls(
            path=path,
            meta=database.meta_of(scenario, epoch),
            epoch=epoch,
            clock=clock,
            monotonic=monotonic,
            host=clean_text(os.uname().nodename if host is None else host),
            read_only=read_only,
            patience_s=patience_s,
            watches_clock=watches_clock,
        )
        may_create = create and not read_only
        if may_create:
            database.make_file(path)
        elif database.is_missing(path):
            raise JournalError(
                f"{path}: found no journal there; give its file with --journal, or log something first"
            )
        with database.errors_told(path):
            journal._connected(may_create=may_create)
        return journal

    def append(self, draft: Draft) -> Entry:
        """Write an entry; it is safe on the disk when this returns.

        The same draft again, by id, changes nothing and returns the entry that it became the first time.
        After an error, send the same draft again: whether or not it got through, it is entered once.

        Raises:
            JournalError: the draft cannot be taken, its id stands for another entry, it corrects an entry
                that does not exist, or the journal cannot be written. Nothing half-written is ever left.
        """
        admitted = admit(draft)
        if self._read_only:
            raise JournalError(f"{self.path}: opened for reading only; open it for writing to add entries")
        with self._using() as connection:
            connection.execute("BEGIN IMMEDIATE")
            entry = self._append_once(connection, admitted)
            connection.execute("COMMIT")
            self._mark += 1
            return entry

    def entries(
        self, *, limit: int | None = None, after: int = 0, until: datetime | None = None
    ) -> tuple[Entry, ...]:
        """The entries after a sequence, oldest first; with a limit, only the newest of them.

        Args:
            limit: at most so many.
            after: the sequence after which they come.
            until: only what had been written at this moment.

        Raises:
            JournalError: the journal cannot be read.
        """
        written, values = ("", ()) if until is None else ("AND written_at <= ? ", (moment_text(until),))
        most = -1 if limit is None else min(max(limit, 0), _ANY)
        rest = f"WHERE sequence > ? {written}ORDER BY sequence DESC LIMIT ?"
        rows = self.rows(rest, min(after, _ANY), *values, most)
        return self.entries_of(reversed(rows))

    def of_kinds(self, kinds: Sequence[EntryKind], *, after: int = 0) -> tuple[Entry, ...]:
        """The entries of some kinds after a sequence, oldest first, without a look at the others.

        Raises:
            JournalError: the journal cannot be read.
        """
        found: list[Row] = []
        for kind in kinds:
            found += self.rows("WHERE kind = ? AND sequence > ?", kind.value, min(after, _ANY))
        return self.entries_of(sorted(found, key=lambda row: row[0]))

    def latest(self) -> datetime | None:
        """When the last of all that is logged happened; None where nothing is.

        Raises:
            JournalError: the journal cannot be read.
        """
        with self._using() as connection:
            (text,) = connection.execute("SELECT max(happened_at) FROM entry").fetchone()
        try:
            return None if text is None else moment_of(text)
        except (ValueError, TypeError) as error:
            raise JournalError(
                f"{self.path}: a moment cannot be read ({error}); verify the journal"
            ) from None

    def rows(self, rest: str, *values: object) -> list[Row]:
        """Rows as they are stored, for this package's own searches.

        Args:
            rest: what follows on ``SELECT … FROM entry``: fixed text, with a ``?`` for each value.
            values: those values.

        Raises:
            JournalError: the journal cannot be read.
        """
        return self.query(f"{_SELECT} {rest}", *values)

    def query(self, statement: str, *values: object) -> list[Any]:
        """The answer to any statement that reads, for this package's own searches.

        Raises:
            JournalError: the journal cannot be read.
        """
        with self._using() as connection:
            return connection.execute(statement, values).fetchall()

    def entries_of(self, rows: Iterable[Row]) -> tuple[Entry, ...]:
        """Rows as entries.

        Raises:
            JournalError: a row holds no entry that can be read.
        """
        return tuple(entry_of(row, self._epoch, str(self.path)) for row in rows)

    @property
    def genesis(self) -> str:
        """What the first entry has for its previous hash."""
        return self._meta["genesis"]

    @property
    def meta(self) -> dict[str, str]:
        """Format, scenario, epoch and genesis."""
        return dict(self._meta)

    def head(self) -> Head:
        """Where the journal ends now: note it elsewhere to see later that nothing was cut off.

        Raises:
            JournalError: the journal cannot be read.
        """
        with self._using() as connection:
            return self._head(connection)

    def change_mark(self) -> int:
        """A number that is another one when entries may have come since; cheap enough to ask every tick.

        Raises:
            JournalError: the journal cannot be read.
        """
        with self._using() as connection:
            (version,) = connection.execute("PRAGMA data_version").fetchone()
            if version != self._seen_version:
                self._seen_version = version
                self._mark += 1
            return self._mark

    def kept(self) -> Kept:
        """What waits to be written: nothing here, see ``journal_keeping``."""
        return NOTHING

    def write_kept(self) -> tuple[Entry, ...]:
        """Write what is kept."""
        return ()

    def close(self) -> None:
        """Let go of the file; more than once does no harm."""
        with self._lock:
            self._is_closed = True
            self._let_go()

    def __enter__(self) -> Journal:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _append_once(self, connection: sqlite3.Connection, admitted: Admitted) -> Entry:
        found = connection.execute(f"{_SELECT} WHERE id = ?", (admitted.id,)).fetchone()
        if found is not None:
            return self._first_of(found, admitted)
        head = self._head(connection)
        if admitted.corrects is not None and not 1 <= admitted.corrects <= head.count:
            there = f"there are #1 to #{head.count}" if head.count else "the journal has no entries"
            raise EntryRefusedError(f"found no entry #{admitted.corrects} to correct; {there}")
        # Read side by side, so that their difference is that of one moment.
        times = (self._clock(), float(self._monotonic()))
        head = self._tell_clock_step(connection, head, times)
        row = self._row(admitted, head, times)
        connection.execute(_INSERT, row)
        return entry_of(row, self._epoch, str(self.path))

    def _first_of(self, row: Row, admitted: Admitted) -> Entry:
        if (row[1], row[2], row[3], *row[8:11]) != admitted.columns:
            raise EntryRefusedError(
                f"id: found {admitted.id!r}, which is entry {row[0]} with another content; "
                "write a new id for a new entry"
            )
        # The earlier write may have failed at its very last act, making the end of its transaction durable.
        database.sync_folder(self.path)
        return entry_of(row, self._epoch, str(self.path))

    def _tell_clock_step(
        self, connection: sqlite3.Connection, head: Head, times: tuple[datetime, float]
    ) -> Head:
        """Write that the host's clock stepped since the last entry, if it did; the journal's end then."""
        if not self._watches_clock:
            return head
        now, monotonic_s = times
        step = clock_step(
            connection, count=head.count, boot_id=self._boot_id, now=now, monotonic_s=monotonic_s
        )
        if step is None:
            return head
        body = step.body(now, self._host)
        # Nobody wrote it: the host stands on every entry and says whose clock it was.
        told = Draft(id=new_id(), kind=EntryKind.CLOCK, happened_at=now, operator="", position="", body=body)
        row = self._row(admit(told), head, times)
        connection.execute(_INSERT, row)
        return Head(count=head.count + 1, hash=str(row[-1]))

    def _row(self, admitted: Admitted, head: Head, times: tuple[datetime, float]) -> Row:
        draft_id, kind, happened_at, operator, position, body = admitted.columns
        written_at, monotonic_s = times
        fields: Row = (
            head.count + 1,
            draft_id,
            kind,
            happened_at,
            moment_text(written_at),
            repr(monotonic_s),
            self._boot_id,
            self._host,
            operator,
            position,
            body,
            head.hash,
        )
        return (*fields, entry_hash(field_bytes(fields)))

    def _head(self, connection: sqlite3.Connection) -> Head:
        last = connection.execute(_LAST).fetchone()
        return Head(count=0, hash=self.genesis) if last is None else Head(count=last[0], hash=last[1])

    @contextmanager
    def _using(self) -> Iterator[sqlite3.Connection]:
        """The connection, for this thread alone; one that met an error is given up and made anew later.

        Raises:
            JournalError: in place of every error of SQLite inside the block.
        """
        with self._lock, database.errors_told(self.path):
            connection = self._connected()
            try:
                yield connection
            except BaseException as error:
                self._recover(connection, error)
                raise

    def _connected(self, *, may_create: bool = False) -> sqlite3.Connection:
        """The connection, made anew if the last one was given up after a failure."""
        if self._is_closed:
            raise JournalError(f"{self.path}: the journal was closed; open it again")
        place = database.place_of(self.path)
        if self._connection is not None and place != self._place:
            self._let_go()  # its file is no longer what stands under the name
        if self._connection is None:
            connection = database.connect(self.path, writing=not self._read_only, patience_s=self._patience_s)
            try:
                if may_create and database.is_empty(connection):
                    database.create_tables(connection, self._meta)
                database.check_meta(connection, self.path, self._meta)
                if not self._read_only:
                    add_indexes(connection)
            except BaseException:
                connection.close()
                raise
            self._connection = connection
            self.generation += self._place not in (None, place)
            self._place = place
        return self._connection

    def _recover(self, connection: sqlite3.Connection, error: BaseException) -> None:
        """After a failure: the transaction ends, and a connection that met an error is given up."""
        database.roll_back(connection)
        busy = getattr(error, "sqlite_errorcode", None) == sqlite3.SQLITE_BUSY
        if connection.in_transaction or (isinstance(error, sqlite3.Error) and not busy):
            self._let_go()

    def _let_go(self) -> None:
        connection, self._connection, self._seen_version = self._connection, None, None
        if connection is not None:
            with suppress(sqlite3.Error):
                connection.close()
