"""Whether a journal still says what was written: every hash over the stored bytes, and the file around them.

SQLite's own check does not look at content, and the chain does not see what stands around the entries or
was cut off behind them; so both are done, and heads that were noted elsewhere are compared. Reads only, and
the entries in pieces, between which writers get their turn.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from pathlib import Path

from console.display import clean_text
from console.errors import JournalError
from console.record.chain import COLUMNS, FIELDS, FORMAT, Head, entry_hash, genesis_hash
from console.record.database import (
    APPLICATION_ID,
    PATIENCE_S,
    READ_ERRORS,
    SCHEMA_QUERY,
    connect,
    errors_told,
    expected_schema,
    is_missing,
    meta_of,
)
from console.record.journal_indexes import NAMES

_SELECT = (
    f"SELECT {', '.join(COLUMNS)} FROM entry "  # noqa: S608  our own names
    "WHERE sequence > ? ORDER BY sequence LIMIT ?"
)
PIECE = 5000
"""Entries that are read at once, in some hundredths of a second."""
_MOST_FAULTS = 50
_META_KEYS = {"format", "scenario", "epoch", "genesis"}
_HEADER_DUE = {
    "application_id": APPLICATION_ID,
    "user_version": 0,
    "encoding": "UTF-8",
    "journal_mode": "delete",
}
"""What SQLite should say of a sound journal's header."""
_SURROUNDINGS = (
    sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_NOMEM,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_READONLY,
)
"""Errors that say nothing about what the file holds (read-only: a killed writer's rest must be undone)."""


class FaultKind(Enum):
    """What sort of thing is wrong."""

    HASH = "hash"
    PREVIOUS_HASH = "previous hash"
    GAP = "gap"
    CUT = "cut"
    SCENARIO = "scenario"
    SCHEMA = "schema"
    STRUCTURE = "structure"
    UNREADABLE = "unreadable"


@dataclass(frozen=True, kw_only=True, slots=True)
class RecordFault:
    """One thing that is wrong with a journal."""

    kind: FaultKind
    sequence: int | None
    """The entry it was found at; None where it is not about one entry."""
    found: str
    """What is wrong, in one sentence."""

    def __str__(self) -> str:
        return self.found if self.sequence is None else f"entry {self.sequence}: {self.found}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Verification:
    """What a walk through a whole journal found."""

    count: int
    """How many entries could be read."""
    head: Head
    """Where the run of good entries from the first one on ends: the journal's head if nothing is wrong."""
    faults: tuple[RecordFault, ...]
    """First what is wrong with entries, in their order, then with the file; at most 50."""

    @property
    def is_sound(self) -> bool:
        """Whether nothing is wrong."""
        return not self.faults


class _StoredText(bytes):
    """The bytes of a column that the file says is text; a blob arrives as plain bytes instead."""


class _Walk:
    """What is known so far on the way through the entries.

    Args:
        genesis: what the first entry should have for its previous hash; None where that is not known.
        noted: the entries for which a head was noted.
    """

    def __init__(self, genesis: str | None, noted: frozenset[int]) -> None:
        self.count = 0
        self.good = Head(count=0, hash=genesis or "")
        self.last_sequence = 0
        self.faults: list[RecordFault] = []
        self.noted_hashes: dict[int, str] = {}
        self._noted = noted
        self._previous = genesis

    def step(self, row: Sequence[object]) -> None:
        """Judge one row against the one before it."""
        self.count += 1
        sequence, stored_hash = _integer(row[0]), _text(row[-1])
        if sequence != self.last_sequence + 1:
            self._fault(
                FaultKind.GAP, self.last_sequence + 1, f"missing; the next one there is entry {sequence}"
            )
        if self._previous is not None and _text(row[-2]) != self._previous:
            due = "the hash of the entry before it" if self.last_sequence else "the one of scenario and epoch"
            self._fault(FaultKind.PREVIOUS_HASH, sequence, f"its previous hash is not {due}")
        if stored_hash != _hash_of(row):
            self._fault(FaultKind.HASH, sequence, "it is not what was written: content and hash do not fit")
        self.last_sequence, self._previous = sequence, stored_hash
        if sequence in self._noted:
            self.noted_hashes[sequence] = stored_hash
        if not self.faults:
            self.good = Head(count=sequence, hash=stored_hash)

    def break_off(self, error: Exception) -> None:
        """The rows end here because the file cannot be read."""
        self._fault(FaultKind.UNREADABLE, self.last_sequence + 1, f"cannot be read ({error})")

    def _fault(self, kind: FaultKind, sequence: int, found: str) -> None:
        self.faults.append(RecordFault(kind=kind, sequence=sequence, found=found))


