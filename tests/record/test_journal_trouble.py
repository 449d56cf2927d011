"""Disks that are full, refused, locked, gone or broken: one clear sentence, and nothing half-written.

Which failures are made how: a limit on the size of files in a child fails writes of the database and of its
rollback journal at chosen bytes; a limit on pages makes SQLite say that the disk is full; a user without
rights meets a read-only folder; a limit on open files fails the opening. All of that works without rights on
any Linux. Single failing syncs, deletes and power cuts are in tests/campaigns/journal_faults.py, which puts
itself between SQLite and the disk and needs SQLite as a shared library.
"""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from console.errors import JournalError
from console.record import database
from console.record.entry import Draft
from console.record.journal import Journal
from console.record.verify import verify

Make = Callable[..., Draft]
Child = Callable[..., "subprocess.Popen[str]"]


def _output(process: subprocess.Popen[str]) -> Any:
    out, error = process.communicate(timeout=120)
    assert process.returncode == 0, error
    return json.loads(out)


LIMITED = """
figures = {"told": [], "acknowledged": [], "half": 0, "unusable": 0}
number = 0
_, most = resource.getrlimit(resource.RLIMIT_FSIZE)
journal = opened(sys.argv[1])
journal.append(note("first"))
for text in ("short", "long " * 2500):
    for part in range(45):
        number += 1
        limit = (Path(sys.argv[1]).stat().st_size + 2 * len(text) + 8192) * part // 40
        draft, before = note(f"n{number}", text), journal.head().count
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, most))
        try:
            journal.append(draft)
            figures["acknowledged"].append(draft.id)
            failed = False
        except JournalError as error:
            figures["told"].append(str(error))
            failed = True
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
        try:
            figures["half"] += failed and journal.head().count != before
            journal.append(draft)
        except JournalError:
            figures["unusable"] += 1
figures["appends"] = number
print(json.dumps(figures))
"""


def test_writes_that_fail_at_some_byte_leave_nothing_half_written(
    path: Path, child: Child, opened: Any
) -> None:
    figures = _output(child(LIMITED, path))
    assert len(figures["told"]) > 20
    assert len(figures["acknowledged"]) > 2
    assert len(figures["told"]) + len(figures["acknowledged"]) == figures["appends"]
    assert all("the disk refused to read or write" in told for told in figures["told"])
    assert (figures["half"], figures["unusable"]) == (0, 0)
    assert [entry.id for entry in opened().entries()] == [
        "first",
        *(f"n{number}" for number in range(1, figures["appends"] + 1)),
    ]
    assert verify(path).faults == ()


