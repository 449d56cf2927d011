"""Writing entries and reading them back: content, order, resends, corrections."""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

import console.record.journal as journal_module
from console.errors import JournalError
from console.record.chain import FIELDS, Head, entry_hash, genesis_hash
from console.record.entry import Draft, EntryKind
from console.record.journal import Journal

EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)
Make = Callable[..., Draft]
SAME = ", ".join(FIELDS[2:-1])


def test_an_entry_reads_back_as_append_returned_it(journal: Journal, draft: Make, clock: Any) -> None:
    clock.now, clock.seconds = EPOCH + timedelta(hours=31, microseconds=7), 77.25
    written = journal.append(
        draft("note-1", body={"text": "tank µ ✓", "list": [1, 2.5, None, True], "deep": {"b": 1, "a": -0.0}})
    )
    assert journal.entries() == (written,)
    assert (written.sequence, written.id, written.kind) == (1, "note-1", EntryKind.NOTE)
    assert (written.operator, written.position, written.host) == ("Operator 1", "lead", "console-1")
    assert written.body == {"text": "tank µ ✓", "list": [1, 2.5, None, True], "deep": {"a": 0.0, "b": 1}}
    assert written.written_at == clock.now
    assert (written.elapsed_s, written.monotonic_s) == (30 * 3600.0, 77.25)


def test_the_boot_is_noted_where_the_system_names_one(journal: Journal, draft: Make) -> None:
    boot = Path("/proc/sys/kernel/random/boot_id")
    assert journal.append(draft()).boot_id == (boot.read_text().strip() if boot.exists() else "")


def test_a_time_in_another_zone_is_kept_as_the_same_moment(journal: Journal, draft: Make) -> None:
    east = datetime(2041, 6, 2, 5, 40, tzinfo=timezone(timedelta(hours=2)))
    entry = journal.append(draft(happened_at=east))
    assert entry.happened_at == datetime(2041, 6, 2, 3, 40, tzinfo=UTC)
    assert entry.happened_at.utcoffset() == timedelta(0)
    assert entry.elapsed_s == 1800.0


def test_a_time_without_a_zone_is_refused(journal: Journal, draft: Make) -> None:
    with pytest.raises(JournalError, match="happened_at: found 2041-06-02 03:10:00 without a zone"):
        journal.append(draft(happened_at=EPOCH.replace(tzinfo=None)))


def test_order_is_the_order_of_writing_whatever_the_clocks_say(
    journal: Journal, draft: Make, clock: Any
) -> None:
    journal.append(draft("a"))
    clock.now -= timedelta(hours=5)
    journal.append(draft("b", happened_at=EPOCH))
    assert [(entry.sequence, entry.id) for entry in journal.entries()] == [(1, "a"), (2, "b")]


def test_a_late_entry_carries_both_times(journal: Journal, draft: Make, clock: Any) -> None:
    clock.now = EPOCH + timedelta(hours=2)
    late = journal.append(draft(happened_at=EPOCH + timedelta(hours=1)))
    assert late.is_late
    assert late.written_at - late.happened_at == timedelta(hours=1)


def test_each_entry_is_chained_to_the_one_before(journal: Journal, draft: Make) -> None:
    first, second, third = (journal.append(draft(name)) for name in ("a", "b", "c"))
    assert first.previous_hash == genesis_hash("tern", "2041-06-02T03:10:00.000000Z")
    assert (second.previous_hash, third.previous_hash) == (first.hash, second.hash)
    assert journal.head() == Head(count=3, hash=third.hash)


def test_the_hash_is_over_what_the_columns_hold(journal: Journal, draft: Make, raw: Any) -> None:
    entry = journal.append(draft(body={"text": "µ\n\t✓"}))
    connection = raw()
    connection.text_factory = bytes
    row = connection.execute(f"SELECT {', '.join(FIELDS)} FROM entry").fetchone()
    assert entry_hash([str(row[0]).encode(), *row[1:]]) == entry.hash


def test_an_empty_journal_has_a_head_that_knows_its_scenario(journal: Journal) -> None:
    assert journal.head() == Head(count=0, hash=genesis_hash("tern", "2041-06-02T03:10:00.000000Z"))
    assert journal.entries() == ()


def test_a_resend_changes_nothing_and_returns_the_first_entry(
    journal: Journal, draft: Make, clock: Any
) -> None:
    first = journal.append(draft("a"))
    journal.append(draft("b"))
    clock.now += timedelta(minutes=1)
    assert journal.append(draft("a")) == first
    assert journal.head().count == 2


