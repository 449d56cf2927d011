"""What is told of a growing file: one outcome for everything that can be wrong in a line."""

from __future__ import annotations

from pathlib import Path

import pytest
from feed_builders import CHANNELS, EPOCH, utc
from growing_builders import HEADER, NOW_S, Growing, arrived_of, faults_of, growing_with, json_line, line

from console.engine.reading import Quality
from console.feed.growing_file import GrowingFileSource
from console.feed.growing_told import TOLD_FOR_S
from console.feed.validity import said_of


def test_good_lines_arrive_in_their_order_and_the_newest_is_the_reading(tmp_path: Path) -> None:
    growing = growing_with(
        tmp_path / "tern.csv",
        HEADER
        + line(990, "bat-1.current", 4.2)
        + line(991, "tank.mass", 40)
        + line(992, "bat-1.current", 4.3),
    )
    feed = growing.poll()
    assert (feed.source, feed.at_s, feed.quality) == ("growing file tern.csv", 992, Quality.GOOD)
    assert arrived_of(feed) == {"bat-1.current": [(990, 4.2), (992, 4.3)], "tank.mass": [(991, 40.0)]}
    assert list(feed.arrived) == ["bat-1.current", "tank.mass"]
    assert list(feed.readings) == list(CHANNELS)
    assert feed.readings["bat-1.current"].value_si == 4.3
    assert feed.readings["o2-1.pressure"].quality is Quality.MISSING
    assert feed.readings["o2-1.pressure"].why == "not in the growing file so far"
    assert feed.faults == ()
    assert not feed.is_simulated


def test_what_arrived_cannot_be_changed_by_whoever_gets_it(tmp_path: Path) -> None:
    feed = growing_with(tmp_path / "tern.csv", HEADER + line(990, "tank.mass", 40)).poll()
    with pytest.raises(ValueError, match="read-only"):
        feed.arrived["tank.mass"].values_si[0] = 0.0


def test_a_poll_gives_only_what_was_added_and_reads_only_that(tmp_path: Path) -> None:
    growing = growing_with(tmp_path / "tern.csv", HEADER + line(990, "tank.mass", 40))
    growing.poll()
    before, given = growing.source.bytes_read, growing.reads.bytes
    added = line(991, "tank.mass", 39.5)
    growing.add(added)
    assert arrived_of(growing.poll()) == {"tank.mass": [(991, 39.5)]}
    assert growing.source.bytes_read - before == len(added)
    assert growing.reads.bytes - given <= len(added) + 3 * 128, "and the few bytes by which it knows the file"
    assert arrived_of(growing.poll()) == {}


def test_a_line_without_its_break_is_kept_waiting_and_neither_judged_nor_lost(tmp_path: Path) -> None:
    growing = growing_with(
        tmp_path / "tern.csv", HEADER + line(990, "tank.mass", 40) + utc(995) + ",tank.mass,3"
    )
    assert arrived_of(growing.poll()) == {"tank.mass": [(990, 40.0)]}
    growing.add("9")
    half = growing.poll()
    assert (arrived_of(half), half.faults, half.readings["tank.mass"].value_si) == ({}, (), 40.0)
    growing.add(".25\n")
    assert arrived_of(growing.poll()) == {"tank.mass": [(995, 39.25)]}


def test_values_are_stale_by_their_own_time_and_not_by_that_of_the_file(tmp_path: Path) -> None:
    growing = growing_with(tmp_path / "tern.csv", HEADER + line(900, "tank.mass", 40))
    feed = growing.poll()
    assert feed.quality is Quality.STALE
    assert feed.readings["tank.mass"].quality is Quality.STALE
    assert arrived_of(feed) == {"tank.mass": [(900, 40.0)]}


def test_null_and_an_empty_cell_are_missing_and_the_last_good_value_is_kept(tmp_path: Path) -> None:
    csv = growing_with(
        tmp_path / "tern.csv", HEADER + line(990, "tank.mass", 40) + line(991, "tank.mass", "")
    )
    text = json_line(990, "tank.mass", 40.0) + json_line(991, "tank.mass", None)
    for growing in (csv, growing_with(tmp_path / "tern.jsonl", text)):
        reading = growing.poll().readings["tank.mass"]
        assert (reading.quality, reading.why) == (Quality.MISSING, "the source says null")
        assert (reading.value_si, reading.at_s) == (40.0, 990)
        assert growing.source.refused_lines == 0


