"""A journal of the scenario "tern" on a clock that the test sets, and children that work on the same file."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from sqlite3 import Connection, connect
from typing import Any

import pytest

from console.record.entry import Draft, Entry, EntryKind
from console.record.journal import Journal

EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)
ROOT = Path(__file__).resolve().parents[2]


@dataclass
class HandClock:
    """A clock that stands until it is moved."""

    now: datetime = EPOCH + timedelta(hours=30)
    seconds: float = 1000.0


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


@pytest.fixture
def quick_folder(tmp_path: Path) -> Iterator[Path]:
    """A folder in memory where there is one: for tests in which it does not matter how slow a disk is."""
    memory = Path("/dev/shm")
    if not (memory.is_dir() and os.access(memory, os.W_OK)):
        yield tmp_path
        return
    folder = Path(tempfile.mkdtemp(dir=memory, prefix="journal-"))
    yield folder
    shutil.rmtree(folder)


@pytest.fixture
def path(quick_folder: Path) -> Path:
    return quick_folder / "tern.db"


@pytest.fixture
def opened(path: Path, clock: HandClock) -> Iterator[Callable[..., Journal]]:
    """Opens the journal, or another one; closes all at the end."""
    journals: list[Journal] = []

    def open_one(at: Path = path, **changes: Any) -> Journal:
        settings = {"scenario": "tern", "epoch": EPOCH, "host": "console-1", **changes}
        journal = Journal.open(at, clock=lambda: clock.now, monotonic=lambda: clock.seconds, **settings)
        journals.append(journal)
        return journal

    yield open_one
    for journal in journals:
        journal.close()


@pytest.fixture
def journal(opened: Callable[..., Journal]) -> Journal:
    return opened()


@pytest.fixture
def draft() -> Callable[..., Draft]:
    """A note, changed as the test needs it."""

    def make(draft_id: str = "first", **changes: Any) -> Draft:
        fields = {
            "kind": EntryKind.NOTE,
            "happened_at": EPOCH + timedelta(hours=30),
            "operator": "Operator 1",
            "position": "lead",
            "body": {"text": f"note {draft_id}"},
        }
        return Draft(id=draft_id, **{**fields, **changes})

    return make


@pytest.fixture
def entry() -> Callable[..., Entry]:
    """An entry as it would come out of a journal, changed as the test needs it."""

    def make(sequence: int, kind: EntryKind, body: dict[str, Any], elapsed_s: float = 0.0) -> Entry:
        moment = EPOCH + timedelta(seconds=elapsed_s)
        return Entry(
            sequence=sequence,
            id=f"id-{sequence}",
            kind=kind,
            happened_at=moment,
            written_at=moment,
            elapsed_s=elapsed_s,
            monotonic_s=0.0,
            boot_id="",
            host="console-1",
            operator="Operator 1",
            position="lead",
            body=body,
            previous_hash="",
            hash="",
        )

    return make


@pytest.fixture
def raw(path: Path) -> Iterator[Callable[[], Connection]]:
    """A connection of SQLite's own to the journal's file, past all that the journal does."""
    connections: list[Connection] = []

    def connected() -> Connection:
        connections.append(connect(path, isolation_level=None, timeout=0.0))
        return connections[-1]

    yield connected
    for connection in connections:
        connection.close()


@pytest.fixture
def tampered(path: Path) -> Callable[..., None]:
    """Runs statements on the journal's file with the triggers out of the way, and puts them up again."""

    def tamper(*statements: str) -> None:
        with closing(connect(path, isolation_level=None)) as connection:
            triggers = connection.execute(
                "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger' ORDER BY rowid"
            ).fetchall()
            connection.execute("BEGIN")
            for name, _ in triggers:
                connection.execute(f"DROP TRIGGER {name}")
            for statement in statements:
                connection.execute(statement)
            for _, sql in triggers:
                connection.execute(sql)
            connection.execute("COMMIT")

    return tamper


CHILD_START = """
import json, os, resource, sqlite3, sys, time
from datetime import UTC, datetime
from pathlib import Path
from console.errors import JournalError
from console.record.entry import Draft, EntryKind
from console.record.journal import Journal
EPOCH = datetime(2041, 6, 2, 3, 10, tzinfo=UTC)

def opened(path, **changes):
    settings = {"monotonic": time.monotonic, "patience_s": 60.0, **changes}
    return Journal.open(Path(path), scenario="tern", epoch=EPOCH, clock=lambda: datetime.now(UTC), **settings)

def note(name, text="a note"):
    return Draft(id=name, kind=EntryKind.NOTE, happened_at=EPOCH, operator="Operator 2", position="lead",
                 body={"text": text})
"""


@pytest.fixture
def child() -> Iterator[Callable[..., subprocess.Popen[str]]]:
    """Starts a process that runs a script of its own; ``opened`` and ``note`` stand ready in it."""
    running: list[subprocess.Popen[str]] = []

    def start(script: str, *arguments: object) -> subprocess.Popen[str]:
        process = subprocess.Popen(
            [sys.executable, "-c", CHILD_START + script, *map(str, arguments)],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        running.append(process)
        return process

    yield start
    for process in running:
        process.kill()
        process.communicate()
