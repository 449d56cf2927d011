"""What is held of a journal from tick to tick, and that any number of consoles see each other's entries."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from console.record.entry import Draft, EntryKind
from console.record.journal import Journal
from console.record.known_entries import KnownEntries

Make = Callable[..., Draft]
STEP = {"text": "radio off", "loads": {"s-radio": "off"}}


def test_only_steps_corrections_and_the_newest_are_read(
    journal: Journal, draft: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(1, 101):
        kind, body = (EntryKind.STEP, STEP) if number % 25 == 0 else (EntryKind.NOTE, {"text": "quiet"})
        journal.append(draft(f"n{number}", kind=kind, body=body))
    read: list[int] = []
    entries_of = journal.entries_of

    def counting(rows: Any) -> Any:
        entries = entries_of(rows)
        read.append(len(entries))
        return entries

    monkeypatch.setattr(journal, "entries_of", counting)
    known = KnownEntries(journal)
    assert [entry.sequence for entry in known.newest(10)] == list(range(91, 101))
    assert [change.sequence for change in known.changes()] == [25, 50, 75, 100]
    assert sum(read) == 14
    read.clear()
    known.newest(10), known.changes()
    assert read == [], "nothing has come, so nothing is read"


def test_a_note_leaves_the_steps_the_very_same(journal: Journal, draft: Make) -> None:
    known = KnownEntries(journal)
    journal.append(draft("a", kind=EntryKind.STEP, body=STEP))
    before = known.changes()
    journal.append(draft("b"))
    assert known.changes() is before
    journal.append(draft("c", kind=EntryKind.STEP, body=STEP))
    assert len(known.changes()) == 2


def test_looking_back_leaves_out_what_was_written_later(journal: Journal, draft: Make, clock: Any) -> None:
    for number in range(4):
        kind, body = (EntryKind.STEP, STEP) if number % 2 else (EntryKind.NOTE, {"text": "quiet"})
        journal.append(draft(f"n{number}", kind=kind, body=body))
        clock.now += timedelta(minutes=1)
    moment = [clock.now - timedelta(minutes=3)]
    known = KnownEntries(journal, lambda: moment[0])
    assert [entry.sequence for entry in known.newest(10)] == [1, 2]
    assert [entry.sequence for entry in known.newest()] == [1, 2]
    assert len(known.changes()) == 1
    moment[0] = clock.now
    assert [entry.sequence for entry in known.newest(3)] == [2, 3, 4]
    assert len(known.changes()) == 2


def test_when_the_last_thing_happened_is_known_without_reading_all(journal: Journal, draft: Make) -> None:
    known = KnownEntries(journal)
    assert known.latest() is None
    late = draft("late").happened_at + timedelta(hours=5)
    journal.append(draft("late", happened_at=late))
    journal.append(draft("early"))
    assert known.latest() == late


def test_another_file_under_the_same_name_is_read_anew(
    journal: Journal, opened: Callable[..., Journal], draft: Make, path: Path
) -> None:
    journal.append(draft("a", kind=EntryKind.STEP, body=STEP))
    journal.append(draft("b", kind=EntryKind.STEP, body=STEP))
    known = KnownEntries(journal)
    assert len(known.changes()) == 2
    other = opened(path.with_name("other.db"))
    other.append(draft("c", kind=EntryKind.STEP, body={"text": "x", "loads": {"fan": "off"}}))
    other.close()
    path.unlink()
    path.with_name("other.db").rename(path)
    assert [entry.id for entry in known.newest(10)] == ["c"]
    assert [dict(change.loads).keys() for change in known.changes()] == [{"fan"}]


SERVE = """
with opened(sys.argv[1]) as journal:
    from console.record.known_entries import KnownEntries
    known = KnownEntries(journal)
    for line in sys.stdin:
        words = line.split()
        if words[0] == "write":
            journal.append(note(words[1]))
        print(json.dumps([entry.id for entry in known.newest(200)]), flush=True)
"""


def test_each_of_several_consoles_sees_an_entry_of_another_at_its_next_look(
    path: Path, child: Callable[..., subprocess.Popen[str]], opened: Callable[..., Journal]
) -> None:
    opened()
    consoles = [child(SERVE, path) for _ in range(3)]

    def ask(console: subprocess.Popen[str], words: str) -> list[str]:
        assert console.stdin is not None
        assert console.stdout is not None
        console.stdin.write(words + "\n")
        console.stdin.flush()
        answer: list[str] = json.loads(console.stdout.readline())
        return answer

    due: list[str] = []
    for turn in range(9):
        due.append(f"entry-{turn}")
        assert ask(consoles[turn % 3], f"write entry-{turn}") == due
        # One look each: a board looks once a second, so it has the entry within two.
        assert [ask(console, "look") for console in consoles] == [due] * 3