def test_units_are_read_from_their_column_from_the_value_or_are_the_channels(tmp_path: Path) -> None:
    rows = ["bat-1.current,4200,mA", "o2-1.pressure,11.2 MPa,", "o2-1.temperature,18,", "tank.mass,88,lb"]
    text = "at,channel,value,unit\n" + "".join(f"{utc(990)},{row}\n" for row in rows)
    readings = growing_with(tmp_path / "tern.csv", text).poll().readings
    assert [readings[name].quality for name in CHANNELS] == [Quality.GOOD] * 4
    values = [readings[name].value_si for name in CHANNELS]
    assert values == pytest.approx([4.2, 11.2e6, 291.15, 88 * 0.45359237])


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        (f"{utc(991)},tank.mass", "found 2 cells; write 3: at,channel,value"),
        (f"{utc(991)},tank.mass,4,5", "found 4 cells; write 3: at,channel,value"),
        ("tank.mass", "found 1 cell; write 3: at,channel,value"),
        (f"{utc(991)},,4", "found no channel; write a channel of the craft"),
        (
            f'{utc(991)},"tank.mass,4',
            "found quotes that do not fit; quote a whole cell, and write a quote inside it twice",
        ),
        (f"{utc(991)},tank.mass,4\0", "found a null byte; write text in UTF-8"),
        (f"{utc(991)},tank.mass,4".encode() + b"\xff", "found no UTF-8 text (byte 33); write UTF-8"),
        (b"x" * 65_537, "found more than 64 KiB without a line break; write one reading a line"),
    ],
)
def test_a_line_that_is_none_costs_itself_and_is_told_with_its_number(
    tmp_path: Path, content: str | bytes, fault: str
) -> None:
    raw = content.encode() if isinstance(content, str) else content
    text = (HEADER + line(990, "tank.mass", 40)).encode() + raw + b"\n" + line(992, "tank.mass", 39).encode()
    growing = growing_with(tmp_path / "tern.csv", text)
    feed = growing.poll()
    assert faults_of(feed) == [f"line 3: {fault}"]
    assert arrived_of(feed) == {"tank.mass": [(990, 40.0), (992, 39.0)]}
    assert (growing.source.refused_lines, feed.quality) == (1, Quality.GOOD)


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        ("{", "found no JSON (Expecting property name enclosed in double quotes); write {"),
        ("[1]", "found a list; write {"),
        ('{"at": "x", "value": 1}', "found no channel; write {"),
        ('{"channel": 7, "value": 1}', "found 7 as the channel; write a channel of the craft"),
        (
            '{"channel": "tank.mass", "value": 1, "value": 2}',
            "found the key value twice; write every key once",
        ),
        ("[" * 60_000, "found JSON that is nested too deeply; write {"),
    ],
)
def test_a_line_of_json_that_is_none_costs_itself(tmp_path: Path, content: str, fault: str) -> None:
    text = json_line(990, "tank.mass", 40.0) + content + "\n" + json_line(992, "tank.mass", 39.0)
    feed = growing_with(tmp_path / "tern.jsonl", text).poll()
    assert len(feed.faults) == 1
    assert faults_of(feed)[0].startswith(f"line 2: {fault}")
    assert arrived_of(feed) == {"tank.mass": [(990, 40.0), (992, 39.0)]}


SINGLE_VALUES = [
    "nan",
    "1e999",
    "-Infinity",
    "true",
    "4.2 furlong",
    "11 kg",
    "90",
    "-3",
    "x" * 90,
    "4.2 kPa",
    "١",
]


@pytest.mark.parametrize("value", SINGLE_VALUES)
def test_a_bad_value_is_refused_in_the_words_of_the_feeds_own_judgement(tmp_path: Path, value: str) -> None:
    growing = growing_with(
        tmp_path / "tern.csv", HEADER + line(990, "bat-1.current", 4) + line(991, "bat-1.current", value)
    )
    feed = growing.poll()
    reading = feed.readings["bat-1.current"]
    assert (reading.quality, reading.value_si, reading.at_s) == (Quality.SUSPECT, 4.0, 990)
    assert faults_of(feed) == [f"line 3: bat-1.current: {reading.why}"]
    assert reading.why.startswith("found ")


