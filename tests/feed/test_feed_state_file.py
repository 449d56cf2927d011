"""One outcome for everything that can be wrong in a state file or happen to it."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from feed_builders import CHANNELS, EPOCH, Desk, document, utc
from hypothesis import given, settings
from hypothesis import strategies as st

from console.engine.reading import FeedState, Quality
from console.errors import FeedError
from console.feed.rewritten_file import LIMIT_BYTES
from console.feed.state_document import parse_state_document
from console.feed.state_file import StateFileSource, state_file_time_s

GOOD = {"bat-1.current": 4.2, "o2-1.pressure": "11.2 MPa", "o2-1.temperature": 18.0, "tank.mass": 40.0}


def fault_of(feed: FeedState) -> str:
    """The only fault."""
    assert len(feed.faults) == 1, feed.faults
    return feed.faults[0]


def test_a_good_document_is_good_and_has_every_channel_in_the_crafts_order(desk: Desk) -> None:
    reading = {"value": 291.4, "unit": "K", "at": utc(98)}
    desk.write(100, dict(reversed({**GOOD, "o2-1.temperature": reading}.items())))
    feed = desk.poll(103)
    assert (feed.source, feed.at_s, feed.quality, feed.faults) == (
        "state file tern.json",
        100,
        Quality.GOOD,
        (),
    )
    assert list(feed.readings) == list(CHANNELS)
    assert {reading.quality for reading in feed.readings.values()} == {Quality.GOOD}
    assert feed.readings["o2-1.pressure"].value_si == pytest.approx(11.2e6)
    assert feed.readings["o2-1.temperature"].value_si == pytest.approx(291.4)
    assert feed.readings["o2-1.temperature"].at_s == 98
    assert feed.readings["bat-1.current"].age_s(103) == 3


def test_a_document_in_yaml_says_the_same_as_one_in_json(desk: Desk, yaml_desk: Desk) -> None:
    desk.write(100, GOOD)
    lines = "".join(f"  {name}: {value}\n" for name, value in GOOD.items())
    yaml_desk.write_text(f"format: 1\nat: {utc(100)}\nreadings:\n{lines}")
    assert yaml_desk.poll(103).readings == desk.poll(103).readings
    yaml_desk.write_text(json.dumps(document(101, GOOD)))
    assert yaml_desk.poll(103).at_s == 101, "JSON is YAML too, also without a last line break"


def test_a_file_that_is_not_there_yet_is_missing_and_every_channel_too(desk: Desk) -> None:
    feed = desk.poll(100)
    assert (feed.quality, feed.at_s) == (Quality.MISSING, None)
    assert fault_of(feed) == "state file tern.json: is not there; nothing good was read from it yet"
    assert {(reading.quality, reading.value_si) for reading in feed.readings.values()} == {
        (Quality.MISSING, None)
    }


def test_a_file_that_comes_back_is_good_again(desk: Desk) -> None:
    desk.write(100, GOOD)
    desk.poll(100)
    text = desk.path.read_text()
    desk.path.unlink()
    gone = desk.poll(112)
    assert gone.quality is Quality.MISSING
    assert fault_of(gone) == "state file tern.json: is not there; showing the last good one, 12 s old"
    assert gone.readings["bat-1.current"].value_si == 4.2
    desk.write_text(text)
    back = desk.poll(113)
    assert (back.quality, back.faults) == (Quality.GOOD, ())


def _torn(good: bytes) -> bytes:
    return good[:-40]


def _with_tail(good: bytes) -> bytes:
    return good + good[-25:]


REFUSED: dict[str, tuple[Callable[[bytes], bytes], str]] = {
    "torn": (_torn, "cannot be read as JSON (line 1: "),
    "the tail of a longer document": (_with_tail, "cannot be read as JSON (line 1: Extra data)"),
    "empty": (lambda _: b"", "is empty"),
    "blank": (lambda _: b" \n\n ", "is empty"),
    "null bytes": (lambda good: b"\0" * len(good), "cannot be read as JSON (line 1: "),
    "garbage": (lambda _: b"}{!", "cannot be read as JSON (line 1: "),
    "on line 3": (lambda _: b'{"format": 1,\n"at": "",\n"readings" {}}', "cannot be read as JSON (line 3: "),
    "binary": (lambda _: b"\x7fELF\xff\xfe\x00", "is not UTF-8 text (byte 5)"),
    "deep": (lambda _: b"[" * 100_000, "nested too deeply"),
    "too long": (lambda good: good + b" " * LIMIT_BYTES, "is longer than 4 MiB"),
    "equal keys": (
        lambda good: good.replace(b'"tank.mass"', b'"bat-1.current"'),
        "holds the key bat-1.current twice",
    ),
    "equal top keys": (lambda good: b'{"format": 1, ' + good[1:], "holds the key format twice"),
    "a list": (lambda good: b"[" + good + b"]", "holds a list; write a mapping"),
    "a number": (lambda _: b"1", "holds 1; write a mapping"),
    "another format": (lambda good: good.replace(b'"format": 1', b'"format": 2'), "format: found 2"),
    "true as format": (lambda good: good.replace(b'"format": 1', b'"format": true'), "format: found true"),
    "no format": (lambda good: good.replace(b'"format": 1, ', b""), "format: found nothing"),
    "no readings": (lambda _: b'{"format": 1, "at": ""}', "readings: found nothing"),
    "readings as list": (lambda _: b'{"format": 1, "readings": []}', "readings: found a list"),
}


@pytest.mark.parametrize(("spoil", "said"), REFUSED.values(), ids=REFUSED)
def test_a_document_that_cannot_be_trusted_is_refused_whole_and_the_last_good_one_stays(
    desk: Desk, spoil: Callable[[bytes], bytes], said: str
) -> None:
    desk.write(100, GOOD)
    before = desk.poll(101)
    desk.path.write_bytes(spoil(json.dumps(document(105, {**GOOD, "tank.mass": 39.0})).encode()))
    feed = desk.poll(112)
    assert (feed.quality, feed.at_s, feed.readings) == (Quality.SUSPECT, 100, before.readings)
    assert said in fault_of(feed)
    assert fault_of(feed).startswith("state file tern.json: ")
    assert fault_of(feed).endswith("; showing the last good one, 12 s old")
    desk.write(113, GOOD)
    assert (desk.poll(113).quality, desk.poll(113).faults) == (Quality.GOOD, ())


def test_the_last_good_document_grows_stale_behind_a_bad_one(desk: Desk) -> None:
    desk.write(100, GOOD)
    desk.poll(100)
    desk.write_text("{")
    feed = desk.poll(190)
    assert feed.quality is Quality.SUSPECT
    assert {reading.quality for reading in feed.readings.values()} == {Quality.STALE}
    assert feed.readings["tank.mass"].why == "1m30s old, stale after 1m00s"


def test_garbage_from_the_first_is_told_without_an_age(desk: Desk) -> None:
    desk.write_text("{")
    feed = desk.poll(100)
    assert (feed.quality, feed.at_s) == (Quality.SUSPECT, None)
    assert fault_of(feed).endswith("; nothing good was read from it yet")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("format: 1\nat: x\nreadings: {tank.mass: 1, tank.mass: 2}\n", "line 3: the key 'tank.mass' twice"),
        ("format: 1\nreadings:\n  tank.mass: 11.", "ends inside a line"),
        ("format: 1\nreadings: {tank.mass: 11.2", "ends inside a line"),
        ("format: 1\nreadings:\n  tank.mass:\n    value: 11.2\n", "ends with a value without its unit"),
        ("format: 1\nreadings: {tank.mass: 11.2\n", "cannot be read as YAML (line"),
        ("format: 1\nreadings: {tank.mass: &a 1}\n", "the anchor &a"),
        ("format: 1\nreadings: {tank.mass: 1e999}\n", "too large"),
        ("- 1\n", "holds a list"),
    ],
)
def test_yaml_that_cannot_be_trusted_is_refused_whole(yaml_desk: Desk, text: str, said: str) -> None:
    yaml_desk.write_text(text)
    feed = yaml_desk.poll(100)
    assert feed.quality is Quality.SUSPECT
    assert said in fault_of(feed)


def test_yaml_does_not_turn_texts_into_numbers_or_truth(yaml_desk: Desk) -> None:
    readings = "{bat-1.current: 010, o2-1.pressure: on, tank.mass: 1:30, o2-1.temperature: .nan}"
    yaml_desk.write_text(f"format: 1\nat: {utc(0)}\nreadings: {readings}\n")
    assert {reading.quality for reading in yaml_desk.poll(0).readings.values()} == {Quality.SUSPECT}


@pytest.mark.parametrize("constant", ["NaN", "Infinity", "-Infinity", "1e999", "-1e999", "9" * 5000])
def test_a_number_beyond_all_numbers_spoils_its_own_channel_only(desk: Desk, constant: str) -> None:
    desk.write_raw(100, f'"tank.mass": {constant}, "bat-1.current": 4.2')
    feed = desk.poll(100)
    assert feed.readings["tank.mass"].quality is Quality.SUSPECT
    assert f"found {constant[:30]}" in feed.readings["tank.mass"].why
    assert feed.readings["bat-1.current"].quality is Quality.GOOD


def test_an_unknown_top_key_is_a_fault_and_the_rest_is_used(desk: Desk) -> None:
    desk.write(100, GOOD, author="x")
    feed = desk.poll(100)
    assert feed.quality is Quality.GOOD
    assert fault_of(feed) == (
        "state file tern.json: found the key author; the keys are format, at and readings"
    )


def test_a_hundred_unknown_top_keys_do_not_make_a_hundred_faults(desk: Desk) -> None:
    desk.write(100, GOOD, **{f"x{number}": 0 for number in range(100)})
    faults = desk.poll(100).faults
    assert len(faults) == 6
    assert "95 more unknown keys" in faults[-1]


def test_an_unknown_channel_is_a_fault_that_names_the_nearest_and_the_others_are_used(desk: Desk) -> None:
    desk.write(100, {**GOOD, "o2-1.presure": 3})
    feed = desk.poll(100)
    assert fault_of(feed) == (
        "state file tern.json: found the channel o2-1.presure, which the craft does not have; "
        "the nearest is o2-1.pressure"
    )
    assert {reading.quality for reading in feed.readings.values()} == {Quality.GOOD}


def test_ten_thousand_unknown_channels_do_not_make_ten_thousand_faults(desk: Desk) -> None:
    desk.write(100, {**GOOD, **{f"x{number}": 0 for number in range(10_000)}})
    feed = desk.poll(100)
    assert len(feed.faults) == 6
    assert "9995 more" in feed.faults[-1]


def test_a_channel_that_is_not_in_the_document_is_missing_and_kept(desk: Desk) -> None:
    desk.write(100, GOOD)
    desk.poll(100)
    desk.write(110, {"tank.mass": 39.0})
    feed = desk.poll(110)
    reading = feed.readings["bat-1.current"]
    assert (reading.quality, reading.why) == (Quality.MISSING, "not in the state file")
    assert (reading.value_si, reading.at_s) == (4.2, 100)
    assert feed.readings["tank.mass"].value_si == 39.0
    assert feed.quality is Quality.GOOD


def test_a_document_without_a_time_serves_only_readings_with_their_own(desk: Desk) -> None:
    own = {"value": 40.0, "at": utc(99)}
    desk.write_text(json.dumps({"format": 1, "readings": {**GOOD, "tank.mass": own}}))
    feed = desk.poll(100)
    assert (feed.quality, feed.at_s) == (Quality.SUSPECT, 99)
    assert fault_of(feed) == "state file tern.json: at: found no time; write UTC as 2041-06-02T03:10:00Z"
    assert feed.readings["tank.mass"].quality is Quality.GOOD
    assert feed.readings["bat-1.current"].quality is Quality.SUSPECT


def test_a_producer_that_restarts_with_an_earlier_clock_is_flagged_until_it_has_caught_up(desk: Desk) -> None:
    desk.write(100, GOOD)
    desk.poll(100)
    for at_s in (40, 70, 99):
        desk.write(at_s, {**GOOD, "tank.mass": 39.0})
        feed = desk.poll(101)
        assert (feed.quality, feed.at_s) == (Quality.SUSPECT, 100)
        assert "its time went back" in fault_of(feed)
        assert feed.readings["tank.mass"].quality is Quality.SUSPECT
        assert feed.readings["tank.mass"].value_si == 40.0
    desk.write(102, {**GOOD, "tank.mass": 39.0})
    feed = desk.poll(102)
    assert (feed.quality, feed.readings["tank.mass"].value_si) == (Quality.GOOD, 39.0)


def test_a_time_that_stands_still_while_values_change_is_suspect_and_the_first_values_stay(
    desk: Desk,
) -> None:
    desk.write(100, GOOD)
    desk.poll(100)
    desk.write(100, {**GOOD, "tank.mass": 39.0})
    for _ in range(2):
        feed = desk.poll(105)
        assert feed.readings["tank.mass"].quality is Quality.SUSPECT
        assert feed.readings["tank.mass"].value_si == 40.0
        assert feed.readings["bat-1.current"].quality is Quality.GOOD


def test_a_document_from_the_future_is_not_taken_until_its_moment_has_come(desk: Desk) -> None:
    desk.write(100, GOOD)
    desk.poll(100)
    desk.write(3700, {**GOOD, "tank.mass": 39.0})
    feed = desk.poll(101)
    assert (feed.quality, feed.at_s, feed.readings["tank.mass"].value_si) == (Quality.SUSPECT, 100, 40.0)
    assert "its time lies 59m59s ahead of now; it is not taken" in fault_of(feed)
    assert feed.readings["tank.mass"].quality is Quality.SUSPECT
    feed = desk.poll(3701)
    assert (feed.quality, feed.readings["tank.mass"].value_si) == (Quality.GOOD, 39.0)


def test_a_clock_that_runs_a_little_ahead_is_taken_and_named(desk: Desk) -> None:
    desk.write(120, {**GOOD, "tank.mass": {"value": 40.0, "at": utc(130)}})
    feed = desk.poll(100)
    assert feed.quality is Quality.GOOD
    assert [fault.removeprefix("state file tern.json: ") for fault in feed.faults] == [
        "its time lies 20 s ahead of now; the two clocks differ",
        "tank.mass: its time lies 30 s ahead of now; the two clocks differ",
    ]
    assert desk.poll(126).faults == ()


def test_a_frozen_producer_grows_stale_though_its_file_is_touched(desk: Desk) -> None:
    desk.write(100, GOOD)
    assert desk.poll(160).quality is Quality.GOOD
    os.utime(desk.path)
    feed = desk.poll(161)
    assert feed.quality is Quality.STALE
    assert {reading.quality for reading in feed.readings.values()} == {Quality.STALE}


def test_an_unchanged_file_is_neither_parsed_nor_waited_for_again(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    parsed = []

    def count(content: bytes, *, is_yaml: bool) -> Any:
        parsed.append(content)
        return parse_state_document(content, is_yaml=is_yaml)

    monkeypatch.setattr("console.feed.state_file.parse_state_document", count)
    desk.write(100, GOOD)
    ages = [desk.poll(now_s).readings["tank.mass"].age_s(now_s) for now_s in (100, 101, 102)]
    assert ages == [0, 1, 2]
    assert (len(parsed), desk.sleep.calls) == (1, 1)
    desk.write_text("{")
    desk.poll(103)
    waited = desk.sleep.calls
    assert waited > 2, "a new trouble is tried a few times"
    desk.poll(104)
    desk.poll(105)
    assert (len(parsed), desk.sleep.calls) == (2, waited)


def test_a_file_that_stays_away_is_waited_for_once(desk: Desk) -> None:
    desk.poll(100)
    waited = desk.sleep.calls
    desk.poll(101)
    assert (waited > 0, desk.sleep.calls) == (True, waited)


def test_a_file_that_is_away_for_a_moment_is_no_trouble(desk: Desk) -> None:
    desk.write(100, GOOD)
    desk.poll(100)
    desk.path.unlink()
    desk.sleep.meanwhile = lambda calls: desk.write(101, GOOD) if calls == 3 else None
    feed = desk.poll(101)
    assert (feed.quality, feed.faults, feed.at_s) == (Quality.GOOD, (), 101)


def test_a_document_that_is_half_written_is_waited_for(desk: Desk) -> None:
    whole = json.dumps(document(100, GOOD))
    desk.write_text(whole[:50])
    desk.sleep.meanwhile = lambda calls: desk.write_text(whole) if calls == 1 else None
    assert desk.poll(100).faults == ()


def test_another_half_written_document_at_the_next_poll_is_waited_for_too(desk: Desk) -> None:
    whole = json.dumps(document(100, GOOD))
    desk.write_text(whole[:50])
    assert desk.poll(100).faults
    waited = desk.sleep.calls
    desk.write_text(whole[:60])
    desk.sleep.meanwhile = lambda calls: desk.write_text(whole) if calls == waited + 2 else None
    assert desk.poll(100).faults == ()


def test_a_mix_of_two_documents_of_one_length_is_not_taken_while_it_is_being_written(desk: Desk) -> None:
    old, new = (json.dumps(document(at_s, dict.fromkeys(GOOD, at_s / 10))) for at_s in (100, 200))
    half = len(old) // 2
    mix = new[:half] + old[half:]
    assert parse_state_document(mix.encode(), is_yaml=False), "it parses, so parsing cannot tell"
    desk.write_text(mix)
    desk.sleep.meanwhile = lambda calls: desk.write_text(new) if calls == 1 else None
    assert {reading.at_s for reading in desk.poll(200).readings.values()} == {200}


def test_a_file_that_never_stands_still_is_refused_and_tried_again_at_the_next_poll(desk: Desk) -> None:
    desk.write(0, GOOD)
    desk.sleep.meanwhile = lambda calls: desk.write(calls, {**GOOD, "tank.mass": calls})
    feed = desk.poll(1000)
    assert feed.quality is Quality.SUSPECT
    assert "rewritten faster than it can be read" in fault_of(feed)
    desk.sleep.meanwhile = lambda _: None
    assert desk.poll(1000).faults == ()


def test_a_writer_that_renames_is_read_however_fast_it_is(desk: Desk, tmp_path: Path) -> None:
    def rename(calls: int) -> None:
        beside = tmp_path / "tern.json.new"
        beside.write_text(json.dumps(document(calls, GOOD)))
        beside.replace(desk.path)

    rename(0)
    desk.sleep.meanwhile = rename
    feeds = [desk.poll(100 + n) for n in range(5)]
    assert [feed.at_s for feed in feeds] == [0, 1, 2, 3, 4]
    assert not any(feed.faults for feed in feeds)


def _make_folder(path: Path) -> None:
    path.mkdir()


def _make_pipe(path: Path) -> None:
    os.mkfifo(path)


def _make_socket(path: Path) -> None:
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(str(path))


def _make_loop(path: Path) -> None:
    path.symlink_to(path)


def _make_device_link(path: Path) -> None:
    path.symlink_to("/dev/zero")


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (_make_folder, "is a folder"),
        (_make_pipe, "is no plain file"),
        (_make_socket, "cannot be opened ("),
        (_make_loop, "cannot be opened ("),
        (_make_device_link, "is no plain file"),
    ],
)
def test_something_else_in_the_files_place_is_missing_and_named(
    make: Callable[[Path], None], said: str
) -> None:
    # Not under tmp_path: a socket's path has at most 107 characters.
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(Path(folder) / "tern.json")
        desk.write(100, GOOD)
        desk.poll(100)
        desk.path.unlink()
        make(desk.path)
        feed = desk.poll(112)
    assert feed.quality is Quality.MISSING
    assert said in fault_of(feed)
    assert fault_of(feed).endswith("showing the last good one, 12 s old")


@pytest.mark.parametrize("name", ["a\0b.json", "x" * 300 + ".json", "no/such/folder.json"])
def test_a_path_that_cannot_be_is_missing(tmp_path: Path, name: str) -> None:
    source = StateFileSource(tmp_path / name, CHANNELS, EPOCH, sleep=lambda _: None)
    feed = source.poll(0)
    assert feed.quality is Quality.MISSING
    assert len(fault_of(feed)) < 200


def test_a_name_with_an_escape_sequence_is_spelled_out(tmp_path: Path) -> None:
    source = StateFileSource(tmp_path / "\x1b[2J.json", CHANNELS, EPOCH, sleep=lambda _: None)
    assert source.poll(0).source == r"state file '\x1b[2J.json'"


NOT_PERMITTED = """
import os, sys
from pathlib import Path
from console.feed.state_file import StateFileSource
from console.instants import parse_utc
if os.getuid() == 0:
    os.setuid(65534)  # root may read everything, so become one who may not
