"""Several processes and many threads on one journal at once."""

from __future__ import annotations

import json
import subprocess
import threading
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

from console.errors import JournalError
from console.record.entry import Draft, Entry
from console.record.journal import Journal
from console.record.verify import verify

Child = Callable[..., "subprocess.Popen[str]"]

WRITE = """
with opened(sys.argv[1]) as journal:
    entries = [journal.append(note(f"{sys.argv[2]}-{number}")) for number in range(int(sys.argv[3]))]
print(json.dumps([(entry.sequence, entry.id, entry.hash) for entry in entries]))
"""


def _output(process: subprocess.Popen[str]) -> Any:
    out, error = process.communicate(timeout=120)
    assert process.returncode == 0, error
    return json.loads(out)


def test_four_writers_at_once_make_one_order_without_gaps(path: Path, child: Child, opened: Any) -> None:
    writers = [child(WRITE, path, f"w{number}", 40) for number in range(4)]
    acknowledged = [tuple(line) for writer in writers for line in _output(writer)]
    entries = opened().entries()
    assert [entry.sequence for entry in entries] == list(range(1, 161))
    assert sorted(acknowledged) == [(entry.sequence, entry.id, entry.hash) for entry in entries]
    assert verify(path).is_sound


def test_the_same_draft_from_four_processes_is_entered_once(path: Path, child: Child, opened: Any) -> None:
    answers = [_output(writer) for writer in [child(WRITE, path, "same", 10) for _ in range(4)]]
    assert answers[0] == answers[1] == answers[2] == answers[3]
    assert opened().head().count == 10


def test_a_hundred_threads_read_a_sound_journal_while_two_processes_write(
    journal: Journal, path: Path, child: Child
) -> None:
    writers = [child(WRITE, path, f"w{number}", 60) for number in range(2)]
    is_over, wrong, reads = threading.Event(), [], []

    def read() -> None:
        last = 0
        while not is_over.is_set():
            try:
                entries, count = journal.entries(limit=10), journal.head().count
            except JournalError as error:
                wrong.append(error)
                return
            if count < last or not _is_chained(entries):
                wrong.append((last, count, entries))
            last = count
            reads.append(len(entries))
            time.sleep(0.01)

    threads = [threading.Thread(target=read) for _ in range(100)]
    for thread in threads:
        thread.start()
    try:
        written = [_output(writer) for writer in writers]
    finally:
        is_over.set()
        for thread in threads:
            thread.join()
    assert wrong == []
    assert len(reads) >= 100
    assert len(written[0]) + len(written[1]) == journal.head().count == 120


def _is_chained(entries: tuple[Entry, ...]) -> bool:
    links = pairwise(entries)
    return all(
        later.sequence == earlier.sequence + 1 and later.previous_hash == earlier.hash
        for earlier, later in links
    )


def test_threads_that_write_through_one_journal_lose_nothing(
    journal: Journal, draft: Callable[..., Draft]
) -> None:
    acknowledged: list[Entry] = []

    def write(name: str) -> None:
        for number in range(5):
            acknowledged.append(journal.append(draft(f"{name}-{number}")))

    threads = [threading.Thread(target=write, args=(f"t{number}",)) for number in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(acknowledged, key=lambda entry: entry.sequence) == list(journal.entries())
    assert journal.head().count == 100


def test_another_process_moves_the_change_mark(journal: Journal, path: Path, child: Child) -> None:
    before = journal.change_mark()
    _output(child(WRITE, path, "other", 1))
    assert journal.change_mark() > before
