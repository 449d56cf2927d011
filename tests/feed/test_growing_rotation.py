"""What happens to a growing file: emptied, written anew, renamed, unreadable. Nothing is lost or raised."""

from __future__ import annotations

import errno
import os
import random
import shutil
import threading
from pathlib import Path

import pytest
from growing_builders import HEADER, Growing, arrived_of, faults_of, growing_with, json_line, line

from console.engine.reading import Quality
from console.feed.growing_reader import LOOKS_AT_A_HALF_LINE

FIRST = HEADER + line(980, "tank.mass", 41) + line(981, "tank.mass", 40)
NOTHING_GOOD = "nothing good was read from it yet"


@pytest.fixture
def growing(tmp_path: Path) -> Growing:
    """A file with two readings that were taken."""
    made = growing_with(tmp_path / "tern.csv", FIRST)
    assert arrived_of(made.poll()) == {"tank.mass": [(980, 41.0), (981, 40.0)]}
    return made


def test_a_file_that_is_not_there_yet_is_missing_and_read_once_it_is(tmp_path: Path) -> None:
    growing = Growing(tmp_path / "tern.csv")
    feed = growing.poll()
    assert (feed.quality, feed.at_s) == (Quality.MISSING, None)
    assert faults_of(feed) == [f"is not there; {NOTHING_GOOD}"]
    assert {reading.why for reading in feed.readings.values()} == {"no growing file could be read yet"}
    assert growing.source.is_caught_up
    growing.add(FIRST)
    assert growing.poll().quality is Quality.GOOD


def test_a_file_that_became_shorter_is_read_from_its_start_and_the_last_good_value_is_kept(
    growing: Growing,
) -> None:
    growing.path.write_text(HEADER)
    feed = growing.poll()
    assert faults_of(feed) == [
        f"became shorter: {len(HEADER)} bytes, of which {len(FIRST)} had been read; it is read from its start"
    ]
    assert (feed.readings["tank.mass"].value_si, feed.quality) == (40.0, Quality.GOOD)
    growing.add(line(985, "tank.mass", 39))
    assert arrived_of(growing.poll()) == {"tank.mass": [(985, 39.0)]}


@pytest.mark.parametrize("more", ["", line(983, "tank.mass", 38), 100 * line(983, "tank.mass", 38)])
def test_a_file_written_anew_in_place_is_noticed_also_when_it_is_as_long_or_longer(
    growing: Growing, more: str
) -> None:
    growing.path.write_text(
        FIRST.replace("41\n", "43\n").replace("40\n", "42\n").replace("T03:26:2", "T03:26:3") + more
    )
    feed = growing.poll()
    assert faults_of(feed)[0] == "was written anew; it is read from its start"
    assert arrived_of(feed)["tank.mass"][:2] == [(990, 43.0), (991, 42.0)]


def test_a_file_written_anew_between_two_reads_of_one_poll_gives_no_mixture(tmp_path: Path) -> None:
    growing = Growing(tmp_path / "tern.csv")
    growing.add(FIRST)
    growing.poll()
    anew = FIRST.replace(",4", ",1") + line(982, "tank.mass", 9)

    def read_at(handle: int, count: int, begin: int) -> bytes:
        given = os.pread(handle, count, begin)
        if given and begin == len(FIRST):
            growing.path.write_text(anew)
        return given

    growing.source._reader._read_at = read_at
    growing.add(line(982, "tank.mass", 39))
    feed = growing.poll()
    assert "was written anew" in feed.faults[0]
    assert arrived_of(feed) == {"tank.mass": [(982, 9.0)]}, (
        "what was read last was none of the new file's lines"
    )


def test_the_rest_of_a_file_that_was_renamed_away_is_read_before_the_one_that_took_its_name(
    growing: Growing,
) -> None:
    growing.add(line(982, "tank.mass", 39))
    growing.path.rename(growing.path.with_suffix(".1"))
    growing.add(json_line(983, "tank.mass", 38.0) + json_line(984, "tank.mass", 37.0))
    feed = growing.poll()
    assert arrived_of(feed) == {"tank.mass": [(982, 39.0), (983, 38.0), (984, 37.0)]}
    assert faults_of(feed) == [
        "was replaced by another file; the old one was read to its end; the new one is read from its start"
    ]
    growing.add(json_line(985, "tank.mass", 36.0))
    assert arrived_of(growing.poll()) == {"tank.mass": [(985, 36.0)]}


