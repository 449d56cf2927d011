"""What verify finds: every change of content, of order, of what stands around the entries, and cut tails."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from console.errors import JournalError
from console.record.chain import COLUMNS, Head, entry_hash
from console.record.entry import Draft, Entry
from console.record.journal import Journal
from console.record.row import field_bytes
from console.record.verify import FaultKind, verify

EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)
Make = Callable[..., Draft]
Tamper = Callable[..., None]


@pytest.fixture
def entries(journal: Journal, draft: Make) -> tuple[Entry, ...]:
    """Five entries, one of them longer than a page."""
    for number in range(1, 6):
        text = f"note {number} " * (900 if number == 4 else 1)
        journal.append(draft(f"n{number}", body={"text": text}))
    return journal.entries()


def _kinds(path: Path, **settings: Any) -> list[tuple[FaultKind, int | None]]:
    return [(fault.kind, fault.sequence) for fault in verify(path, **settings).faults]


def test_a_sound_journal_has_no_faults_and_shows_its_head(path: Path, entries: tuple[Entry, ...]) -> None:
    before = path.read_bytes()
    heads = [Head(count=entry.sequence, hash=entry.hash) for entry in entries]
    found = verify(path, scenario="tern", epoch=EPOCH, heads=heads)
    assert found.is_sound
    assert (found.count, found.head) == (5, heads[-1])
    assert path.read_bytes() == before


def test_an_empty_journal_is_sound(journal: Journal, path: Path) -> None:
    found = verify(path, heads=[journal.head()])
    assert (found.count, found.head, found.faults) == (0, journal.head(), ())


@pytest.mark.parametrize("column", COLUMNS[1:])
def test_a_change_in_any_column_is_found_at_its_entry(
    path: Path, entries: tuple[Entry, ...], tampered: Tamper, column: str
) -> None:
    tampered(f"UPDATE entry SET {column} = 'x' || substr({column}, 2) WHERE sequence = 3")
    found = verify(path)
    assert found.faults[0].sequence == 3
    assert found.faults[0].kind in {FaultKind.HASH, FaultKind.PREVIOUS_HASH}
    assert (FaultKind.HASH, 3) in _kinds(path)
    assert found.head == Head(count=2, hash=entries[1].hash)
    assert found.count == 5


@pytest.mark.parametrize(
    ("statements", "first"),
    [
        (["DELETE FROM entry WHERE sequence = 2"], (FaultKind.GAP, 2)),
        (["DELETE FROM entry WHERE sequence = 1"], (FaultKind.GAP, 1)),
        (["UPDATE entry SET sequence = 9 WHERE sequence = 5"], (FaultKind.GAP, 5)),
        (["UPDATE entry SET sequence = 0 WHERE sequence = 1"], (FaultKind.GAP, 1)),
        (
            [
                "UPDATE entry SET sequence = 9 WHERE sequence = 2",
                "UPDATE entry SET sequence = 2 WHERE sequence = 3",
                "UPDATE entry SET sequence = 3 WHERE sequence = 9",
            ],
            (FaultKind.PREVIOUS_HASH, 2),
        ),
    ],
)
@pytest.mark.usefixtures("entries")
def test_missing_and_moved_entries_are_found(
    path: Path, tampered: Tamper, statements: list[str], first: tuple[FaultKind, int]
) -> None:
    tampered(*statements)
    assert _kinds(path)[0] == first


def _forge(path: Path, sequence: int) -> str:
    """Statement that changes an entry and gives it the hash that fits."""
    with closing(sqlite3.connect(path)) as connection:
        row = list(connection.execute("SELECT * FROM entry WHERE sequence = ?", (sequence,)).fetchone())
    row[10] = '{"text":"all is well"}'
    return (
        f"UPDATE entry SET body = '{row[10]}', hash = '{entry_hash(field_bytes(row[:-1]))}' "
        f"WHERE sequence = {sequence}"
    )


@pytest.mark.usefixtures("entries")
def test_an_entry_forged_with_a_fitting_hash_breaks_the_link_of_the_next(
    path: Path, tampered: Tamper
) -> None:
    tampered(_forge(path, 3))
    assert _kinds(path)[0] == (FaultKind.PREVIOUS_HASH, 4)


def test_a_forged_last_entry_is_found_by_a_head_that_was_noted(
    path: Path, entries: tuple[Entry, ...], tampered: Tamper
) -> None:
    tampered(_forge(path, 5))
    assert (FaultKind.CUT, 5) in _kinds(path, heads=[Head(count=5, hash=entries[4].hash)])


def test_a_cut_tail_is_found_by_a_head_that_was_noted_and_by_nothing_else(
    path: Path, entries: tuple[Entry, ...], tampered: Tamper
) -> None:
    tampered("DELETE FROM entry WHERE sequence > 3")
    of_entries = [fault for fault in verify(path).faults if fault.sequence is not None]
    assert of_entries == []
    found = verify(path, heads=[Head(count=2, hash=entries[1].hash), Head(count=5, hash=entries[4].hash)])
    assert (found.faults[0].kind, found.faults[0].sequence) == (FaultKind.CUT, 4)
    assert "entry 4: missing; entry 5 was noted as the last" in str(found.faults[0])


def test_a_head_noted_before_the_journal_grew_still_holds(path: Path, entries: tuple[Entry, ...]) -> None:
    assert verify(path, heads=[Head(count=2, hash=entries[1].hash)]).is_sound
    assert _kinds(path, heads=[Head(count=2, hash=entries[2].hash)]) == [(FaultKind.CUT, 2)]


@pytest.mark.usefixtures("entries")
def test_a_trigger_that_is_gone_is_named(path: Path, raw: Any) -> None:
    raw().execute("DROP TRIGGER entry_is_never_deleted")
    assert [str(fault) for fault in verify(path).faults] == [
        "the trigger entry_is_never_deleted is missing or changed"
    ]


@pytest.mark.usefixtures("entries")
def test_a_table_that_the_journal_did_not_make_is_named(path: Path, raw: Any) -> None:
    raw().execute("CREATE TABLE more (x)")
    assert [str(fault) for fault in verify(path).faults] == [
        "there is a table 'more' that the journal did not make"
    ]


@pytest.mark.usefixtures("entries")
def test_the_journal_of_another_scenario_or_epoch_is_a_fault(path: Path) -> None:
    assert _kinds(path, scenario="skua", epoch=EPOCH) == [(FaultKind.SCENARIO, None)]
    assert _kinds(path, scenario="tern", epoch=EPOCH + timedelta(days=1)) == [(FaultKind.SCENARIO, None)]


@pytest.mark.parametrize("key", ["format", "scenario", "epoch", "genesis"])
@pytest.mark.usefixtures("entries")
def test_a_change_of_what_the_journal_is_of_is_found(path: Path, tampered: Tamper, key: str) -> None:
    tampered(f"UPDATE meta SET value = value || 'x' WHERE key = '{key}'")
    assert (FaultKind.SCENARIO, None) in _kinds(path)


@pytest.mark.usefixtures("entries")
def test_every_page_of_the_file_in_turn_turned_to_rubbish_is_a_fault(path: Path) -> None:
    sound = path.read_bytes()
    pages = range(0, len(sound), 4096)
    assert len(pages) > 4
    for rubbish in (b"\x00" * 4096, b"\xff" * 4096, bytes(range(256)) * 16):
        for start in pages:
            path.write_bytes(sound[:start] + rubbish + sound[start + 4096 :])
            assert not verify(path).is_sound, (start, rubbish[:4])


@pytest.mark.usefixtures("entries")
def test_a_damaged_table_name_that_is_no_text_any_more_is_a_fault(path: Path) -> None:
    sound = path.read_bytes()
    for at in range(sound.index(b"CREATE TABLE meta"), sound.index(b"CREATE TABLE meta") + 40):
        path.write_bytes(sound[:at] + b"\xed" + sound[at + 1 :])
        assert not verify(path).is_sound, at
        with pytest.raises(JournalError, match=r"verify|damaged"):
            Journal.open(path, scenario="tern", epoch=EPOCH, clock=lambda: EPOCH, monotonic=lambda: 0.0)


def test_an_unreadable_page_is_named_by_the_entry_that_stands_on_it(
    path: Path, journal: Journal, draft: Make
) -> None:
    written = [journal.append(draft(f"n{number}", body={"text": "x" * 500})) for number in range(1, 60)]
    journal.close()
    data = bytearray(path.read_bytes())
    start = data.index(written[29].hash.encode()) // 4096 * 4096
    data[start : start + 4096] = b"\xff" * 4096
    path.write_bytes(data)
    first = verify(path).faults[0]
    assert first.kind is FaultKind.UNREADABLE
    assert first.sequence is not None
    assert 1 < first.sequence <= 30


@pytest.mark.parametrize("content", [b"", b"nothing of the kind\n" * 300, b"SQLite format 3\x00"])
def test_a_file_that_is_no_journal_is_a_fault(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    found = verify(path)
    assert not found.is_sound
    assert found.count == 0


def test_no_file_is_an_error_and_not_a_fault(path: Path) -> None:
    with pytest.raises(JournalError, match="found no file of that name"):
        verify(path)


@pytest.mark.usefixtures("entries")
def test_a_file_that_others_hold_is_an_error_and_not_a_fault(path: Path, raw: Any) -> None:
    raw().execute("BEGIN EXCLUSIVE")
    with pytest.raises(JournalError, match="another program holds the journal"):
        verify(path, patience_s=0.01)


def test_what_a_killed_writer_left_is_undone_before_it_is_judged(
    path: Path, entries: tuple[Entry, ...], child: Callable[..., Any]
) -> None:
    killed = child(
        """
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
connection.execute("PRAGMA cache_size=1")
connection.execute("BEGIN IMMEDIATE")
connection.execute("DROP TRIGGER entry_is_never_changed")
connection.execute("UPDATE entry SET body = hex(zeroblob(20000))")
os._exit(9)
""",
        path,
    )
    assert killed.wait(60) == 9
    assert path.with_name("tern.db-journal").stat().st_size > 0
    found = verify(path)
    assert (found.count, found.faults) == (5, ())
    assert found.head == Head(count=5, hash=entries[4].hash)


def test_no_more_than_fifty_faults_are_told(
    path: Path, journal: Journal, draft: Make, tampered: Tamper
) -> None:
    for number in range(60):
        journal.append(draft(f"n{number}"))
    tampered("UPDATE entry SET operator = 'x'")
    assert len(verify(path).faults) == 50
