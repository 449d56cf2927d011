"""The history's SQLite file: how it is made, opened and told from other files, and what its errors mean.

Rollback journal, as for the journal. With synchronous FULL a cut of power can take back the last saving and
never tear the file; NORMAL would save one sync in ten seconds and leaves a small chance of a torn file on old
file systems. Never open the file itself with ``open``: that would drop SQLite's locks on it.
"""

from __future__ import annotations

import os
import sqlite3
import uuid
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from console.display import clean_text
from console.errors import JournalError
from console.record.database import OLDEST_SQLITE, is_empty, is_missing, roll_back
from console.record.row import moment_text

APPLICATION_ID = 0x454E4448
"""Stands in the file's header and says that it is one of our histories ("ENDH")."""

FORMAT = 1

CHANNEL_BITS = 16
"""A block's key is its number times 2**16 plus its channel's: so what is new stands together at the end."""

_BLOCK_TABLE = "key INTEGER PRIMARY KEY, content BLOB NOT NULL, checksum INTEGER NOT NULL"

_PAGE_BYTES = 8192
"""Eight blocks of full rate at 1 Hz nearly fill a page, and three of rows; of 4096, rows would waste half."""

SCHEMA = (
    "CREATE TABLE meta (key TEXT NOT NULL PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID",
    "CREATE TABLE channel (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, state BLOB NOT NULL, "
    "checksum INTEGER NOT NULL) STRICT",
    f"CREATE TABLE full_rate ({_BLOCK_TABLE}) STRICT",
    f"CREATE TABLE minutes ({_BLOCK_TABLE}) STRICT",
    f"CREATE TABLE ten_minutes ({_BLOCK_TABLE}) STRICT",
    "CREATE TABLE mark (key TEXT NOT NULL PRIMARY KEY, document TEXT NOT NULL, "
    "checksum INTEGER NOT NULL) STRICT, WITHOUT ROWID",
)


class HistoryDamagedError(JournalError):
    """The file is damaged or no history at all; nothing may be written to it."""


class HistoryForeignError(JournalError):
    """The file is sound and not this scenario's history."""


def make_file(path: Path) -> None:
    """Make an empty file, and the folders to it, for the owner alone; what is there already stays.

    Raises:
        OSError: it cannot be made.
    """
    for folder in reversed(path.parents):
        if not folder.exists():
            folder.mkdir(mode=0o700, exist_ok=True)
    with suppress(FileExistsError):
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))


def connect(path: Path, *, writing: bool, patience_s: float) -> sqlite3.Connection:
    """Open an existing file.

    One that does not write still opens for writing where it may: only then can SQLite roll back what a killed
    writer left behind.

    Raises:
        sqlite3.Error: it cannot be opened.
        JournalError: this SQLite is too old, or the file is in write-ahead mode.
    """
    if sqlite3.sqlite_version_info < OLDEST_SQLITE:
        raise JournalError(
            f"{path}: {_LAGS}: SQLite {sqlite3.sqlite_version} is too old; 3.37 or newer is needed"
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
            (found,) = connection.execute("PRAGMA journal_mode=DELETE").fetchone()
            if found != "delete":
                raise JournalError(f"{path}: {_LAGS}: found in {found} mode, set by another program")
            connection.execute("PRAGMA synchronous=FULL")
        else:
            connection.execute("PRAGMA query_only=ON")
    except BaseException:
        connection.close()
        raise
    return connection


def create_tables(connection: sqlite3.Connection, scenario: str, epoch: datetime) -> None:
    """Turn an empty file into a history, in one transaction.

    Raises:
        sqlite3.Error: it cannot be written.
    """
    meta = {**meta_of(scenario, epoch), "identity": uuid.uuid4().hex}
    connection.execute(f"PRAGMA page_size={_PAGE_BYTES}")
    connection.execute("BEGIN IMMEDIATE")
    try:
        if is_empty(connection):
            connection.execute(f"PRAGMA application_id={APPLICATION_ID}")
            for statement in SCHEMA:
                connection.execute(statement)
            connection.executemany("INSERT INTO meta VALUES (?, ?)", meta.items())
        connection.execute("COMMIT")
    except BaseException:
        roll_back(connection)
        raise


def meta_of(scenario: str, epoch: datetime) -> dict[str, str]:
    """Whose history it is; times are counted from the epoch, so another epoch is another history."""
    return {"format": str(FORMAT), "scenario": scenario, "epoch": moment_text(epoch)}


def identity_of(connection: sqlite3.Connection, path: Path, due: dict[str, str]) -> str:
    """The file's own mark, by which a file put in its place is known.

    Raises:
        HistoryForeignError: it is another scenario's, another format's or another program's.
        HistoryDamagedError: it is none.
        sqlite3.Error: it cannot be read.
    """
    (application_id,) = connection.execute("PRAGMA application_id").fetchone()
    if application_id != APPLICATION_ID:
        raise HistoryForeignError(
            f"{path}: found another program's SQLite file, expected the history of scenario "
            f"{due['scenario']!r}; move it away, or give another file with --journal (the history stands "
            "beside it)"
        )
    found = dict(connection.execute("SELECT key, value FROM meta"))
    if found.get("format") != due["format"]:
        raise HistoryForeignError(
            f"{path}: found a history of format {clean_text(str(found.get('format')))}, expected format "
            f"{FORMAT}; open it with the program that wrote it, or move it away"
        )
    identity = found.pop("identity", None)
    if identity is None:
        raise HistoryDamagedError(f"{path}: {DAMAGED}")
    if found != due:
        raise HistoryForeignError(
            f"{path}: found the history of {_named(found)}, expected that of {_named(due)}; give another "
            "file with --journal (the history stands beside it)"
        )
    return str(identity)


def _named(meta: dict[str, str]) -> str:
    return (
        f"scenario {clean_text(str(meta.get('scenario')))!r} with epoch {clean_text(str(meta.get('epoch')))}"
    )


def told(path: Path, error: Exception) -> str:
    """What an error means to the person who meets it, in one sentence."""
    if isinstance(error, JournalError):
        return str(error)
    if isinstance(error, OSError):
        return f"{path}: {_LAGS} ({error.strerror or type(error).__name__})"
    code = getattr(error, "sqlite_errorcode", None)
    if code == sqlite3.SQLITE_READONLY_DBMOVED or (code is not None and is_missing(path)):
        return f"{path}: {_LAGS}: found no file of that name any more"
    reason = _MEANING.get(code & 0xFF) if code is not None else None
    return f"{path}: {_LAGS}: {reason or clean_text(str(error))}"


def is_damage(error: Exception) -> bool:
    """Whether an error says that the file itself is broken."""
    if isinstance(error, (HistoryDamagedError, UnicodeDecodeError)):
        return True
    code = getattr(error, "sqlite_errorcode", None)
    return code is not None and code & 0xFF in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


DAMAGED = (
    "found a damaged history of readings; the file is left as it is and readings are kept in memory only: "
    "keep a copy, move it away and start again"
)

_LAGS = "readings are kept in memory only until this is mended"

_FORBIDDEN = "this user may not write the file or its folder, or it is read-only"

_MEANING = {
    sqlite3.SQLITE_FULL: "the disk is full",
    sqlite3.SQLITE_IOERR: "the disk refused to read or write (full, over its limit, or failing)",
    sqlite3.SQLITE_READONLY: _FORBIDDEN,
    sqlite3.SQLITE_PERM: _FORBIDDEN,
    sqlite3.SQLITE_CANTOPEN: _FORBIDDEN,
    sqlite3.SQLITE_BUSY: "another program holds the file and did not let go in time",
}
