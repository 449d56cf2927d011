"""The journal's SQLite file: how it is made, opened and told from other files, and what its errors mean.

Never open the file itself with ``open``: closing it would drop the locks that SQLite holds on it in this
process, and two writers could then tear it. Write-ahead mode is not used: SQLite before 3.51.3 has a race
in it that can lose committed pages.
"""

from __future__ import annotations

import os
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import datetime
from pathlib import Path

from console.display import clean_text
from console.errors import JournalError
from console.record.chain import FORMAT, genesis_hash
from console.record.journal_indexes import INDEXES
from console.record.row import moment_text

APPLICATION_ID = 0x454E4452
"""Stands in the file's header and says that it is one of our journals ("ENDR")."""

PATIENCE_S = 10.0
"""How long a reader or writer waits for the others before it gives up."""

READ_ERRORS = (sqlite3.Error, UnicodeDecodeError)
"""What a damaged file can raise: SQLite's message about a damaged schema may itself be no UTF-8."""

SPACE_NEEDED = 256 * 1024
"""Bytes: below this the disk is called full before an entry fails (an entry takes some pages of 4 KiB)."""

OLDEST_SQLITE = (3, 37, 0)
"""The first with STRICT tables."""

_REFUSE = "BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END"

# INSERT OR REPLACE deletes without a DELETE trigger, so the INSERT is watched as well.
_JOINS_THE_END = (
    "CREATE TRIGGER entry_joins_the_end BEFORE INSERT ON entry "  # noqa: S608  no text but our own
    "WHEN NEW.sequence IS NOT (SELECT coalesce(max(sequence), 0) + 1 FROM entry) "
    "OR NEW.previous_hash IS NOT coalesce((SELECT hash FROM entry ORDER BY sequence DESC LIMIT 1), "
    "(SELECT value FROM meta WHERE key = 'genesis')) "
    "OR EXISTS (SELECT 1 FROM entry WHERE id = NEW.id) " + _REFUSE
)

SCHEMA = (
    "CREATE TABLE meta (key TEXT NOT NULL PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID",
    "CREATE TABLE entry (sequence INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, kind TEXT NOT NULL, "
    "happened_at TEXT NOT NULL, written_at TEXT NOT NULL, monotonic_s TEXT NOT NULL, boot_id TEXT NOT NULL, "
    "host TEXT NOT NULL, operator TEXT NOT NULL, position TEXT NOT NULL, body TEXT NOT NULL, "
    "previous_hash TEXT NOT NULL, hash TEXT NOT NULL) STRICT",
    _JOINS_THE_END,
    f"CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry {_REFUSE}",
    f"CREATE TRIGGER entry_is_never_deleted BEFORE DELETE ON entry {_REFUSE}",
    f"CREATE TRIGGER meta_is_never_changed BEFORE UPDATE ON meta {_REFUSE}",
    f"CREATE TRIGGER meta_is_never_deleted BEFORE DELETE ON meta {_REFUSE}",
)
"""The tables and what guards them; ``_META_CLOSED`` joins them once meta is filled."""

_META_CLOSED = f"CREATE TRIGGER meta_is_never_added_to BEFORE INSERT ON meta {_REFUSE}"

_creating = threading.Lock()


def meta_of(scenario: str, epoch: datetime) -> dict[str, str]:
    """What the meta table of a scenario's journal says."""
    epoch_text = moment_text(epoch)
    return {
        "format": str(FORMAT),
        "scenario": scenario,
        "epoch": epoch_text,
        "genesis": genesis_hash(scenario, epoch_text),
    }


def is_missing(path: Path) -> bool:
    """Whether there is surely nothing at a path; where this user may not even look, opening will tell."""
    try:
        return not path.exists()
    except OSError:
        return False