def test_a_long_rest_of_the_old_file_is_read_over_several_polls_before_the_new_one(tmp_path: Path) -> None:
    growing = growing_with(tmp_path / "tern.csv", FIRST, most_bytes_per_poll=100)
    growing.poll()
    growing.add("".join(line(982 + step / 100, "tank.mass", 39) for step in range(100)))
    growing.path.rename(growing.path.with_suffix(".1"))
    growing.add(HEADER + line(984, "tank.mass", 38))
    feeds = [growing.poll()]
    while not growing.source.is_caught_up:
        feeds.append(growing.poll())
    assert len(feeds) > 10
    assert [at_s for at_s, _ in arrived_of(*feeds)["tank.mass"]] == [
        *(982 + s / 100 for s in range(100)),
        984,
    ]


def test_lines_written_to_the_old_file_after_an_empty_one_took_its_name_are_not_lost(
    growing: Growing,
) -> None:
    old = growing.path.with_suffix(".1")
    growing.path.rename(old)
    growing.path.touch()
    assert growing.poll().quality is Quality.GOOD
    with old.open("a") as file:
        file.write(line(982, "tank.mass", 39))
    assert arrived_of(growing.poll()) == {"tank.mass": [(982, 39.0)]}
    growing.add(HEADER + line(983, "tank.mass", 38))
    assert arrived_of(growing.poll()) == {"tank.mass": [(983, 38.0)]}


def test_a_half_line_at_the_end_of_the_old_file_is_waited_for_and_then_dropped_and_told(
    growing: Growing,
) -> None:
    growing.add("2041-06-02T03:26:22Z,tank.ma")
    growing.path.rename(growing.path.with_suffix(".1"))
    growing.add(HEADER + line(983, "tank.mass", 38))
    for _ in range(LOOKS_AT_A_HALF_LINE):
        assert arrived_of(growing.poll()) == {}
    feed = growing.poll()
    assert arrived_of(feed) == {"tank.mass": [(983, 38.0)]}
    assert "read to its end but for its unfinished line 4, which was dropped" in feed.faults[0]


def test_a_half_line_that_is_finished_after_the_renaming_is_taken(growing: Growing) -> None:
    old = growing.path.with_suffix(".1")
    growing.add("2041-06-02T03:26:22Z,tank.ma")
    growing.path.rename(old)
    growing.add(HEADER + line(983, "tank.mass", 38))
    growing.poll()
    with old.open("a") as file:
        file.write("ss,39\n")
    assert arrived_of(growing.poll()) == {"tank.mass": [(982, 39.0), (983, 38.0)]}


def test_a_file_copied_away_and_emptied_is_read_on_from_its_start(growing: Growing) -> None:
    shutil.copy(growing.path, growing.path.with_suffix(".1"))
    os.truncate(growing.path, 0)
    assert growing.poll().quality is Quality.GOOD
    growing.add(FIRST + line(982, "tank.mass", 39))
    feed = growing.poll()
    assert arrived_of(feed) == {"tank.mass": [(982, 39.0)]}, "what was taken before is not taken twice"
    assert any("2 readings were left out because time did not rise" in fault for fault in feed.faults)


def test_a_file_that_is_gone_is_missing_and_followed_as_long_as_it_is_open(growing: Growing) -> None:
    old = growing.path.with_suffix(".1")
    growing.path.rename(old)
    feed = growing.poll(1000)
    assert feed.quality is Quality.MISSING
    assert faults_of(feed) == [
        "is not there any more; the open file is still followed; showing the last good readings, 19 s old"
    ]
    with old.open("a") as file:
        file.write(line(982, "tank.mass", 39))
    assert arrived_of(growing.poll()) == {"tank.mass": [(982, 39.0)]}
    old.rename(growing.path)
    back = growing.poll()
    assert (back.quality, back.faults, arrived_of(back)) == (Quality.GOOD, (), {})