@pytest.mark.parametrize(
    "raw", [{"value": 90}, {"value": 4, "unit": "kg"}, {"value": "4 A", "unit": "A"}, {"valu": 4}]
)
def test_json_values_are_refused_in_the_words_of_the_feeds_own_judgement(
    tmp_path: Path, raw: dict[str, object]
) -> None:
    value = raw.pop("value", None)
    text = json_line(990, "bat-1.current", value, **raw)
    said = said_of({"at": utc(990), "value": value, **raw}, CHANNELS["bat-1.current"], None, EPOCH)
    feed = growing_with(tmp_path / "tern.jsonl", text).poll()
    assert feed.readings["bat-1.current"].why == said.why


@pytest.mark.parametrize(
    "at", ["", "2041-06-02T03:10:00", "2041-06-02 03:10:00Z", "2041-13-02T03:10:00Z", "12"]
)
def test_a_bad_time_is_refused_with_what_to_write(tmp_path: Path, at: str) -> None:
    feed = growing_with(tmp_path / "tern.csv", HEADER + f"{at},tank.mass,40\n").poll()
    assert faults_of(feed)[-1].startswith(f"line 2: tank.mass: its time: found {at!r}; write ")
    assert arrived_of(feed) == {}


def test_a_channel_that_the_craft_lacks_is_told_once_with_the_nearest(tmp_path: Path) -> None:
    text = HEADER + line(990, "tank.mass", 40) + 50 * line(990, "tank.mas", 1) + line(990, "\x1b[2J", 1)
    growing = growing_with(tmp_path / "tern.csv", text)
    faults = faults_of(growing.poll())
    assert faults == [
        "found the channel tank.mas, which the craft does not have; the nearest is tank.mass",
        "found the channel '\\x1b[2J', which the craft does not have; the nearest is o2-1.pressure",
    ]
    growing.add(50 * line(991, "tank.mas", 1) + line(991, "tank.mass", 39))
    assert faults_of(growing.poll()) == faults
    assert growing.source.refused_lines == 0


def test_many_channels_that_the_craft_lacks_make_few_faults(tmp_path: Path) -> None:
    text = HEADER + "".join(line(990, f"x{number}", 1) for number in range(5000))
    faults = faults_of(growing_with(tmp_path / "tern.csv", text).poll())
    assert len(faults) == 7
    assert faults[-1] == "found 995 more channels that the craft does not have"


def test_a_few_refused_lines_are_listed_the_newest_and_the_rest_is_counted(tmp_path: Path) -> None:
    growing = growing_with(tmp_path / "tern.csv", HEADER + "x\n" * 40_000 + line(990, "tank.mass", 40))
    faults = faults_of(growing.poll())
    due = "found 1 cell; write 3: at,channel,value"
    assert faults == [
        *(f"line {number}: {due}" for number in (39_999, 40_000, 40_001)),
        "and 39,997 more lines refused since the start",
    ]
    assert growing.source.refused_lines == 40_000


def test_refused_lines_are_told_for_some_minutes_and_stay_counted(tmp_path: Path) -> None:
    growing = growing_with(tmp_path / "tern.csv", HEADER + line(990, "tank.mass", 40) + "x\n")
    assert len(growing.poll().faults) == 1
    growing.add(line(995, "tank.mass", 39))
    assert len(growing.poll(NOW_S + TOLD_FOR_S).faults) == 1
    assert growing.poll(NOW_S + TOLD_FOR_S + 1).faults == ()
    assert growing.source.refused_lines == 1
    growing.add("x\n" + line(1601, "tank.mass", 38))
    assert faults_of(growing.poll(NOW_S + TOLD_FOR_S + 2))[0].startswith("line 3: ")