def place_of(path: Path) -> tuple[int, int] | None:
    """Which file it is that stands under a name, by device and inode; None where there is none to be seen."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def disk_trouble(path: Path) -> str:
    """Why an entry could not be written now, as far as the system says it; empty where it says nothing.

    Looks only. That it finds nothing is no promise.
    """
    if is_missing(path):
        return f"{path}: {_MISSING}"
    try:
        system = os.statvfs(path)
    except OSError as error:
        return f"{path}: cannot be looked at ({error.strerror}); mend that: nothing can be saved meanwhile"
    if system.f_flag & os.ST_RDONLY or not os.access(path, os.W_OK):
        return f"{path}: {_FORBIDDEN}"
    if system.f_bavail * system.f_frsize < SPACE_NEEDED:
        return f"{path}: the disk is full; free some space"
    return ""


def make_file(path: Path) -> None:
    """Make an empty file, and the folders to it, for the owner alone; what is there already stays.

    Raises:
        JournalError: it cannot be made.
    """
    try:
        for folder in reversed(path.parents):
            if not folder.exists():
                folder.mkdir(mode=0o700, exist_ok=True)
        # No other opening of the same new file may come between: the close would drop its locks.
        with _creating, suppress(FileExistsError):
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    except OSError as error:
        raise JournalError(
            f"{path}: the journal cannot be made ({error.strerror}); allow it there, or give another file "
            "with --journal"
        ) from None


def sync_folder(path: Path) -> None:
    """Make the folder's own record of its files durable.

    Raises:
        JournalError: it cannot be done.
    """
    try:
        folder = os.open(path.parent, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    except OSError as error:
        raise JournalError(
            f"{path}: its folder cannot be made durable ({error.strerror}); mend that"
        ) from None


def connect(path: Path, *, writing: bool, patience_s: float = PATIENCE_S) -> sqlite3.Connection:
    """Open an existing file; the busy timeout stands before the first statement.

    A connection that does not write still opens the file for writing where it may, because only then can
    SQLite roll back what a killed writer left behind; ``query_only`` keeps it from writing anything else.

    Raises:
        sqlite3.Error: it cannot be opened.
        JournalError: this SQLite is too old.
    """
    if sqlite3.sqlite_version_info < OLDEST_SQLITE:
        raise JournalError(
            f"SQLite {sqlite3.sqlite_version} is too old for the journal; 3.37 or newer is needed"
        )
    mode = "rw" if writing or os.access(path, os.W_OK) else "ro"
    connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={mode}",
        uri=True,
        timeout=patience_s,
        isolation_level=None,
        check_same_thread=False,
    )
    try:
        connection.execute("PRAGMA trusted_schema=OFF")
        connection.execute("PRAGMA cell_size_check=ON")
        if writing:
            _make_durable(connection, path)
        else:
            connection.execute("PRAGMA query_only=ON")
    except BaseException:
        connection.close()
        raise
    return connection


def _make_durable(connection: sqlite3.Connection, path: Path) -> None:
    (mode,) = connection.execute("PRAGMA journal_mode=DELETE").fetchone()
    if mode != "delete":
        raise JournalError(
            f"{path}: found in {mode} mode, which can lose entries; close every program that uses "
            "it and try again"
        )
    connection.execute("PRAGMA synchronous=EXTRA")
    connection.execute("PRAGMA fullfsync=ON")  # where fsync alone does not reach the platter


def create_tables(connection: sqlite3.Connection, meta: dict[str, str]) -> None:
    """Turn an empty file into a journal, in one transaction; does nothing where another process was first.

    Raises:
        sqlite3.Error: it cannot be written.
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        if is_empty(connection):
            connection.execute(f"PRAGMA application_id={APPLICATION_ID}")
            for statement in SCHEMA:
                connection.execute(statement)
            connection.executemany("INSERT INTO meta VALUES (?, ?)", meta.items())
            for statement in (_META_CLOSED, *INDEXES):
                connection.execute(statement)
        connection.execute("COMMIT")
    except BaseException:
        roll_back(connection)
        raise


def is_empty(connection: sqlite3.Connection) -> bool:
    """Whether nothing was ever made in this file."""
    (application_id,) = connection.execute("PRAGMA application_id").fetchone()
    return not application_id and connection.execute("SELECT 1 FROM sqlite_schema").fetchone() is None