def verify(
    path: Path,
    *,
    scenario: str | None = None,
    epoch: datetime | None = None,
    heads: Sequence[Head] = (),
    patience_s: float = PATIENCE_S,
) -> Verification:
    """Walk through a whole journal over its stored bytes.

    Args:
        path: the file.
        scenario: the slug it should be of; looked at together with ``epoch``.
        epoch: the epoch it should have.
        heads: heads noted elsewhere and earlier, which show that a tail was cut off or rewritten.
        patience_s: how long to wait for other programs.

    Raises:
        JournalError: there is no such file, or it may not be read, or others hold it. Damage is a fault.
    """
    if is_missing(path):
        raise JournalError(f"{path}: found no file of that name; give the journal's file with --journal")
    due = None if scenario is None or epoch is None else meta_of(scenario, epoch)
    with errors_told(path):
        try:
            with closing(connect(path, writing=False, patience_s=patience_s)) as connection:
                connection.text_factory = _StoredText
                return _verify(connection, heads, due)
        except READ_ERRORS as error:
            damage = _damage(error)
        return Verification(count=0, head=Head(count=0, hash=""), faults=(_unreadable("the file", damage),))


def _verify(
    connection: sqlite3.Connection, heads: Sequence[Head], due: dict[str, str] | None
) -> Verification:
    meta_faults, meta = _read_meta(connection, due)
    walk = _Walk(meta.get("genesis"), frozenset(head.count for head in heads))
    try:
        for row in _rows(connection):
            walk.step(row)
    except READ_ERRORS as error:
        walk.break_off(_damage(error))
    faults = (*walk.faults, *_cuts(walk, heads), *meta_faults, *_file_faults(connection))
    return Verification(count=walk.count, head=walk.good, faults=faults[:_MOST_FAULTS])


def _rows(connection: sqlite3.Connection) -> Iterator[Sequence[object]]:
    """Every row in the order of the sequence.

    Raises:
        sqlite3.Error: the rows cannot be read, or go back, which none do in a file that holds.
    """
    after, last, size = -(2**63), -(2**63), PIECE
    while True:
        read = 0
        try:
            for row in connection.execute(_SELECT, (after, size)):
                read, last = read + 1, _integer(row[0])
                yield row
        except READ_ERRORS:
            if size == 1:
                raise
            # Python looks one row ahead, so that the last good one went down with the bad: one by one, then.
            after, size = max(after, last), 1
            continue
        if read < size:
            return
        if last <= after:
            raise sqlite3.DatabaseError("the file's entries are not in their order")
        after = last


def _read_meta(
    connection: sqlite3.Connection, due: dict[str, str] | None
) -> tuple[list[RecordFault], dict[str, str]]:
    """What the meta table says, and what is wrong with that."""
    try:
        rows = connection.execute("SELECT key, value FROM meta").fetchall()
    except READ_ERRORS as error:
        return [_unreadable("the meta table", _damage(error))], {}
    meta = {_text(key): _text(value) for key, value in rows}
    own = genesis_hash(meta.get("scenario", ""), meta.get("epoch", ""))
    faults = []
    if meta.get("genesis") != own or meta.keys() != _META_KEYS or meta["format"] != str(FORMAT):
        found = "the meta table is not what was written: format, scenario, epoch and genesis do not fit"
        faults.append(RecordFault(kind=FaultKind.SCENARIO, sequence=None, found=found))
    elif due is not None and meta != due:
        found = f"it is the journal of scenario {meta['scenario']!r} with epoch {meta['epoch']}"
        faults.append(RecordFault(kind=FaultKind.SCENARIO, sequence=None, found=found))
    return faults, meta


