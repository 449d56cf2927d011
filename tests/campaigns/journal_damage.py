"""Journals damaged on purpose: single bits flipped anywhere in the file, and tails cut off or rewritten.

A flip counts as missed if it hit a byte that stores something and ``verify`` found nothing, or if anything
that a reader gets out of the tables changed and ``verify`` found nothing. Free space and the few bytes that
SQLite passes over (see ``journal_pages``) are counted apart.
"""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from journal_pages import content, used_bytes
from journal_scene import fill, note, open_journal

from console.record import verify as verifying
from console.record.chain import Head
from console.record.verify import FaultKind, RecordFault, verify


@dataclass
class FlipFigures:
    """What came out of the flips."""

    flips: int = 0
    used: int = 0
    """Flips of a byte that stores something."""
    found: int = 0
    found_by_sqlite: int = 0
    """Of the flips found, those that SQLite's own integrity check finds too."""
    missed: int = 0
    idle: int = 0
    """Flips in free space or in bytes that SQLite passes over, with which nothing changed."""
    entries_hit: int = 0
    """Flips after which an entry reads as another one, or cannot be read."""
    first_named: int = 0
    """Of those, the ones whose first fault names the first such entry."""
    rewritten: int = 0
    """Files that ``verify`` itself changed: it must only read."""


@dataclass
class CutFigures:
    """What came out of the cuts."""

    cuts: int = 0
    found_with_head: int = 0
    found_without_head: int = 0
    """Shortened or rewritten with a chain that fits, no walk can see it: this must be 0 to prove the need."""
    truncations: int = 0
    truncations_found: int = 0
    """Files shortened to a length of chance, with the head noted."""


def flip_bits(folder: Path, *, flips: int, seed: int, entries: int = 40) -> FlipFigures:
    """Flip one bit of a sound journal at a time, anywhere in the file, and verify.

    Every other time the entries are read in small pieces, as those of a long journal are.
    """
    path, damaged = folder / "sound.db", folder / "flipped.db"
    fill(path, entries, seed)
    sound, used, before = path.read_bytes(), used_bytes(path), content(path)
    rows, whole = _rows_until_unreadable(path), verifying.PIECE
    chance, figures = random.Random(seed), FlipFigures()
    for number in range(flips):
        at, bit = chance.randrange(len(sound)), chance.randrange(8)
        flipped = bytearray(sound)
        flipped[at] ^= 1 << bit
        damaged.write_bytes(flipped)
        verifying.PIECE = 7 if number % 2 else whole
        faults = verify(damaged).faults
        verifying.PIECE = whole
        is_found = bool(faults)
        _look_at_first(rows, damaged, faults, figures)
        figures.flips += 1
        figures.used += used[at]
        figures.found += is_found
        figures.rewritten += damaged.read_bytes() != bytes(flipped)
        if is_found:
            figures.found_by_sqlite += not _is_ok_for_sqlite(damaged)
        elif used[at] or _content_or_none(damaged) != before:
            figures.missed += 1
        else:
            figures.idle += 1
    return figures


def _look_at_first(
    rows: list[tuple[object, ...]], damaged: Path, faults: Sequence[RecordFault], figures: FlipFigures
) -> None:
    """Whether the first entry that was hit is the first that is named."""
    found = _rows_until_unreadable(damaged)
    same = next(
        (at for at, (is_now, was) in enumerate(zip(found, rows, strict=False)) if is_now != was), len(found)
    )
    if same == len(rows) and len(found) == len(rows):
        return
    figures.entries_hit += 1
    named = [fault.sequence for fault in faults if fault.sequence is not None]
    # With the table itself unreadable there is no entry to name, and the file is.
    figures.first_named += named[:1] == [same + 1] or (not named and not found and bool(faults))


def _rows_until_unreadable(path: Path) -> list[tuple[object, ...]]:
    """The rows as any reader gets them, up to where the file cannot be read."""
    rows: list[tuple[object, ...]] = []
    try:
        with closing(sqlite3.connect(path)) as connection:
            connection.text_factory = bytes
            # One by one: Python looks a row ahead, and would lose the last good one with the first bad.
            after = -(2**63)
            one = "SELECT * FROM entry WHERE sequence > ? ORDER BY sequence LIMIT 1"
            while found := connection.execute(one, (after,)).fetchall():
                rows += found
                if found[0][0] <= after:
                    break  # damaged: it goes back
                after = found[0][0]
    except (sqlite3.Error, UnicodeDecodeError):
        pass
    return rows


def _content_or_none(path: Path) -> list[list[tuple[object, ...]]] | None:
    try:
        return content(path)
    except (sqlite3.Error, UnicodeDecodeError):
        return None


def _is_ok_for_sqlite(path: Path) -> bool:
    try:
        with closing(sqlite3.connect(path)) as connection:
            return connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    except (sqlite3.Error, UnicodeDecodeError):
        return False


def cut_tails(folder: Path, *, cuts: int, seed: int, entries: int = 40) -> CutFigures:
    """Take entries off the end as one would who knows the format; verify with and without a noted head."""
    path, cut = folder / "whole.db", folder / "cut.db"
    fill(path, entries, seed)
    whole = path.read_bytes()
    with open_journal(path) as journal:
        hashes = [entry.hash for entry in journal.entries()]
    chance, figures = random.Random(seed), CutFigures()
    for number in range(cuts):
        noted = chance.randrange(1, entries + 1)
        head = Head(count=noted, hash=hashes[noted - 1])
        cut.write_bytes(whole)
        _delete_from(cut, chance.randrange(1, noted + 1))
        if number % 2:  # every other time the gap is filled again, to the old length and beyond
            _append_forged(cut, noted + chance.randrange(0, 3))
        figures.cuts += 1
        figures.found_without_head += bool(verify(cut).faults)
        figures.found_with_head += _shows_cut(cut, (head,))
        cut.write_bytes(whole[: chance.randrange(len(whole))])
        figures.truncations += 1
        figures.truncations_found += bool(verify(cut, heads=(Head(count=entries, hash=hashes[-1]),)).faults)
    return figures


def _shows_cut(path: Path, heads: Sequence[Head]) -> bool:
    return any(fault.kind is FaultKind.CUT for fault in verify(path, heads=heads).faults)


def _delete_from(path: Path, sequence: int) -> None:
    """Delete entries behind the triggers' back and put the triggers up again."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA synchronous=OFF")
        connection.execute("BEGIN")
        (name, sql) = connection.execute(
            "SELECT name, sql FROM sqlite_schema WHERE name = 'entry_is_never_deleted'"
        ).fetchone()
        order = connection.execute("SELECT rowid, * FROM sqlite_schema ORDER BY rowid").fetchall()
        connection.execute(f"DROP TRIGGER {name}")
        connection.execute("DELETE FROM entry WHERE sequence >= ?", (sequence,))
        connection.execute(sql)
        _restore_order(connection, order)
        connection.execute("COMMIT")


def _restore_order(connection: sqlite3.Connection, order: list[tuple[object, ...]]) -> None:
    """Give the rows of the schema the numbers that they had, so that nothing tells of the tampering."""
    connection.execute("PRAGMA writable_schema=ON")
    for rowid, kind, name, *_ in order:
        connection.execute(
            "UPDATE sqlite_schema SET rowid = ? WHERE type = ? AND name = ?", (rowid, kind, name)
        )
    connection.execute("PRAGMA writable_schema=OFF")


def _append_forged(path: Path, until: int) -> None:
    with open_journal(path) as journal:
        while journal.head().count < until:
            journal.append(note(f"forged-{journal.head().count}", "all is well"))
