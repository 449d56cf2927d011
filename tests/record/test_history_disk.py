"""The history's file: what comes back after a restart, who may write it, how big it gets, what is refused."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from history_feeds import EPOCH, FOREVER, all_of, feed_of, good, history_at, newest_of, small_ages
from hypothesis import given, settings
from hypothesis import strategies as st

from console.errors import JournalError
from console.record import history_track
from console.record.history import History
from console.record.history_store import HistoryStore

GAPS_S = st.sampled_from([0.01, 1.0, 1.0, 20.0, 59.999, 60.0, 61.5, 400.0, 700.0, 5000.0, 9e5, -2.0, 0.0])
BATCHES = st.lists(
    st.tuples(st.lists(st.tuples(GAPS_S, st.floats(-1e9, 1e9)), max_size=30), st.sampled_from("-fr")),
    min_size=1,
    max_size=12,
)


@pytest.fixture
def file(quick_folder: Path) -> Path:
    return quick_folder / "tern.history.db"


@pytest.fixture
def opened(file: Path) -> Iterator[Callable[..., History]]:
    """Opens the history, or another one; closes all at the end."""
    histories: list[History] = []

    def open_one(at: Path = file, *, channels: tuple[str, ...] = ("a",), **changes: Any) -> History:
        histories.append(history_at(at, channels, **changes))
        return histories[-1]

    yield open_one
    for history in histories:
        history.close()


def _restarts_change_nothing(batches: list[Any], start_s: float, folder: Path) -> None:
    path = folder / "tern.history.db"
    kept, plain, at_s = history_at(path), history_at(None), start_s
    for number, (batch, then) in enumerate(batches):
        pairs = []
        for gap_s, value_si in batch:
            at_s += gap_s
            pairs.append((at_s, value_si))
        kept.take(feed_of({"a": pairs}), ("source", {"batch": number}))
        plain.take(feed_of({"a": pairs}))
        if then == "f":
            kept.flush()
        elif then == "r":
            kept.close()
            kept = history_at(path)
        assert kept.trouble == ""
    kept.close()
    kept = history_at(path)
    assert all_of(kept) == all_of(plain)
    assert kept.marked("source") == {"batch": len(batches) - 1}
    kept.close()


@settings(max_examples=50, deadline=None)
@given(BATCHES, st.floats(-1e6, 1e6), st.booleans())
def test_restarts_and_savings_between_change_nothing(
    batches: list[Any], start_s: float, is_small: bool
) -> None:
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as folder:
        if is_small:
            with small_ages():
                _restarts_change_nothing(batches, start_s, Path(folder))
        else:
            _restarts_change_nothing(batches, start_s, Path(folder))


def test_what_was_not_saved_is_lost_together_with_its_mark(opened: Callable[..., History]) -> None:
    first = opened()
    first.take(feed_of({"a": [(1.0, 1.0)]}), ("file", {"offset": 10, "inode": "x"}))
    first.flush()
    first.take(feed_of({"a": [(2.0, 2.0)]}), ("file", {"offset": 20, "inode": "x"}))
    assert first.marked("file") == {"offset": 20, "inode": "x"}
    # Another look at the same file sees what a sudden end would leave.
    other = opened(writes=False)
    assert other.last_s("a") == 1.0
    assert other.marked("file") == {"offset": 10, "inode": "x"}
    assert other.marked("unknown") is None


def test_a_mark_that_is_no_json_is_refused_before_anything_is_taken(opened: Callable[..., History]) -> None:
    history = opened()
    with pytest.raises(ValueError, match="JSON"):
        history.take(feed_of({"a": [(1.0, 1.0)]}), ("file", {"offset": float("nan")}))
    with pytest.raises(TypeError):
        history.take(feed_of({"a": [(1.0, 1.0)]}), ("file", {"offset": object()}))
    assert history.last_s("a") is None


def test_saving_comes_ten_seconds_after_the_last_and_beside_the_tick(file: Path) -> None:
    now_s = [0.0]
    store = HistoryStore.open(file, scenario="tern", epoch=EPOCH)
    history = History(["a"], store, monotonic=lambda: now_s[0])
    onlooker = lambda: history_at(file, writes=False).last_s("a")  # noqa: E731
    for second in range(10):
        now_s[0] = float(second)
        history.take(newest_of(good("a", float(second), 1.0)))
        assert onlooker() is None
    now_s[0] = 10.0
    history.take(newest_of(good("a", 10.0, 1.0)))
    assert history._keeper is not None
    assert history._keeper._thread is not None
    history._keeper._thread.join(timeout=60)
    assert onlooker() == 10.0
    history.close()


def test_the_files_are_for_their_owner_alone(opened: Callable[..., History], quick_folder: Path) -> None:
    history = opened(quick_folder / "new" / "folder" / "tern.history.db")
    history.take(feed_of({"a": [(1.0, 1.0)]}))
    history.flush()
    folder = quick_folder / "new" / "folder"
    assert {path.name: oct(path.stat().st_mode & 0o777) for path in folder.iterdir()} == {
        "tern.history.db": "0o600",
        "tern.history.db.writer": "0o600",
    }
    assert folder.stat().st_mode & 0o777 == folder.parent.stat().st_mode & 0o777 == 0o700


def test_who_only_reads_makes_no_file(opened: Callable[..., History], quick_folder: Path) -> None:
    history = opened(writes=False)
    history.take(feed_of({"a": [(1.0, 1.0)]}))
    history.flush()
    history.close()
    assert (history.trouble, history.is_writer) == ("", False)
    assert list(quick_folder.iterdir()) == []


def test_one_writes_and_the_next_goes_on_from_there_with_its_own_newer_readings(
    opened: Callable[..., History],
) -> None:
    plain, first = history_at(None), opened()
    first.take(feed_of({"a": [(float(s), 1.0) for s in range(5000)]}), ("file", {"offset": 5000}))
    plain.take(feed_of({"a": [(float(s), 1.0) for s in range(7000)]}))
    first.flush()
    second = opened()
    assert (first.is_writer, second.is_writer) == (True, False)
    # The second took less of what the first took too, and has seen more since.
    second.take(feed_of({"a": [(float(s), 1.0) for s in range(5000, 7000)]}), ("file", {"offset": 7000}))
    second.flush()
    assert (second.trouble, second.is_writer) == ("", False)
    first.take(feed_of({"a": [(float(s), 1.0) for s in range(5000, 6000)]}))
    first.close()
    second.flush()
    assert second.is_writer
    assert all_of(second) == all_of(plain)
    second.close()
    third = opened()
    assert all_of(third) == all_of(plain)
    assert third.marked("file") == {"offset": 7000}


def test_a_channel_that_is_new_starts_and_one_that_left_stays_on_disk(opened: Callable[..., History]) -> None:
    first = opened(channels=("a", "b"))
    first.take(feed_of({"a": [(1.0, 1.0)], "b": [(1.0, 2.0)]}))
    first.close()
    second = opened(channels=("c", "a"))
    second.take(feed_of({"a": [(2.0, 1.0)], "c": [(2.0, 3.0)]}))
    second.close()
    third = opened(channels=("a", "b", "c"))
    assert [third.full(name, *FOREVER).values_si.tolist() for name in "abc"] == [[1.0, 1.0], [2.0], [3.0]]


def test_a_file_that_was_taken_away_is_written_anew_with_all_that_is_held(
    opened: Callable[..., History], file: Path
) -> None:
    history = opened()
    history.take(feed_of({"a": [(float(s), 1.0) for s in range(4000)]}), ("file", {"offset": 1}))
    history.flush()
    file.unlink()
    history.take(feed_of({"a": [(4000.0, 1.0)]}))
    history.flush()
    history.flush()
    assert history.trouble == ""
    due = all_of(history)
    history.close()
    again = opened()
    assert all_of(again) == due
    assert again.marked("file") == {"offset": 1}


def _count(file: Path, table: str) -> int:
    with closing(sqlite3.connect(file)) as connection:
        (count,) = connection.execute(f"SELECT count(*) FROM {table}").fetchone()
        return int(count)


def test_the_file_stops_growing_when_every_age_is_full(opened: Callable[..., History], file: Path) -> None:
    history, sizes = opened(channels=("a", "b")), []
    for day in range(100):
        pairs = [(day * 86_400.0 + 30.0 * k, 1.0) for k in range(2880)]
        history.take(feed_of({"a": pairs, "b": pairs}))
        history.flush()
        sizes.append(file.stat().st_size)
    minutes, tens = history_track.MINUTE_ROWS // 60, history_track.TEN_MINUTE_ROWS // 60
    assert _count(file, "full_rate") == 2 * history_track.FULL_MINUTES
    assert 2 * minutes <= _count(file, "minutes") <= 2 * (minutes + 2)
    assert 2 * tens <= _count(file, "ten_minutes") <= 2 * (tens + 2)
    rows = history_track.MINUTE_ROWS + history_track.TEN_MINUTE_ROWS
    assert sizes[-1] < 2 * 1.5 * (40 * rows + 2 * 361 * (16 + 20)) + 100_000
    assert max(sizes[50:]) == sizes[-1] == sizes[50]


def test_another_scenarios_history_is_refused_by_name(opened: Callable[..., History], file: Path) -> None:
    opened().close()
    with pytest.raises(JournalError, match="found the history of scenario 'tern'") as told:
        opened(scenario="skua")
    assert str(told.value).startswith(f"{file}: ")
    assert "expected that of scenario 'skua'" in str(told.value)


def test_a_history_from_another_epoch_is_refused(opened: Callable[..., History]) -> None:
    opened().close()
    with pytest.raises(JournalError, match=r"with epoch 2041-06-02T03:10:00.*expected .*T04:10:00"):
        opened(epoch=EPOCH + timedelta(hours=1))


def test_a_journal_or_a_newer_history_in_its_place_is_refused(
    opened: Callable[..., History], file: Path
) -> None:
    opened().close()
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("UPDATE meta SET value = '2' WHERE key = 'format'")
        connection.commit()
        with pytest.raises(JournalError, match="found a history of format 2, expected format 1"):
            opened()
        connection.execute("PRAGMA application_id=7")
    before = file.read_bytes()
    with pytest.raises(JournalError, match="found another program's SQLite file, expected the history"):
        opened()
    assert file.read_bytes() == before


def _flip_text(file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection:
        connection.execute(
            "UPDATE minutes SET content = zeroblob(2400) WHERE key = (SELECT min(key) FROM minutes)"
        )
        connection.commit()


def _flip_state(file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("UPDATE channel SET state = zeroblob(96)")
        connection.commit()


def _flip_mark(file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("UPDATE mark SET document = '{\"offset\": 2}'")
        connection.commit()


def _move_block(file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection:
        connection.execute(
            "UPDATE full_rate SET key = key + (5 << 16) WHERE key = (SELECT max(key) FROM full_rate)"
        )
        connection.commit()


def _lose_block(file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("DELETE FROM full_rate WHERE key = (SELECT max(key) FROM full_rate)")
        connection.commit()


def _cut_off(file: Path) -> None:
    file.write_bytes(file.read_bytes()[:9000])


def _overwrite(file: Path) -> None:
    file.write_bytes(b"\xff" * 9000)


def _break_pages(file: Path) -> None:
    data = bytearray(file.read_bytes())
    data[8192:] = b"\xff" * (len(data) - 8192)
    file.write_bytes(data)


@pytest.mark.parametrize(
    "damage",
    [_flip_text, _flip_state, _flip_mark, _move_block, _lose_block, _cut_off, _overwrite, _break_pages],
)
def test_a_damaged_file_is_told_left_as_it_is_and_readings_go_on_in_memory(
    opened: Callable[..., History], file: Path, damage: Callable[[Path], None]
) -> None:
    first = opened()
    first.take(feed_of({"a": [(float(s), 1.0) for s in range(4000)]}), ("file", {"offset": 1}))
    first.close()
    damage(file)
    before = file.read_bytes()
    history = opened()
    assert history.trouble.startswith(f"{file}: found a damaged history of readings")
    assert "move it away" in history.trouble
    assert history.last_s("a") is None
    history.take(feed_of({"a": [(5000.0, 1.0)]}))
    history.flush()
    assert history.last_s("a") == 5000.0
    assert "damaged" in history.trouble
    history.close()
    assert file.read_bytes() == before