def _cuts(walk: _Walk, heads: Sequence[Head]) -> Iterator[RecordFault]:
    """What the heads noted elsewhere show."""
    for head in heads:
        if head.count > walk.last_sequence:
            found = f"missing; entry {head.count} was noted as the last, so the journal's end was cut off"
            yield RecordFault(kind=FaultKind.CUT, sequence=walk.last_sequence + 1, found=found)
        elif head.count and walk.noted_hashes.get(head.count) != head.hash:
            found = "it is not the one that was noted: the journal was rewritten, or is another one"
            yield RecordFault(kind=FaultKind.CUT, sequence=head.count, found=found)


def _file_faults(connection: sqlite3.Connection) -> Iterator[RecordFault]:
    """What is wrong around the entries: the header, tables and triggers, the structure of the pages."""
    try:
        for name, due in _HEADER_DUE.items():
            (found,) = connection.execute(f"PRAGMA {name}").fetchone()
            if (found.decode("utf-8", "replace") if isinstance(found, bytes) else found) != due:
                yield RecordFault(
                    kind=FaultKind.SCHEMA, sequence=None, found=f"the file's {name} is not {due}"
                )
        yield from _schema_faults(connection)
        for (line,) in connection.execute("PRAGMA integrity_check"):
            said = clean_text(_text(line))
            if said != "ok":
                yield RecordFault(kind=FaultKind.STRUCTURE, sequence=None, found=f"the file's pages: {said}")
    except READ_ERRORS as error:
        yield _unreadable("the file", _damage(error))


def _schema_faults(connection: sqlite3.Connection) -> Iterator[RecordFault]:
    rows = connection.execute(SCHEMA_QUERY).fetchall()
    found = {tuple(None if value is None else _text(value) for value in row) for row in rows}
    indexes = {name for _, name, *_ in found} & set(NAMES)
    due = set(expected_schema(has_indexes=bool(indexes)))
    for kind, name, *_ in sorted(due - found, key=str):
        sentence = f"the {kind} {name} is missing or changed"
        yield RecordFault(kind=FaultKind.SCHEMA, sequence=None, found=sentence)
    for kind, name, *_ in sorted(found - due, key=str):
        sentence = f"there is a {kind} {clean_text(str(name))!r} that the journal did not make"
        yield RecordFault(kind=FaultKind.SCHEMA, sequence=None, found=sentence)


def _damage(error: Exception) -> Exception:
    """The error, if it says that the file is damaged; else it is raised again."""
    code = getattr(error, "sqlite_errorcode", None)
    if code is not None and code & 0xFF in _SURROUNDINGS:
        raise error
    return error


def _unreadable(what: str, error: Exception) -> RecordFault:
    return RecordFault(kind=FaultKind.UNREADABLE, sequence=None, found=f"{what} cannot be read ({error})")


def _hash_of(row: Sequence[object]) -> str | None:
    """The hash over the stored bytes of a row; None where a column does not hold text."""
    texts = [text for text in row[1 : len(FIELDS)] if isinstance(text, _StoredText)]
    return entry_hash((str(row[0]).encode(), *texts)) if len(texts) == len(FIELDS) - 1 else None


def _integer(value: object) -> int:
    return value if isinstance(value, int) else 0


def _text(value: object) -> str:
    """What a column holds, for comparing and showing; nothing but text compares equal to text."""
    if isinstance(value, _StoredText):
        return value.decode("utf-8", "backslashreplace")
    return f"<{value!r}>"