def test_a_folder_a_pipe_and_a_name_that_cannot_be_are_missing_and_raise_nothing(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    due = f"name a file to which readings are added; {NOTHING_GOOD}"
    cases = {
        "folder": f"is a folder; {due}",
        "pipe": f"is no plain file; {due}",
        "folder/none/x": f"is not there; {NOTHING_GOOD}",
        "pipe/x": f"cannot be opened (not a directory); {NOTHING_GOOD}",
        "nu\0ll": f"cannot be opened (embedded null byte); {NOTHING_GOOD}",
        "x" * 300: f"cannot be opened (file name too long); {NOTHING_GOOD}",
    }
    for name, fault in cases.items():
        feed = Growing(tmp_path / name).poll()
        assert (feed.quality, faults_of(feed)) == (Quality.MISSING, [fault])


def test_a_folder_in_the_place_of_a_file_leaves_the_open_file_followed(growing: Growing) -> None:
    old = growing.path.with_suffix(".1")
    growing.path.rename(old)
    growing.path.mkdir()
    assert growing.poll().quality is Quality.MISSING
    with old.open("a") as file:
        file.write(line(982, "tank.mass", 39))
    assert arrived_of(growing.poll()) == {"tank.mass": [(982, 39.0)]}


def test_a_file_that_may_not_be_read_is_missing_with_the_reason(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    growing = growing_with(tmp_path / "tern.csv", FIRST)

    def refuse(*_: object) -> int:
        raise PermissionError(errno.EACCES, "Permission denied")

    # Not by the file's mode: whoever may do everything is not stopped by it.
    with monkeypatch.context() as patch:
        patch.setattr("console.feed.growing_reader.os.open", refuse)
        assert faults_of(growing.poll()) == [f"cannot be opened (permission denied); {NOTHING_GOOD}"]
    assert growing.poll().quality is Quality.GOOD


@pytest.mark.parametrize("number", [errno.EIO, errno.ESTALE])
def test_a_disk_that_fails_is_told_and_reading_goes_on_where_it_stopped(
    growing: Growing, number: int
) -> None:
    growing.add(line(982, "tank.mass", 39) + "2041-06-02T03:26:23Z,ta")
    growing.reads.error = OSError(number, os.strerror(number))
    feed = growing.poll()
    assert feed.quality is Quality.MISSING
    assert faults_of(feed)[0].startswith(
        f"cannot be read ({os.strerror(number).lower()}); showing the last good"
    )
    growing.reads.error = None
    before = growing.source.bytes_read
    assert arrived_of(growing.poll()) == {"tank.mass": [(982, 39.0)]}
    growing.add("nk.mass,38\n")
    assert arrived_of(growing.poll()) == {"tank.mass": [(983, 38.0)]}
    assert growing.source.bytes_read - before == growing.path.stat().st_size - len(FIRST)


def test_a_disk_that_fails_in_the_middle_of_a_long_read_loses_nothing(tmp_path: Path) -> None:
    growing = growing_with(
        tmp_path / "tern.csv", HEADER + "".join(line(s, "tank.mass", 40) for s in range(5000))
    )
    calls = 0

    def read_at(handle: int, count: int, begin: int) -> bytes:
        nonlocal calls
        calls += 1
        if calls % 3 == 0:
            raise OSError(errno.EIO, "Input/output error")
        return os.pread(handle, min(count, 3000), begin)

    growing.source._reader._read_at = read_at
    feeds = [growing.poll(5000) for _ in range(200)]
    assert arrived_of(*feeds) == {"tank.mass": [(float(s), 40.0) for s in range(5000)]}


def test_a_file_that_is_closed_is_opened_again_and_read_on(growing: Growing) -> None:
    growing.source.close()
    growing.add(line(982, "tank.mass", 39))
    before = growing.source.bytes_read
    assert arrived_of(growing.poll()) == {"tank.mass": [(982, 39.0)]}
    assert growing.source.bytes_read - before == len(line(982, "tank.mass", 39))


def test_a_file_replaced_while_it_was_closed_is_read_from_its_start_and_says_so(growing: Growing) -> None:
    growing.source.close()
    growing.path.unlink()
    growing.add(HEADER + "".join(line(982 + step, "tank.mass", 39) for step in range(10)))
    feed = growing.poll()
    assert faults_of(feed) == ["is not the file that was read before; it is read from its start"]
    assert len(arrived_of(feed)["tank.mass"]) == 10


@pytest.mark.parametrize(
    "hole",
    ["", "\0" * 50, "\0" * 100_000, "\0" * 100_000 + "\n", "\n"],
    ids=["none", "short", "long", "whole", "blank"],
)
def test_a_file_emptied_under_a_producer_that_writes_on_without_a_header_is_read_as_before(
    growing: Growing, hole: str
) -> None:
    os.truncate(growing.path, 0)
    growing.poll()
    growing.add(hole + line(982, "tank.mass", 39) + line(983, "tank.mass", 38))
    feeds = [growing.poll(), growing.poll()]
    # Null bytes in front of a line cost that line.
    taken = [983] if hole.endswith("\0") else [982, 983]
    assert [at_s for at_s, _ in arrived_of(*feeds)["tank.mass"]] == taken
    assert "has no header any more; its lines are read as before: at,channel,value" in faults_of(feeds[1])


@pytest.mark.parametrize(
    "first", ["x,y,z", "tank.mass,39,2041-06-02T03:26:22Z", "2041-06-02T03:26:22Z,tank,39"]
)
def test_a_first_line_that_makes_no_sense_under_the_header_before_leaves_the_file_unread(
    growing: Growing, first: str
) -> None:
    os.truncate(growing.path, 0)
    growing.poll()
    growing.add(first + "\n" + line(983, "tank.mass", 38))
    feed = growing.poll()
    assert (feed.quality, arrived_of(feed)) == (Quality.SUSPECT, {})
    assert feed.readings["tank.mass"].value_si == 40.0
    assert faults_of(feed)[0].startswith("line 1: found no header and no JSON")


def test_json_lines_that_begin_in_the_middle_of_a_line_after_a_renaming_are_read_on(tmp_path: Path) -> None:
    growing = growing_with(tmp_path / "tern.log", json_line(980, "tank.mass", 41.0))
    growing.poll()
    growing.path.rename(growing.path.with_suffix(".1"))
    growing.add('ue": 3.0}\n' + json_line(983, "tank.mass", 38.0))
    assert arrived_of(growing.poll()) == {"tank.mass": [(983, 38.0)]}
    assert growing.source.refused_lines == 1


PIECES = 400


def test_a_file_that_is_written_and_renamed_by_another_thread_loses_and_doubles_nothing(
    tmp_path: Path,
) -> None:
    growing, polled, text = Growing(tmp_path / "tern.csv"), threading.Event(), HEADER
    rng = random.Random(3)

    def write() -> None:
        path = growing.path
        for number in range(PIECES):
            with path.open("ab", buffering=0) as file:
                piece = (text if number % 50 == 0 else "") + line(number, "tank.mass", number / 8)
                cut = rng.randrange(len(piece))
                file.write(piece[:cut].encode())
                file.write(piece[cut:].encode())
            if number % 50 == 49:
                # A file that is renamed before it was ever looked at is hidden for good. Of two polls that
                # end from now on, the second began after now.
                for _ in range(2):
                    polled.clear()
                    polled.wait()
                path.rename(path.with_suffix(f".{number}"))

    writer = threading.Thread(target=write)
    writer.start()
    feeds = []
    while writer.is_alive():
        feeds.append(growing.poll(PIECES))
        polled.set()
    feeds += [growing.poll(PIECES) for _ in range(5)]
    assert arrived_of(*feeds) == {"tank.mass": [(float(number), number / 8) for number in range(PIECES)]}