def test_a_resend_of_text_that_was_made_harmless_is_the_same_entry(journal: Journal, draft: Make) -> None:
    dirty = draft("a", operator="Op\x1b[31m", body={"text": "bell \x07"})
    assert journal.append(dirty) == journal.append(dirty)
    assert journal.head().count == 1


def test_a_resend_makes_the_folder_safe_before_it_says_that_the_entry_is(
    journal: Journal, draft: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal.append(draft("a"))
    synced = []
    monkeypatch.setattr(journal_module.os, "fsync", lambda file: synced.append(os.fstat(file).st_mode))
    journal.append(draft("a"))
    assert [stat.S_ISDIR(mode) for mode in synced] == [True]


@pytest.mark.parametrize(
    "change",
    [
        {"body": {"text": "another"}},
        {"operator": "Operator 2"},
        {"position": "relief"},
        {"kind": EntryKind.ALERT},
        {"happened_at": EPOCH},
    ],
    ids=lambda change: next(iter(change)),
)
def test_the_same_id_with_another_content_is_refused(
    journal: Journal, draft: Make, change: dict[str, Any]
) -> None:
    first = journal.append(draft("a"))
    with pytest.raises(JournalError, match="'a', which is entry 1 with another content"):
        journal.append(replace(draft("a"), **change))
    assert journal.entries() == (first,)


def test_limit_gives_the_newest_oldest_first(journal: Journal, draft: Make) -> None:
    entries = [journal.append(draft(f"n{number}")) for number in range(6)]
    assert list(journal.entries(limit=2)) == entries[4:]
    assert list(journal.entries(after=2)) == entries[2:]
    assert list(journal.entries(after=1, limit=3)) == entries[3:]
    assert list(journal.entries(after=5, limit=3)) == entries[5:]
    assert journal.entries(limit=0) == ()
    assert journal.entries(after=2**80, limit=2**80) == ()


def test_a_correction_names_an_entry_that_exists(journal: Journal, draft: Make) -> None:
    journal.append(draft("a"))
    fix = journal.append(draft("b", kind=EntryKind.CORRECTION, body={"corrects": 1, "text": "not valve 3"}))
    assert fix.body["corrects"] == 1


@pytest.mark.parametrize("sequence", [0, 2, -1, 2**70, True, "1", None, 1.0])
def test_a_correction_of_what_does_not_exist_is_refused(
    journal: Journal, draft: Make, sequence: object
) -> None:
    journal.append(draft("a"))
    body = {"corrects": sequence, "text": "not valve 3"}
    with pytest.raises(JournalError, match="found"):
        journal.append(draft("b", kind=EntryKind.CORRECTION, body=body))
    assert journal.head().count == 1


def test_the_change_mark_moves_with_own_and_others_entries_and_stands_otherwise(
    opened: Callable[..., Journal], draft: Make
) -> None:
    here, there = opened(), opened()
    marks = [here.change_mark(), here.change_mark()]
    there.append(draft("a"))
    marks.append(here.change_mark())
    here.append(draft("b"))
    marks.append(here.change_mark())
    here.entries()
    marks.append(here.change_mark())
    assert marks[0] == marks[1] < marks[2] < marks[3] == marks[4]


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entry SET operator = 'x'",
        "UPDATE entry SET body = body WHERE sequence = 1",
        "DELETE FROM entry",
        "INSERT OR REPLACE INTO entry SELECT * FROM entry WHERE sequence = 1",
        f"INSERT INTO entry SELECT 3, 'c', {SAME}, previous_hash, hash FROM entry WHERE sequence = 1",
        f"INSERT OR REPLACE INTO entry SELECT 3, id, {SAME}, hash, hash FROM entry WHERE sequence = 2",
        f"INSERT INTO entry SELECT 4, 'd', {SAME}, hash, hash FROM entry WHERE sequence = 2",
        "UPDATE meta SET value = '2'",
        "DELETE FROM meta",
        "INSERT OR REPLACE INTO meta VALUES ('format', '2')",
    ],
)
def test_the_file_itself_refuses_every_change(
    journal: Journal, draft: Make, raw: Any, statement: str
) -> None:
    before = (journal.append(draft("a")), journal.append(draft("b")))
    connection = raw()
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        connection.execute(statement)
    assert journal.entries() == before


def test_a_closed_journal_says_so_and_closing_twice_does_no_harm(journal: Journal, draft: Make) -> None:
    journal.close()
    journal.close()
    with pytest.raises(JournalError, match="was closed"):
        journal.append(draft())
