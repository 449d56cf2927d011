"""The history of readings on disk: one SQLite file that one process writes and any number read.

Who writes is settled by a lock on a file beside it, which the kernel takes back when its holder dies, however
it dies. What is on disk may lag some seconds behind what was taken; it is never torn. Not to be carried
through a fork.
"""

from __future__ import annotations

import fcntl
import os
import sqlite3
import zlib
from collections.abc import Collection
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from console.errors import JournalError
from console.record import history_file
from console.record.database import is_empty, is_missing, roll_back
from console.record.history_blocks import BLOCK_S, Batch, SavedTrack
from console.record.history_file import CHANNEL_BITS, HistoryDamagedError, HistoryForeignError

PATIENCE_S = 2.0
"""How long to wait for another process that reads or writes: it is never the tick that waits."""

DISK_ERRORS = (sqlite3.Error, OSError, UnicodeDecodeError, JournalError)
"""What the disk and the file can raise."""


@dataclass(kw_only=True, slots=True)
class Saved:
    """All that was read from the disk."""

    tracks: dict[str, SavedTrack] = field(default_factory=dict)
    marks: dict[str, str] = field(default_factory=dict)


class HistoryStore:
    """One history file. Make it with ``HistoryStore.open``; History does the rest, one thread at a time."""

    def __init__(
        self, path: Path, *, scenario: str, epoch: datetime, writes: bool, patience_s: float
    ) -> None:
        self.path = path
        self.writes = writes
        self._scenario = scenario
        self._epoch = epoch
        self._patience_s = patience_s
        self._claim: int | None = None
        self._connection: sqlite3.Connection | None = None
        self._identity = ""
        self._numbers: dict[str, int] = {}

    @classmethod
    def open(
        cls,
        path: Path,
        *,
        scenario: str,
        epoch: datetime,
        writes: bool = True,
        patience_s: float = PATIENCE_S,
    ) -> HistoryStore:
        """The history of a scenario; the file is made where there is none and it is to be written.

        Args:
            path: the file.
            scenario: the scenario's slug.
            epoch: the scenario's epoch.
            writes: whether to write to it whenever no other process does.
            patience_s: how long to wait for other programs.

        Raises:
            JournalError: there is a file that is another scenario's, format's or program's. One that cannot
                be read or is damaged raises nothing: History goes on in memory and tells.
        """
        store = cls(path, scenario=scenario, epoch=epoch, writes=writes, patience_s=patience_s)
        try:
            if not is_missing(path):
                store._reading().close()
        except HistoryForeignError:
            raise
        except DISK_ERRORS:
            pass  # the same will be met by the first load, which tells it
        return store

    @property
    def is_writer(self) -> bool:
        """Whether this process is the one that writes."""
        return self._claim is not None

    def ready(self) -> str | None:
        """Make ready for writing, and the file where there is none.

        Returns:
            The file's identity, by which another file in its place is known; None where another process
            writes or this one never does.

        Raises:
            DISK_ERRORS: it cannot be written.
        """
        if not self.writes or not self._claimed():
            return None
        if self._connection is not None and is_missing(self.path):
            self._let_go()
        if self._connection is None:
            history_file.make_file(self.path)
            connection = history_file.connect(self.path, writing=True, patience_s=self._patience_s)
            try:
                if is_empty(connection):
                    history_file.create_tables(connection, self._scenario, self._epoch)
                self._identity = history_file.identity_of(connection, self.path, self._due)
                self._numbers = dict(connection.execute("SELECT name, id FROM channel"))
            except BaseException:
                connection.close()
                raise
            self._connection = connection
        return self._identity

    def load(self, channels: Collection[str]) -> Saved:
        """What is on disk of some channels, as of one moment; nothing where there is no file.

        Raises:
            DISK_ERRORS: it cannot be read.
        """
        if is_missing(self.path):
            return Saved()
        connection = self._reading() if self._connection is None else self._connection
        try:
            connection.execute("BEGIN")
            if is_empty(connection):
                return Saved()
            return self._all(connection, channels)
        finally:
            roll_back(connection)
            if connection is not self._connection:
                connection.close()

    def write(self, batch: Batch) -> None:
        """Write a batch in one transaction; only after ``ready`` gave an identity.

        Raises:
            DISK_ERRORS: it could not be written, and nothing of it was.
        """
        connection = self._connection
        if connection is None:
            raise JournalError(f"{self.path}: not ready to be written")
        try:
            connection.execute("BEGIN IMMEDIATE")
            self._put(connection, batch)
            connection.execute("COMMIT")
        except BaseException:
            roll_back(connection)
            self._let_go()
            raise

    def close(self) -> None:
        """Let go of the file and of the right to write; more than once does no harm."""
        self._let_go()
        claim, self._claim = self._claim, None
        if claim is not None:
            os.close(claim)

    @property
    def _due(self) -> dict[str, str]:
        return history_file.meta_of(self._scenario, self._epoch)

    def _claimed(self) -> bool:
        if self._claim is None:
            beside = self.path.with_name(self.path.name + ".writer")
            history_file.make_file(beside)
            claim = os.open(beside, os.O_RDWR)
            try:
                fcntl.flock(claim, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                os.close(claim)
                return False
            except BaseException:
                os.close(claim)
                raise
            self._claim = claim
        return True

    def _reading(self) -> sqlite3.Connection:
        connection = history_file.connect(self.path, writing=False, patience_s=self._patience_s)
        try:
            if not is_empty(connection):
                history_file.identity_of(connection, self.path, self._due)
        except BaseException:
            connection.close()
            raise
        return connection

    def _all(self, connection: sqlite3.Connection, channels: Collection[str]) -> Saved:
        saved, tracks = Saved(), {}
        for number, name, state, checksum in connection.execute("SELECT * FROM channel"):
            self._check(checksum, name.encode(), state)
            if name in channels:
                tracks[number] = saved.tracks[name] = SavedTrack(state=state)
        mask = (1 << CHANNEL_BITS) - 1
        for table in BLOCK_S:
            rows = connection.execute(f"SELECT key, content, checksum FROM {table} ORDER BY key")  # noqa: S608
            for key, content, checksum in rows:
                track = tracks.get(key & mask)
                if track is not None:
                    self._check(checksum, key.to_bytes(8, "little", signed=True), content)
                    track.pieces[table].append(content)
        for key, document, checksum in connection.execute("SELECT * FROM mark"):
            self._check(checksum, key.encode(), document.encode())
            saved.marks[key] = document
        return saved

    def _check(self, checksum: int, name: bytes, content: bytes) -> None:
        if checksum != _checksum(name, content):
            raise HistoryDamagedError(f"{self.path}: {history_file.DAMAGED}")

    def _put(self, connection: sqlite3.Connection, batch: Batch) -> None:
        for name, state in batch.states:
            number = self._numbers.setdefault(name, max(self._numbers.values(), default=-1) + 1)
            connection.execute(
                "REPLACE INTO channel VALUES (?, ?, ?, ?)",
                (number, name, state, _checksum(name.encode(), state)),
            )
        # What goes first makes room for what comes.
        for cut in batch.cuts:
            key = self._key(cut.channel, cut.number)
            connection.execute(
                f"DELETE FROM {cut.table} WHERE key < ? AND key & ? = ?",  # noqa: S608  our own names
                (key, (1 << CHANNEL_BITS) - 1, self._numbers[cut.channel]),
            )
        # In order of their keys, so that pages fill up from first to last.
        keyed = sorted(
            (block.table, self._key(block.channel, block.number), block.content) for block in batch.blocks
        )
        for table, key, content in keyed:
            checksum = _checksum(key.to_bytes(8, "little", signed=True), content)
            connection.execute(f"REPLACE INTO {table} VALUES (?, ?, ?)", (key, content, checksum))  # noqa: S608
        connection.executemany(
            "REPLACE INTO mark VALUES (?, ?, ?)",
            [(key, text, _checksum(key.encode(), text.encode())) for key, text in batch.marks.items()],
        )

    def _key(self, channel: str, number: int) -> int:
        return (number << CHANNEL_BITS) + self._numbers[channel]

    def _let_go(self) -> None:
        connection, self._connection = self._connection, None
        if connection is not None:
            with suppress(sqlite3.Error):
                connection.close()


def _checksum(name: bytes, content: bytes) -> int:
    return zlib.crc32(content, zlib.crc32(name))