def test_a_full_disk_is_told_and_the_entry_can_be_sent_again(
    opened: Callable[..., Journal], draft: Make, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    durable = database._make_durable

    def with_few_pages(connection: sqlite3.Connection, at: Path) -> None:
        durable(connection, at)
        connection.execute("PRAGMA max_page_count=6")

    with opened() as journal:
        first = journal.append(draft("a"))
    monkeypatch.setattr(database, "_make_durable", with_few_pages)
    journal = opened()
    long = draft("b", body={"text": "x" * 20_000})
    told = "the disk is full; free some"
    for _ in range(3):
        with pytest.raises(JournalError, match=told):
            journal.append(long)
        assert journal.entries() == (first,)
    # The limit belongs to the connection, and the last reading made one: it goes with the next failure.
    monkeypatch.setattr(database, "_make_durable", durable)
    with pytest.raises(JournalError, match=told):
        journal.append(long)
    assert journal.append(long).sequence == 2
    assert verify(path).faults == ()


NO_RIGHTS = """
path = Path(sys.argv[1])
if os.geteuid() == 0:
    os.setgroups([])
    os.setresgid(65534, 65534, 65534)
    os.setresuid(65534, 65534, 65534)
told = []
for what in (lambda: opened(path).append(note("b")), lambda: opened(path.with_name("new.db")),
             lambda: opened(path.parent / "new" / "tern.db")):
    try:
        what()
        told.append("no error")
    except JournalError as error:
        told.append(str(error))
with opened(path, read_only=True) as journal:
    print(json.dumps({"told": told, "read": [entry.id for entry in journal.entries()]}))
"""


def test_a_folder_that_may_not_be_written_is_told_and_can_still_be_read(
    journal: Journal, draft: Make, path: Path, child: Child
) -> None:
    journal.append(draft("a"))
    journal.close()
    path.chmod(0o444)
    path.parent.chmod(0o555)
    found = _output(child(NO_RIGHTS, path))
    path.parent.chmod(0o755)
    assert "this user may not open or write the file or its folder" in found["told"][0]
    assert "cannot be made (Permission denied)" in found["told"][1]
    assert "cannot be made (Permission denied)" in found["told"][2]
    assert found["read"] == ["a"]


# What is to be tried is imported first: the user without rights may not be able to read the program either.
NO_ENTRANCE = (
    "from console.record.verify import verify\n"
    + NO_RIGHTS[: NO_RIGHTS.index("told = []")]
    + """
told = []
for what in (lambda: opened(path, read_only=True), lambda: opened(path, create=False), lambda: verify(path)):
    try:
        what()
        told.append("no error")
    except JournalError as error:
        told.append(str(error))
print(json.dumps(told))
"""
)


def test_a_folder_that_may_not_be_entered_is_told(
    journal: Journal, draft: Make, path: Path, child: Child
) -> None:
    journal.append(draft("a"))
    path.parent.chmod(0o600)
    found = _output(child(NO_ENTRANCE, path))
    path.parent.chmod(0o755)
    assert [told.removeprefix(f"{path}: ")[:42] for told in found] == [
        "this user may not open or write the file o"
    ] * 3


NO_FILES = """
journal = opened(sys.argv[1])
journal.append(note("a"))
opened_files = len(os.listdir("/proc/self/fd")) - 1
resource.setrlimit(resource.RLIMIT_NOFILE, (opened_files, resource.getrlimit(resource.RLIMIT_NOFILE)[1]))
try:
    journal.append(note("b"))
    told = "no error"
except JournalError as error:
    told = str(error)
resource.setrlimit(resource.RLIMIT_NOFILE, (256, resource.getrlimit(resource.RLIMIT_NOFILE)[1]))
print(json.dumps({"told": told, "then": journal.append(note("b")).sequence}))
"""


def test_a_process_without_files_left_is_told_and_can_go_on_later(path: Path, child: Child) -> None:
    found = _output(child(NO_FILES, path))
    assert found["told"].startswith(f"{path}: ")
    assert found["then"] == 2


def test_a_lock_that_is_not_let_go_is_told_and_the_entry_can_be_sent_again(
    opened: Callable[..., Journal], draft: Make, raw: Any
) -> None:
    journal = opened(patience_s=0.01)
    journal.append(draft("a"))
    other = raw()
    for lock in ("BEGIN IMMEDIATE", "BEGIN EXCLUSIVE"):
        other.execute(lock)
        with pytest.raises(JournalError, match=r"another program holds the journal .* close what holds it"):
            journal.append(draft("b"))
        other.execute("ROLLBACK")
    assert journal.append(draft("b")).sequence == 2


def test_a_reader_that_holds_on_makes_the_commit_fail_and_nothing_is_half_written(
    opened: Callable[..., Journal], draft: Make, raw: Any, path: Path
) -> None:
    journal = opened(patience_s=0.01)
    first = journal.append(draft("a"))
    reader = raw()
    reader.execute("BEGIN")
    reader.execute("SELECT * FROM entry").fetchone()
    with pytest.raises(JournalError, match="another program holds the journal"):
        journal.append(draft("b"))
    assert journal.entries() == (first,)
    reader.execute("ROLLBACK")
    assert journal.append(draft("b")).sequence == 2
    assert verify(path).faults == ()


def test_a_journal_that_was_moved_away_takes_no_entry_until_it_is_back(
    journal: Journal, draft: Make, path: Path
) -> None:
    journal.append(draft("a"))
    moved = path.rename(path.with_name("moved.db"))
    with pytest.raises(JournalError, match=r"found no file of that name \(any more\)"):
        journal.append(draft("b"))
    moved.rename(path)
    assert journal.append(draft("b")).sequence == 2


def test_another_scenarios_journal_put_in_place_takes_no_entry(
    opened: Callable[..., Journal], draft: Make, path: Path
) -> None:
    opened(path.with_name("skua.db"), scenario="skua").close()
    journal = opened()
    path.unlink()
    path.with_name("skua.db").rename(path)
    for _ in range(2):
        with pytest.raises(JournalError, match=r"found no file|scenario 'skua'"):
            journal.append(draft("a"))
    assert verify(path).count == 0


def test_a_broken_page_is_told_and_not_written_over(journal: Journal, draft: Make, path: Path) -> None:
    for number in range(30):
        journal.append(draft(f"n{number}", body={"text": "x" * 400}))
    journal.close()
    data = bytearray(path.read_bytes())
    data[4096:] = b"\xff" * (len(data) - 4096)
    path.write_bytes(data)
    with pytest.raises(JournalError, match="damaged"):
        Journal.open(
            path, scenario="tern", epoch=journal._epoch, clock=journal._clock, monotonic=journal._monotonic
        ).append(draft("more"))
    assert path.read_bytes() == bytes(data)


def test_an_error_while_an_entry_is_made_leaves_the_journal_usable(
    journal: Journal, draft: Make, clock: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop() -> float:
        raise KeyboardInterrupt

    monkeypatch.setattr(journal, "_monotonic", stop)
    with pytest.raises(KeyboardInterrupt):
        journal.append(draft("a"))
    monkeypatch.setattr(journal, "_monotonic", lambda: clock.seconds)
    assert journal.append(draft("b")).sequence == 1


def test_a_machine_that_names_no_boot_still_keeps_a_journal(
    opened: Callable[..., Journal], draft: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("console.record.journal_clock._BOOT_ID", Path(os.devnull) / "none")
    assert opened().append(draft()).boot_id == ""
