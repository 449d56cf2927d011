"""The newest time of a growing file is found in its last lines."""

from __future__ import annotations

from pathlib import Path

import pytest
from feed_builders import EPOCH
from growing_builders import HEADER, CountedReads, growing_with, json_line, line

from console.errors import FeedError
from console.feed.growing_line import LONGEST_LINE
from console.feed.growing_newest import TAIL_BYTES, growing_file_time_s


def newest_s(path: Path, text: str | bytes) -> float:
    return growing_file_time_s(growing_with(path, text).path, EPOCH)


def test_it_is_the_newest_time_of_whole_lines(tmp_path: Path) -> None:
    text = (
        HEADER
        + line(990, "tank.mass", 40)
        + line(985, "bat-1.current", 4)
        + "2041-06-02T04:00:00Z,tank.mass,4"
    )
    assert newest_s(tmp_path / "a.csv", text) == 990
    assert (
        newest_s(tmp_path / "a.jsonl", json_line(991, "x", 1) + json_line(990, "y", 1) + '{"at": 7}\nx\n')
        == 991
    )


def test_lines_without_a_time_are_passed_over(tmp_path: Path) -> None:
    text = HEADER + line(990, "tank.mass", 40) + "x\n,,\nyesterday,tank.mass,4\n\n" + "\0\n"
    assert newest_s(tmp_path / "tern.csv", text) == 990


def test_a_wild_time_far_ahead_of_the_last_line_is_left_aside(tmp_path: Path) -> None:
    text = HEADER + line(990, "a", 1) + "2491-01-01T00:00:00Z,a,1\n" + line(1010, "a", 1) + line(1009, "a", 1)
    assert newest_s(tmp_path / "tern.csv", text) == 1010


def test_only_the_head_and_the_tail_of_a_long_file_are_read(tmp_path: Path) -> None:
    growing = growing_with(tmp_path / "tern.csv", HEADER + "".join(line(s, "a", 1) for s in range(50_000)))
    reads = CountedReads()
    assert growing_file_time_s(growing.path, EPOCH, read_at=reads) == 49_999
    assert reads.bytes <= TAIL_BYTES + LONGEST_LINE + 1 < growing.path.stat().st_size / 5


def test_a_long_tail_without_a_time_is_looked_at_further_back(tmp_path: Path) -> None:
    assert (
        newest_s(tmp_path / "tern.csv", HEADER + line(990, "a", 1) + "x" * 50 * TAIL_BYTES + "\nx\n") == 990
    )


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (HEADER, "no line of it has a time; name the moment with --at TIME"),
        (
            HEADER + "x\n" + line(990, "a", 1).rstrip("\n"),
            "no line of it has a time; name the moment with --at TIME",
        ),
        ("", "holds no whole line yet; name the moment with --at TIME"),
        (
            "x,y\n",
            "line 1: found no header and no JSON; write the header at,channel,value, or "
            "at,channel,value,unit",
        ),
    ],
)
def test_a_file_without_a_time_is_refused_with_what_to_do(tmp_path: Path, text: str, fault: str) -> None:
    with pytest.raises(FeedError) as caught:
        newest_s(tmp_path / "tern.csv", text)
    assert str(caught.value) == f"growing file tern.csv: {fault}"


def test_no_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(FeedError, match=r"growing file none\.csv: is not there"):
        growing_file_time_s(tmp_path / "none.csv", EPOCH)
    with pytest.raises(FeedError, match="is a folder"):
        growing_file_time_s(tmp_path, EPOCH)