def test_lines_of_which_none_can_be_used_make_the_source_suspect_until_a_good_one_comes(
    tmp_path: Path,
) -> None:
    growing = growing_with(tmp_path / "tern.csv", HEADER + line(990, "tank.mass", 40))
    growing.poll()
    growing.add("x\ny\n")
    feed = growing.poll()
    assert feed.quality is Quality.SUSPECT
    assert faults_of(feed)[0] == (
        "none of the lines that came last could be used; showing the last good readings, 10 s old"
    )
    growing.add(line(995, "tank.mass", 39))
    assert growing.poll().quality is Quality.GOOD


def test_times_that_do_not_rise_are_left_out_counted_and_told(tmp_path: Path) -> None:
    lines = [(990, 40), (985, 41), (990, 40), (990, 42), (991, 39), (988, 38)]
    growing = growing_with(
        tmp_path / "tern.csv", HEADER + "".join(line(at_s, "tank.mass", value) for at_s, value in lines)
    )
    feed = growing.poll()
    assert arrived_of(feed) == {"tank.mass": [(990, 40.0), (991, 39.0)]}
    told = "line 7: tank.mass: its time lies 3 s before the last good one"
    assert faults_of(feed) == [f"4 readings were left out because time did not rise; the last: {told}"]
    assert feed.readings["tank.mass"].why == "its time lies 3 s before the last good one"
    growing.add(line(991, "tank.mass", 39))
    again = growing.poll()
    assert "the last good time again, with the same value" in again.faults[0]
    assert again.readings["tank.mass"].quality is Quality.GOOD
    growing.add(line(991, "tank.mass", 38))
    assert growing.poll().readings["tank.mass"].why == "time did not advance, but the value became 38 kg"


def test_a_time_too_far_ahead_is_refused_and_the_newest_is_taken_once_its_time_has_come(
    tmp_path: Path,
) -> None:
    text = HEADER + line(1000, "tank.mass", 40) + line(1061, "tank.mass", 39) + line(1062, "tank.mass", 38)
    growing = growing_with(tmp_path / "tern.csv", text)
    feed = growing.poll()
    assert arrived_of(feed) == {"tank.mass": [(1000, 40.0)]}
    assert faults_of(feed) == [
        "line 3: tank.mass: its time lies 1m01s ahead of now; it is not taken",
        "line 4: tank.mass: its time lies 1m02s ahead of now; it is not taken",
    ]
    assert feed.readings["tank.mass"].quality is Quality.SUSPECT
    later = growing.poll(1002)
    assert arrived_of(later) == {"tank.mass": [(1062, 38.0)]}
    assert later.readings["tank.mass"].at_s == 1062
    growing.add(line(1062, "tank.mass", 38))
    assert arrived_of(growing.poll(1003)) == {}


def test_a_clock_that_goes_ahead_a_little_is_named_once_for_all_channels(tmp_path: Path) -> None:
    text = HEADER + line(1010, "tank.mass", 40) + line(1010, "bat-1.current", 4)
    feed = growing_with(tmp_path / "tern.csv", text).poll()
    assert faults_of(feed) == ["its time lies 10 s ahead of now; the two clocks differ"]
    assert feed.quality is Quality.GOOD


@pytest.mark.parametrize(
    ("header", "fault"),
    [
        ("at,channel", "found no column value; write the header at,channel,value, or at,channel,value,unit"),
        ("at,channel,valeu", "found the column valeu (did you mean value?); write the header"),
        ("at,channel,value,at", "found the column at twice; write the header"),
        (f"{utc(990)},tank.mass,40", "found no header and no JSON; write the header"),
        ("PK\x03\x04\0\0", "found a null byte; write text in UTF-8"),
    ],
)
def test_a_file_whose_first_line_says_nothing_is_suspect_and_not_read(
    tmp_path: Path, header: str, fault: str
) -> None:
    growing = growing_with(tmp_path / "tern.csv", header + "\n" + line(990, "tank.mass", 40))
    for _ in range(2):
        feed = growing.poll()
        assert (feed.quality, arrived_of(feed)) == (Quality.SUSPECT, {})
        assert faults_of(feed)[0].startswith(f"line 1: {fault}")
        assert faults_of(feed)[0].endswith("nothing good was read from it yet")
    growing.path.write_text(HEADER + line(990, "tank.mass", 40))
    assert growing.poll().quality is Quality.GOOD


