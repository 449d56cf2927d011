"""Entries as they are stored: the very texts that are hashed, to show one and to hand on all. Reads only."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from console.errors import JournalError
from console.record.chain import FIELDS, Head, entry_hash
from console.record.entry import Entry
from console.record.row import Row, field_bytes

if TYPE_CHECKING:
    from console.record.journal import Journal

PIECE = 2000
"""Entries that are read at once; between two pieces the file is let go, so that nobody waits for it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Stored:
    """One entry with what it was hashed from."""

    entry: Entry
    fields: tuple[str, ...]
    """The twelve texts that are hashed, in their order."""
    fault: str
    """Why content, hash and the entry before do not fit; empty where they do."""


def stored(journal: Journal, sequence: int) -> Stored:
    """One entry.

    Raises:
        JournalError: there is none of that number, or the journal cannot be read.
    """
    rows = journal.rows("WHERE sequence BETWEEN ? AND ? ORDER BY sequence", sequence - 1, sequence)
    if not rows or rows[-1][0] != sequence:
        count = journal.head().count
        there = f"there are #1 to #{count}" if count else "the journal has no entries yet"
        raise JournalError(f"found no entry #{sequence}; {there}")
    before = rows[0][12] if len(rows) == 2 else journal.genesis if sequence == 1 else ""
    return _stored(journal, rows[-1], str(before))


def all_stored(journal: Journal, head: Head) -> Iterator[Stored]:
    """Every entry up to a head, oldest first, in pieces.

    Raises:
        JournalError: the journal cannot be read.
    """
    last, before = 0, journal.genesis
    while last < head.count:
        upto = min(last + PIECE, head.count)
        rows = journal.rows("WHERE sequence > ? AND sequence <= ? ORDER BY sequence", last, upto)
        for row in rows:
            yield _stored(journal, row, before)
            before = str(row[12])
        last = upto


def _stored(journal: Journal, row: Row, before: str) -> Stored:
    (entry,) = journal.entries_of((row,))
    fault = ""
    if entry_hash(field_bytes(row[: len(FIELDS)])) != row[12]:
        fault = "it is not what was written: content and hash do not fit"
    elif row[11] != before:
        fault = "the entry before it is missing or changed"
    return Stored(entry=entry, fields=tuple(str(value) for value in row[: len(FIELDS)]), fault=fault)