def roll_back(connection: sqlite3.Connection) -> None:
    """End a transaction that failed, if SQLite has not ended it by itself."""
    with suppress(sqlite3.Error):
        if connection.in_transaction:
            connection.execute("ROLLBACK")


def check_meta(connection: sqlite3.Connection, path: Path, due: dict[str, str]) -> None:
    """Refuse a file that is not the journal of this scenario in this format. Reads a page or two.

    Raises:
        JournalError: says the path, what was found, what to do.
        sqlite3.Error: the file cannot be read.
    """
    if is_empty(connection):
        raise JournalError(
            f"{path}: found an empty file, no journal; remove it, or give another file with --journal"
        )
    (application_id,) = connection.execute("PRAGMA application_id").fetchone()
    if application_id != APPLICATION_ID:
        raise JournalError(
            f"{path}: found another program's SQLite file, no journal; give another file with --journal"
        )
    found = dict(connection.execute("SELECT key, value FROM meta"))
    if found.get("format") != due["format"]:
        raise JournalError(
            f"{path}: found a journal of format {found.get('format')}; this program knows format {FORMAT}: "
            "open it with the program that wrote it, or give another file with --journal"
        )
    if found != due:
        raise JournalError(
            f"{path}: found the journal of {_named(found)}, not of {_named(due)}; "
            "give another file with --journal"
        )


def _named(meta: dict[str, str]) -> str:
    return (
        f"scenario {clean_text(str(meta.get('scenario')))!r} with epoch {clean_text(str(meta.get('epoch')))}"
    )


SCHEMA_QUERY = (
    "SELECT type, name, tbl_name, sql, CAST(rowid AS TEXT), CAST(rootpage > 0 AS TEXT) FROM sqlite_schema"
)


def expected_schema(*, has_indexes: bool = True) -> list[tuple[str | None, ...]]:
    """What ``SCHEMA_QUERY`` finds in a sound journal.

    Args:
        has_indexes: not so in one that was made before there were any and only read since.
    """
    indexes = INDEXES if has_indexes else ()
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        for statement in (*SCHEMA, _META_CLOSED, *indexes):
            connection.execute(statement)
        return connection.execute(SCHEMA_QUERY).fetchall()


@contextmanager
def errors_told(path: Path) -> Iterator[None]:
    """Turn SQLite's errors inside the block into one clear sentence.

    Raises:
        JournalError: in place of every one of ``READ_ERRORS``.
    """
    try:
        yield
    except READ_ERRORS as error:
        raise JournalError(f"{path}: {explain(path, error)}") from error


def explain(path: Path, error: Exception) -> str:
    """What an error of SQLite means to the person who meets it, and what they can do."""
    code = getattr(error, "sqlite_errorcode", None)
    if code == sqlite3.SQLITE_READONLY_DBMOVED or (code is not None and is_missing(path)):
        return _MISSING
    primary = None if code is None else code & 0xFF
    known = _MEANING.get(primary) if primary is not None else None
    return known or f"SQLite could not do it ({error}); verify the journal before going on"


_MISSING = "found no file of that name (any more); put it back, or give another file with --journal"
_DAMAGED = (
    "found a file that is no journal or a damaged one; keep a copy, verify it, and go on with another file "
    "through --journal"
)
_FORBIDDEN = (
    "this user may not open or write the file or its folder, or it is read-only; allow it, or give another "
    "file with --journal"
)

_MEANING = {
    sqlite3.SQLITE_FULL: "the disk is full; free some space",
    sqlite3.SQLITE_IOERR: "the disk refused to read or write (full, over its limit, or failing); mend that",
    sqlite3.SQLITE_READONLY: _FORBIDDEN,
    sqlite3.SQLITE_PERM: _FORBIDDEN,
    sqlite3.SQLITE_CANTOPEN: _FORBIDDEN,
    sqlite3.SQLITE_BUSY: "another program holds the journal and did not let go in time; close what holds "
    "it if that lasts",
    sqlite3.SQLITE_CORRUPT: _DAMAGED,
    sqlite3.SQLITE_NOTADB: _DAMAGED,
}