feed = StateFileSource(Path(sys.argv[1]), {}, parse_utc("2041-06-02T03:10:00Z")).poll(0)
print(feed.quality.value, *feed.faults)
"""


def test_a_file_that_may_not_be_read_is_missing_and_says_so() -> None:
    root = Path(__file__).parents[2]
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o755)
        path = Path(folder) / "tern.json"
        path.write_text("{}")
        path.chmod(0)
        asked = [sys.executable, "-c", NOT_PERMITTED, str(path)]
        answer = subprocess.run(asked, cwd=root, capture_output=True, text=True, check=True)
    assert answer.stdout.startswith("missing state file tern.json: cannot be opened (permission denied)")


@given(
    content=st.binary(max_size=200) | st.text(max_size=200).map(str.encode),
    suffix=st.sampled_from(["json", "yaml"]),
)
@settings(max_examples=150, deadline=None)
def test_whatever_bytes_are_in_the_file_poll_does_not_raise(content: bytes, suffix: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(Path(folder) / f"tern.{suffix}")
        desk.path.write_bytes(content)
        feed = desk.poll(0)
    assert feed.quality in (Quality.SUSPECT, Quality.MISSING)
    assert all(fault.isprintable() for fault in feed.faults)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.text() | st.sampled_from(["value", "unit", "at", *CHANNELS]), inner, max_size=4)
    ),
    max_leaves=10,
)
TOP = st.fixed_dictionaries(
    {"format": st.just(1) | JSON, "readings": st.dictionaries(st.sampled_from(list(CHANNELS)), JSON) | JSON},
    optional={"at": st.just(utc(0)) | JSON, "more": JSON},
)


@given(top=TOP, cut=st.none() | st.integers(0, 300))
@settings(max_examples=200, deadline=None)
def test_whatever_document_is_in_the_file_poll_does_not_raise(top: dict[str, Any], cut: int | None) -> None:
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(Path(folder) / "tern.json")
        desk.write_text(json.dumps(top)[:cut])
        feed = desk.poll(10)
    assert list(feed.readings) == list(CHANNELS)
    assert all(
        text.isprintable() for text in (*feed.faults, *(reading.why for reading in feed.readings.values()))
    )


@given(cut=st.integers(0, 400))
def test_a_document_in_json_that_was_cut_anywhere_is_refused(cut: int) -> None:
    whole = json.dumps(document(100, {**GOOD, "tank.mass": {"value": 1.25, "unit": "kg", "at": utc(99)}}))
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(Path(folder) / "tern.json")
        desk.write_text(whole[: min(cut, len(whole) - 1)])
        assert desk.poll(100).at_s is None


def test_the_documents_own_time_is_told_without_a_session(desk: Desk) -> None:
    desk.write(100, {"tank.mass": {"value": 1, "at": utc(90)}})
    assert state_file_time_s(desk.path, EPOCH, sleep=desk.sleep) == 100


def test_without_a_time_of_its_own_the_newest_readings_time_counts(desk: Desk) -> None:
    desk.write_raw(100, f'"tank.mass": {{"at": "{utc(90)}"}}, "x": {{"at": "{utc(95)}"}}, "y": {{"at": 1}}')
    desk.write_text(desk.path.read_text().replace(f'"at": "{utc(100)}"', '"at": "noon"'))
    assert state_file_time_s(desk.path, EPOCH, sleep=desk.sleep) == 95


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (None, "state file tern.json: is not there"),
        ("{", "state file tern.json: cannot be read as JSON (line 1"),
        ('{"format": 1, "readings": {}}', "state file tern.json: at: found no time; write UTC as"),
        ('{"format": 1, "at": "noon", "readings": {}}', "state file tern.json: at: found 'noon'"),
    ],
)
def test_a_time_that_cannot_be_had_is_a_clear_error(desk: Desk, text: str | None, said: str) -> None:
    if text is not None:
        desk.write_text(text)
    with pytest.raises(FeedError) as caught:
        state_file_time_s(desk.path, EPOCH, sleep=desk.sleep)
    assert str(caught.value).startswith(said)


def test_the_own_time_too_is_waited_for_while_it_is_written(desk: Desk) -> None:
    desk.sleep.meanwhile = lambda calls: desk.write(100, GOOD) if calls == 2 else None
    assert state_file_time_s(desk.path, EPOCH, sleep=desk.sleep) == 100


def test_a_clock_of_this_side_that_goes_back_does_not_make_the_last_good_one_look_new(desk: Desk) -> None:
    desk.write(7200, GOOD)
    desk.poll(7200)
    again = desk.poll(100)
    assert again.quality is Quality.SUSPECT
    assert {reading.quality for reading in again.readings.values()} == {Quality.SUSPECT}
    desk.path.unlink()
    gone = desk.poll(100)
    assert "showing the last good one, whose time lies 1h59m ahead" in gone.faults[0]
    assert {reading.quality for reading in gone.readings.values()} == {Quality.SUSPECT}


def test_a_source_is_stale_when_its_soonest_ageing_channel_is(tmp_path: Path) -> None:
    channels = {**CHANNELS, "tank.mass": replace(CHANNELS["tank.mass"], stale_after_s=600.0)}
    path = tmp_path / "tern.json"
    path.write_text(json.dumps(document(100, GOOD)))
    feed = StateFileSource(path, channels, EPOCH, sleep=lambda _: None).poll(170)
    assert feed.quality is Quality.STALE
    assert feed.readings["tank.mass"].quality is Quality.GOOD


def test_a_file_that_has_stood_for_long_is_not_waited_for(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("console.feed.rewritten_file.STOOD_S", -1.0)  # so that any file has
    desk.write(100, GOOD)
    assert (desk.poll(100).quality, desk.sleep.calls) == (Quality.GOOD, 0)


def test_a_fresh_file_whose_time_of_writing_was_set_back_is_waited_for(desk: Desk) -> None:
    desk.write(100, GOOD)
    os.utime(desk.path, (0, 0))
    assert (desk.poll(100).quality, desk.sleep.calls) == (Quality.GOOD, 1)
