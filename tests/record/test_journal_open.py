"""Opening: what is made, for whom, and what is refused with which words."""

from __future__ import annotations

import sqlite3
import stat
import threading
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from console.errors import JournalError
from console.record import database
from console.record.entry import Draft
from console.record.journal import Journal

EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)
Open = Callable[..., Journal]
Make = Callable[..., Draft]


def _mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_file_and_missing_folders_are_made_for_the_owner_alone(opened: Open, quick_folder: Path) -> None:
    path = quick_folder / "state" / "endurance" / "tern.db"
    opened(path)
    assert _mode(path) == 0o600
    assert _mode(path.parent) == 0o700
    assert _mode(path.parent.parent) == 0o700


def test_a_rollback_journal_is_for_the_owner_alone_too(
    journal: Journal, draft: Make, path: Path, raw: Any
) -> None:
    journal.append(draft())
    writer = raw()
    writer.execute("BEGIN IMMEDIATE")
    writer.execute("CREATE TABLE spill (x)")
    assert _mode(path.with_name("tern.db-journal")) == 0o600


def test_entries_are_there_when_the_journal_is_opened_again(opened: Open, draft: Make) -> None:
    with opened() as first:
        entry = first.append(draft())
    assert opened().entries() == (entry,)


def test_the_file_is_kept_in_the_mode_that_loses_nothing(opened: Open, monkeypatch: Any) -> None:
    connections = []
    real = database.connect
    monkeypatch.setattr(
        database, "connect", lambda *a, **k: connections.append(real(*a, **k)) or connections[-1]
    )
    opened()
    settings = [
        connections[0].execute(f"PRAGMA {name}").fetchone()[0] for name in ("journal_mode", "synchronous")
    ]
    assert settings == ["delete", 3]  # 3 is EXTRA
    assert connections[0].execute("PRAGMA busy_timeout").fetchone()[0] >= 5000
    assert connections[0].isolation_level is None


def test_a_file_in_write_ahead_mode_is_taken_back_to_rollback_mode(
    opened: Open, draft: Make, path: Path
) -> None:
    with opened() as journal:
        entry = journal.append(draft())
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA journal_mode=WAL").fetchone() == ("wal",)
    assert opened().entries() == (entry,)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)


def test_another_scenarios_journal_is_refused(opened: Open, path: Path) -> None:
    opened()
    with pytest.raises(JournalError) as caught:
        opened(scenario="skua")
    told = str(caught.value)
    assert str(path) in told
    assert "journal of scenario 'tern'" in told
    assert "not of scenario 'skua'" in told
    assert "--journal" in told


def test_a_journal_of_another_epoch_is_refused(opened: Open) -> None:
    opened()
    with pytest.raises(JournalError, match=r"epoch 2041-06-02T03:10:00\.000000Z, not of .*03:10:01\.000000Z"):
        opened(epoch=EPOCH + timedelta(seconds=1))


def test_a_journal_of_a_format_to_come_is_refused(opened: Open, tampered: Any) -> None:
    opened().close()
    tampered("UPDATE meta SET value = '2' WHERE key = 'format'")
    with pytest.raises(JournalError, match="journal of format 2; this program knows format 1"):
        opened()


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"at,channel,value\n" * 100, "no journal or a damaged one"),
        (b"\x00" * 5000, "no journal or a damaged one"),
    ],
)
def test_a_file_that_is_no_database_is_refused_and_left_as_it_is(
    opened: Open, path: Path, content: bytes, told: str
) -> None:
    path.write_bytes(content)
    with pytest.raises(JournalError, match=told):
        opened()
    assert path.read_bytes() == content


def test_another_programs_database_is_refused_and_left_as_it_is(opened: Open, path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE entry (sequence)")
    before = path.read_bytes()
    with pytest.raises(JournalError, match="another program's SQLite file"):
        opened()
    assert path.read_bytes() == before


def test_a_folder_is_no_journal(opened: Open, quick_folder: Path) -> None:
    with pytest.raises(JournalError, match=str(quick_folder)):
        opened(quick_folder)


def test_a_folder_that_is_a_file_is_told(opened: Open, quick_folder: Path) -> None:
    (quick_folder / "state").write_text("")
    with pytest.raises(JournalError, match="cannot be made"):
        opened(quick_folder / "state" / "tern.db")


@pytest.mark.parametrize("settings", [{"create": False}, {"read_only": True}])
def test_nothing_is_made_where_it_was_not_asked_for(
    opened: Open, path: Path, settings: dict[str, bool]
) -> None:
    with pytest.raises(JournalError, match="found no journal there"):
        opened(**settings)
    assert not path.exists()


def test_an_empty_file_becomes_a_journal_only_where_one_may_be_made(opened: Open, path: Path) -> None:
    path.touch()
    with pytest.raises(JournalError, match="found an empty file"):
        opened(create=False)
    assert opened().head().count == 0


def test_a_journal_opened_for_reading_shows_what_others_write_and_refuses_to_write(
    opened: Open, draft: Make
) -> None:
    writer, reader = opened(), opened(read_only=True)
    entry = writer.append(draft("a"))
    assert reader.entries() == (entry,)
    with pytest.raises(JournalError, match="for reading only"):
        reader.append(draft("b"))
    assert writer.head().count == 1


def test_a_path_with_the_signs_of_an_address_is_only_a_path(opened: Open, quick_folder: Path) -> None:
    path = quick_folder / "tern?mode=memory#1%20 µ.db"
    opened(path)
    assert path.stat().st_size > 0


def test_many_who_open_a_new_journal_at_once_make_one(opened: Open, draft: Make) -> None:
    gate, failures = threading.Barrier(8), []

    def work(name: str) -> None:
        gate.wait()
        try:
            opened().append(draft(name))
        except JournalError as error:
            failures.append(error)

    threads = [threading.Thread(target=work, args=(f"n{number}",)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert opened().head().count == 8


def test_opening_reads_no_entries(opened: Open, draft: Make, tampered: Any) -> None:
    with opened() as journal:
        journal.append(draft("a"))
    tampered("UPDATE entry SET body = 'no JSON at all'")
    journal = opened()
    assert journal.head().count == 1
    with pytest.raises(JournalError, match="entry 1 cannot be read"):
        journal.entries()
