"""The journal: an append-only store of entries in one SQLite file, for many threads and processes at once.

An entry that ``append`` returned is on the disk, come what may. Nothing is ever edited or removed. Opening
reads a page or two and verifies nothing; ``verify`` does that.
"""

from __future__ import annotations

import os
import sqlite3
import threading
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from types import TracebackType

from console.display import clean_text
from console.errors import JournalError
from console.record import database
from console.record.admission import Admitted, admit
from console.record.chain import COLUMNS, Head, entry_hash
from console.record.entry import Draft, Entry
from console.record.row import Row, entry_of, field_bytes, moment_text

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
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
    ) -> None:
        self.path = path
        self._meta = meta
        self._epoch = epoch
        self._clock = clock
        self._monotonic = monotonic
        self._host = host
        self._boot_id = _boot_id()
        self._read_only = read_only
        self._patience_s = patience_s
        self._lock = threading.RLock()
        self._connection: sqlite3.Connection | None = None
        self._is_closed = False
        self._mark = 0
        self._seen_version: int | None = None

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
    ) -> Journal:
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
        with self._lock, database.errors_told(self.path):
            if self._read_only:
                raise JournalError(
                    f"{self.path}: opened for reading only; open it for writing to add entries"
                )
            connection = self._connected()
            try:
                connection.execute("BEGIN IMMEDIATE")
                entry = self._append_once(connection, admitted)
                connection.execute("COMMIT")
            except BaseException as error:
                self._recover(connection, error)
                raise
            self._mark += 1
            return entry

    def entries(self, *, limit: int | None = None, after: int = 0) -> tuple[Entry, ...]:
        """The entries after a sequence, oldest first; with a limit, only the newest of them.

        Raises:
            JournalError: the journal cannot be read.
        """
        if limit is None:
            rows = self._rows(f"{_SELECT} WHERE sequence > ? ORDER BY sequence", min(after, _ANY))
        else:
            query = f"{_SELECT} WHERE sequence > ? ORDER BY sequence DESC LIMIT ?"
            rows = self._rows(query, min(after, _ANY), min(max(limit, 0), _ANY))
            rows.reverse()
        return tuple(entry_of(row, self._epoch, str(self.path)) for row in rows)

    def head(self) -> Head:
        """Where the journal ends now: note it elsewhere to see later that nothing was cut off.

        Raises:
            JournalError: the journal cannot be read.
        """
        with self._lock, database.errors_told(self.path):
            return self._head(self._connected())

    def change_mark(self) -> int:
        """A number that is another one when entries may have come since; cheap enough to ask every tick.

        Raises:
            JournalError: the journal cannot be read.
        """
        with self._lock, database.errors_told(self.path):
            (version,) = self._connected().execute("PRAGMA data_version").fetchone()
            if version != self._seen_version:
                self._seen_version = version
                self._mark += 1
            return self._mark

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
            raise JournalError(
                f"body.corrects: found {admitted.corrects}, and no entry has that number; write one that has"
            )
        row = self._row(admitted, head)
        connection.execute(_INSERT, row)
        return entry_of(row, self._epoch, str(self.path))

    def _first_of(self, row: Row, admitted: Admitted) -> Entry:
        if (row[1], row[2], row[3], *row[8:11]) != admitted.columns:
            raise JournalError(
                f"id: found {admitted.id!r}, which is entry {row[0]} with another content; "
                "write a new id for a new entry"
            )
        # The earlier write may have failed at its very last act, making the end of its transaction durable.
        _sync_folder(self.path)
        return entry_of(row, self._epoch, str(self.path))

    def _row(self, admitted: Admitted, head: Head) -> Row:
        draft_id, kind, happened_at, operator, position, body = admitted.columns
        fields: Row = (
            head.count + 1,
            draft_id,
            kind,
            happened_at,
            moment_text(self._clock()),
            repr(float(self._monotonic())),
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
        return (
            Head(count=0, hash=self._meta["genesis"]) if last is None else Head(count=last[0], hash=last[1])
        )

    def _rows(self, query: str, *values: int) -> list[Row]:
        with self._lock, database.errors_told(self.path):
            return self._connected().execute(query, values).fetchall()

    def _connected(self, *, may_create: bool = False) -> sqlite3.Connection:
        """The connection, made anew if the last one was given up after a failure."""
        if self._is_closed:
            raise JournalError(f"{self.path}: the journal was closed; open it again")
        if self._connection is None:
            connection = database.connect(self.path, writing=not self._read_only, patience_s=self._patience_s)
            try:
                if may_create and database.is_empty(connection):
                    database.create_tables(connection, self._meta)
                database.check_meta(connection, self.path, self._meta)
            except BaseException:
                connection.close()
                raise
            self._connection = connection
        return self._connection

    def _recover(self, connection: sqlite3.Connection, error: BaseException) -> None:
        """After a failed append: the transaction ends, and a connection that met an error is given up."""
        database.roll_back(connection)
        busy = getattr(error, "sqlite_errorcode", None) == sqlite3.SQLITE_BUSY
        if connection.in_transaction or (isinstance(error, sqlite3.Error) and not busy):
            self._let_go()

    def _let_go(self) -> None:
        connection, self._connection, self._seen_version = self._connection, None, None
        if connection is not None:
            with suppress(sqlite3.Error):
                connection.close()


def _boot_id() -> str:
    try:
        return _BOOT_ID.read_text("utf-8").strip()
    except (OSError, UnicodeDecodeError):
        return ""


def _sync_folder(path: Path) -> None:
    """Make the folder's own record of its files durable."""
    try:
        folder = os.open(path.parent, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    except OSError as error:
        raise JournalError(
            f"{path}: its folder cannot be made durable ({error.strerror}); send the entry again"
        ) from None
