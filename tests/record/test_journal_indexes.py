"""Journals from before there were indexes are read, and get them when they are next written to."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from console.record.database import _META_CLOSED, APPLICATION_ID, SCHEMA, meta_of
from console.record.entry import Draft
from console.record.journal import Journal
from console.record.journal_indexes import NAMES, has_indexes
from console.record.verify import FaultKind, verify

Make = Callable[..., Draft]


@pytest.fixture
def older(path: Path, opened: Callable[..., Journal], draft: Make) -> Path:
    """A journal of three entries as it was made before there were indexes."""
    with opened(path.with_name("new.db")) as newer:
        for number in range(3):
            newer.append(draft(f"n{number}"))
        rows = newer.rows("ORDER BY sequence")
    meta = meta_of("tern", newer._epoch)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute(f"PRAGMA application_id={APPLICATION_ID}")
        for statement in SCHEMA:
            connection.execute(statement)
        connection.executemany("INSERT INTO meta VALUES (?, ?)", meta.items())
        connection.execute(_META_CLOSED)
        connection.executemany(f"INSERT INTO entry VALUES ({', '.join('?' * 13)})", rows)
    return path


def _indexes(path: Path) -> set[str]:
    with closing(sqlite3.connect(path)) as connection:
        found = connection.execute("SELECT name FROM sqlite_schema WHERE type = 'index' AND sql IS NOT NULL")
        return {name for (name,) in found}


def test_an_older_journal_is_sound_and_readable_and_stays_as_it_is_while_only_read(
    older: Path, opened: Callable[..., Journal]
) -> None:
    before = older.read_bytes()
    assert [entry.id for entry in opened(read_only=True).entries()] == ["n0", "n1", "n2"]
    assert verify(older).is_sound
    assert older.read_bytes() == before


def test_an_older_journal_gets_its_indexes_when_it_is_opened_for_writing(
    older: Path, opened: Callable[..., Journal], draft: Make
) -> None:
    head = opened(read_only=True).head()
    journal = opened()
    assert _indexes(older) == set(NAMES)
    assert journal.head() == head
    journal.append(draft("n3"))
    assert verify(older, heads=(head,)).is_sound


def test_an_older_journal_that_cannot_get_them_now_is_opened_all_the_same(
    older: Path, opened: Callable[..., Journal], raw: Any
) -> None:
    holder = raw()
    holder.execute("BEGIN IMMEDIATE")
    journal = opened(patience_s=0.0)
    assert len(journal.entries()) == 3
    assert _indexes(older) == set()
    holder.execute("ROLLBACK")


def test_many_that_open_an_older_journal_at_once_make_its_indexes_once(
    older: Path, opened: Callable[..., Journal]
) -> None:
    failed: list[Exception] = []

    def open_it() -> None:
        try:
            opened()
        except Exception as error:  # noqa: BLE001  told below
            failed.append(error)

    threads = [threading.Thread(target=open_it) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []
    assert verify(older).is_sound


@pytest.mark.parametrize("name", NAMES)
def test_one_index_missing_is_told_and_the_journal_is_not_called_sound(
    journal: Journal, draft: Make, raw: Any, path: Path, name: str
) -> None:
    journal.append(draft("a"))
    raw().execute(f"DROP INDEX {name}")
    found = verify(path)
    assert [fault.kind for fault in found.faults] == [FaultKind.SCHEMA]
    assert name in str(found.faults[0])
    assert not has_indexes(raw())


def test_a_letter_that_changes_its_case_anywhere_in_the_file_is_found(
    opened: Callable[..., Journal], draft: Make, path: Path
) -> None:
    with opened() as journal:
        for number in range(3):
            journal.append(draft(f"n{number}", operator="mira"))
    sound = path.read_bytes()
    places = [at for at in range(len(sound)) if sound.startswith(b"mira", at)]
    assert len(places) == 9, "in each entry, and in two indexes of each"
    for at in places:
        path.write_bytes(sound[:at] + b"M" + sound[at + 1 :])
        assert verify(path).faults, at