def test_a_first_line_without_end_is_refused_and_read_again_when_it_is_mended(tmp_path: Path) -> None:
    growing = growing_with(tmp_path / "tern.csv", b"x" * 200_000)
    assert faults_of(growing.poll())[0].startswith("line 1: found more than 64 KiB without a line break")
    growing.path.write_text(HEADER + line(990, "tank.mass", 40))
    assert growing.poll().quality is Quality.GOOD


def test_the_first_line_tells_the_format_and_the_suffix_only_where_it_says_nothing(tmp_path: Path) -> None:
    json_text = json_line(990, "tank.mass", 40.0)
    assert growing_with(tmp_path / "a.csv", "\n \n" + json_text).poll().quality is Quality.GOOD
    assert (
        growing_with(tmp_path / "a.jsonl", "\ufeff\n" + HEADER + line(990, "tank.mass", 40)).poll().quality
        is Quality.GOOD
    )
    torn = growing_with(tmp_path / "b.jsonl", '"value": 3}\n' + json_text).poll()
    assert arrived_of(torn) == {"tank.mass": [(990, 40.0)]}
    assert faults_of(torn)[0].startswith("line 1: found no JSON")


@pytest.mark.parametrize("text", ["", HEADER, "at,channel"])
def test_a_file_without_readings_is_missing_and_says_so(tmp_path: Path, text: str) -> None:
    feed = growing_with(tmp_path / "tern.csv", text).poll()
    assert (feed.quality, feed.at_s) == (Quality.MISSING, None)
    assert faults_of(feed) == ["holds no readings of the craft yet"]


def test_a_long_file_is_taken_in_over_several_polls_and_each_says_how_far_it_is(tmp_path: Path) -> None:
    text = HEADER + "".join(line(at_s, "tank.mass", 40) for at_s in range(1000))
    growing = growing_with(tmp_path / "tern.csv", text, most_bytes_per_poll=len(text) // 4 - 100)
    feed = growing.poll()
    assert not growing.source.is_caught_up
    assert feed.quality is Quality.SUSPECT
    assert faults_of(feed)[0].startswith("still reading: 24 % of 0.0 MiB")
    feeds = [feed]
    while not growing.source.is_caught_up:
        feeds.append(growing.poll())
    assert len(feeds) == 5
    assert arrived_of(*feeds) == {"tank.mass": [(float(at_s), 40.0) for at_s in range(1000)]}
    assert (feeds[-1].quality, feeds[-1].faults) == (Quality.GOOD, ())


def test_a_poll_of_lines_that_are_read_one_by_one_takes_fewer_of_them(tmp_path: Path) -> None:
    plain = HEADER + line(990, "tank.mass", 40) * 4000
    slow = HEADER + line(990, "tank.mass", "40 kg") * 4000
    fast = growing_with(tmp_path / "a.csv", plain, most_bytes_per_poll=2 * len(plain))
    one_by_one = growing_with(tmp_path / "b.csv", slow, most_bytes_per_poll=2 * len(plain))
    fast.poll(), one_by_one.poll()
    assert fast.source.is_caught_up
    assert not one_by_one.source.is_caught_up


def test_a_craft_without_channels_reads_a_file_and_raises_nothing(tmp_path: Path) -> None:
    growing = growing_with(tmp_path / "tern.csv", HEADER + line(990, "tank.mass", 40))
    feed = GrowingFileSource(growing.path, {}, EPOCH).poll(NOW_S)
    assert (feed.readings, feed.quality) == ({}, Quality.SUSPECT)


def test_a_line_too_long_to_be_one_is_passed_over_without_being_held(tmp_path: Path) -> None:
    growing = Growing(tmp_path / "tern.csv")
    growing.add(HEADER + line(990, "tank.mass", 40))
    for _ in range(40):
        growing.add(b"x" * 50_000)
        growing.poll()
        assert len(growing.source._reader.place.half) <= 2**16
    growing.add("\n" + line(995, "tank.mass", 39))
    feed = growing.poll()
    assert arrived_of(feed) == {"tank.mass": [(995, 39.0)]}
    assert growing.source.refused_lines == 1
    assert faults_of(feed) == [
        "line 3: found more than 64 KiB without a line break; write one reading a line"
    ]
