"""Sudden ends and disks that are full, refused or locked: nothing torn, nothing raised, all written later."""

from __future__ import annotations

import json
import random
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from history_feeds import FOREVER, all_of, feed_of, history_at

from console.record import history_file

HERE = Path(__file__).parent

START = f"""
import json, os, resource, sys, time
from pathlib import Path
sys.path.insert(0, {str(HERE)!r})
from history_feeds import *
from console.record import history_keeper
from console.record.history import History
from console.record.history_store import HistoryStore
path = Path(sys.argv[1])
"""

Child = Callable[..., "subprocess.Popen[str]"]


@pytest.fixture
def file(quick_folder: Path) -> Path:
    return quick_folder / "tern.history.db"


@pytest.fixture
def script() -> Iterator[Child]:
    """Starts a process that runs a script of its own on a history file."""
    running: list[subprocess.Popen[str]] = []

    def start(text: str, *arguments: object) -> subprocess.Popen[str]:
        process = subprocess.Popen(
            [sys.executable, "-c", START + text, *map(str, arguments)],
            cwd=HERE.parents[1],
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


def _output(process: subprocess.Popen[str]) -> Any:
    out, error = process.communicate(timeout=120)
    assert process.returncode == 0, error
    return json.loads(out)


ENDLESS = """
history_keeper.SAVE_EVERY_S = 0.0
store = HistoryStore.open(path, scenario="tern", epoch=EPOCH)
history = History(["a", "b"], store)
done = (history.marked("script") or {"readings": 0})["readings"]
print("begun", flush=True)
while True:
    pairs = [(7.0 * k, k % 13 + 0.1) for k in range(done, done + 11)]
    done += 11
    history.take(feed_of({"a": pairs, "b": pairs[::2]}), ("script", {"readings": done}))
    time.sleep(0.001)
"""


def test_a_process_killed_while_it_writes_leaves_a_sound_file_and_its_mark_fits_its_readings(
    file: Path, script: Child
) -> None:
    pauses, last = random.Random(7), 0
    for _ in range(5):
        process = script(ENDLESS, file)
        assert process.stdout is not None
        assert process.stdout.readline() == "begun\n"
        time.sleep(pauses.uniform(0.15, 0.4))
        process.kill()
        process.wait()
        with closing(sqlite3.connect(file)) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        history = history_at(file, ("a", "b"), writes=False)
        assert history.trouble == ""
        done = (history.marked("script") or {})["readings"]
        assert done > last
        last = done
        plain = history_at(None, ("a", "b"))
        for begin in range(0, done, 11):
            pairs = [(7.0 * k, k % 13 + 0.1) for k in range(begin, begin + 11)]
            plain.take(feed_of({"a": pairs, "b": pairs[::2]}))
        assert all_of(history, ("a", "b")) == all_of(plain, ("a", "b"))


LIMITED = """
_, most = resource.getrlimit(resource.RLIMIT_FSIZE)
history = history_at(path)
told, after, done = [], [], 0
for part in range(40):
    limit = (path.stat().st_size + 30_000) * part // 36
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, most))
    history.take(feed_of({"a": [(float(s), 1.0 * s) for s in range(done, done + 200)]}), ("n", {"n": done}))
    done += 200
    history.flush()
    told.append(history.trouble)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
    if part % 3 == 0:
        history.flush()
        after.append(history.trouble)
history.close()
print(json.dumps({"told": told, "after": after, "readings": done}))
"""


def test_writes_that_fail_at_some_byte_raise_nothing_are_told_and_made_up_for(
    file: Path, script: Child
) -> None:
    found = _output(script(LIMITED, file))
    assert sum("the disk refused to read or write" in told for told in found["told"]) > 20
    assert "" in found["told"]
    assert set(found["after"]) == {""}
    plain, kept = history_at(None), history_at(file)
    plain.take(feed_of({"a": [(float(s), 1.0 * s) for s in range(found["readings"])]}))
    assert all_of(kept) == all_of(plain)
    kept.close()


def test_a_full_disk_is_told_until_there_is_room_again(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    connect = history_file.connect

    def with_few_pages(path: Path, **settings: Any) -> sqlite3.Connection:
        connection = connect(path, **settings)
        connection.execute("PRAGMA max_page_count=12")
        return connection

    monkeypatch.setattr(history_file, "connect", with_few_pages)
    history = history_at(file)
    for hour in range(3):
        history.take(feed_of({"a": [(hour * 3600.0 + s, 1.0) for s in range(3600)]}))
        history.flush()
        assert history.trouble == (
            f"{file}: readings are kept in memory only until this is mended: the disk is full"
        )
    monkeypatch.setattr(history_file, "connect", connect)
    history.flush()
    assert history.trouble == ""
    due = all_of(history)
    history.close()
    assert all_of(history_at(file, writes=False)) == due


NO_RIGHTS = """
if os.geteuid() == 0:
    os.setgroups([])
    os.setresgid(65534, 65534, 65534)
    os.setresuid(65534, 65534, 65534)
old, new = history_at(path), history_at(path.with_name("new.db"))
answers = []
for history in (old, new):
    history.take(feed_of({"a": [(100.0, 2.0)]}))
    history.flush()
    answers.append([history.trouble, history.full("a", *FOREVER).values_si.tolist()])
    history.close()
print(json.dumps(answers))
"""


def test_a_folder_that_may_not_be_written_is_told_and_what_is_there_is_read(
    file: Path, script: Child
) -> None:
    history = history_at(file)
    history.take(feed_of({"a": [(1.0, 1.0)]}))
    history.close()
    for path in file.parent.iterdir():
        path.chmod(0o444)
    file.parent.chmod(0o555)
    old, new = _output(script(NO_RIGHTS, file))
    file.parent.chmod(0o755)
    assert old[1] == [1.0, 2.0]
    assert new[1] == [2.0]
    for told in (old[0], new[0]):
        assert "readings are kept in memory only until this is mended (Permission denied)" in told


@pytest.mark.parametrize("lock", ["BEGIN IMMEDIATE", "BEGIN EXCLUSIVE", "BEGIN; SELECT * FROM meta"])
def test_a_locked_file_is_told_until_it_is_let_go(file: Path, lock: str) -> None:
    history = history_at(file)
    history.take(feed_of({"a": [(1.0, 1.0)]}))
    history.flush()
    with closing(sqlite3.connect(file, isolation_level=None)) as other:
        for statement in lock.split("; "):
            other.execute(statement).fetchone()
        history.take(feed_of({"a": [(2.0, 2.0)]}))
        history.flush()
        assert history.trouble == (
            f"{file}: readings are kept in memory only until this is mended: "
            "another program holds the file and did not let go in time"
        )
    history.flush()
    assert history.trouble == ""
    history.close()
    assert history_at(file, writes=False).full("a", *FOREVER).values_si.tolist() == [1.0, 2.0]


def test_a_file_locked_at_the_start_is_read_when_it_is_let_go(file: Path) -> None:
    first = history_at(file)
    first.take(feed_of({"a": [(1.0, 1.0)]}))
    first.close()
    with closing(sqlite3.connect(file, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        second = history_at(file)
        assert "another program holds the file" in second.trouble
        second.take(feed_of({"a": [(2.0, 2.0)]}))
    second.flush()
    assert second.trouble == ""
    assert second.full("a", *FOREVER).values_si.tolist() == [1.0, 2.0]
    second.close()


def test_a_folder_that_is_a_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "folder").write_text("no folder")
    history = history_at(tmp_path / "folder" / "tern.history.db")
    history.take(feed_of({"a": [(1.0, 1.0)]}))
    history.flush()
    assert "readings are kept in memory only" in history.trouble
    assert history.last_s("a") == 1.0
    history.close()


def test_a_disk_that_hangs_stops_neither_the_taking_nor_the_closing(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("console.record.history_keeper.CLOSING_S", 0.01)
    history = history_at(file)
    keeper = history._keeper
    assert keeper is not None
    with keeper._saving:  # as held by a saving that does not come back
        history.take(feed_of({"a": [(1.0, 1.0)]}))
        assert history.series("a", 0.0, 2.0).means_si.tolist() == [1.0]
        history.close()
    history.close()
    assert history_at(file, writes=False).last_s("a") == 1.0
