"""A new start reads on where the last one stopped, reads only what is new, and makes nothing look better."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from feed_builders import CHANNELS, EPOCH
from growing_builders import HEADER, Growing, arrived_of, faults_of, growing_with, json_line, line
from hypothesis import given, settings
from hypothesis import strategies as st

from console.engine.reading import Quality
from console.errors import FeedError
from console.feed.growing_file import GrowingFileSource
from console.feed.growing_lines import FINGERPRINT_BYTES
from console.feed.growing_resume import Resume, resume_from

FIRST = HEADER + "".join(line(900 + step, name, 20 - step / 8) for step in range(80) for name in CHANNELS)


def kept(resume: Resume) -> Resume:
    """A place as it comes back from where it was kept."""
    return resume_from(json.loads(json.dumps(resume.as_mapping())))


def started_again(growing: Growing, **options: Any) -> Growing:
    """A new run on the same file, from what the last one kept."""
    return Growing(growing.path, resume=kept(growing.source.place()), **options)


@pytest.fixture
def growing(tmp_path: Path) -> Growing:
    """A file of which some hundred lines were taken."""
    made = growing_with(tmp_path / "tern.csv", FIRST)
    made.poll()
    return made


def test_a_new_start_reads_only_the_new_bytes(growing: Growing) -> None:
    added = line(985, "tank.mass", 9.5)
    growing.add(added)
    again = started_again(growing)
    feed = again.poll()
    assert arrived_of(feed) == {"tank.mass": [(985, 9.5)]}
    assert again.source.bytes_read == len(added)
    assert again.reads.bytes <= len(added) + 2 * FINGERPRINT_BYTES, "and the few by which it knows the file"
    assert feed.faults == ()


def test_a_new_start_on_a_file_that_did_not_grow_reads_nothing_and_knows_the_last_readings(
    growing: Growing,
) -> None:
    before, again = growing.poll(), started_again(growing)
    after = again.poll()
    assert again.source.bytes_read == 0
    assert after.readings == before.readings
    assert (after.quality, after.at_s, after.faults) == (before.quality, before.at_s, ())
    assert arrived_of(after) == {}


def test_a_half_line_is_read_again_after_a_new_start(growing: Growing) -> None:
    growing.add("2041-06-02T03:26:25Z,tank.ma")
    growing.poll()
    growing.add("ss,9.5\n")
    assert arrived_of(started_again(growing).poll()) == {"tank.mass": [(985, 9.5)]}


def test_line_numbers_and_the_count_of_refused_lines_go_on_after_a_new_start(growing: Growing) -> None:
    growing.add("x\n")
    growing.poll()
    again = started_again(growing)
    again.add("y\n" + line(986, "tank.mass", 9))
    assert faults_of(again.poll()) == [
        "line 323: found 1 cell; write 3: at,channel,value",
        "and 1 more line refused since the start",
    ]
    assert FIRST.count("\n") == 321


@pytest.mark.parametrize("value", ["", "nan", "90 kg", "x"])
def test_a_word_that_was_not_good_is_no_better_after_a_new_start(growing: Growing, value: str) -> None:
    growing.add(line(985, "o2-1.pressure", value))
    before = growing.poll()
    assert before.readings["o2-1.pressure"].quality in (Quality.SUSPECT, Quality.MISSING)
    assert started_again(growing).poll().readings == before.readings


def test_a_reading_that_lay_too_far_ahead_is_still_waited_for_after_a_new_start(growing: Growing) -> None:
    growing.add(line(1100, "tank.mass", 9))
    growing.poll(1000)
    again = started_again(growing)
    assert arrived_of(again.poll(1010)) == {}
    assert arrived_of(again.poll(1050)) == {"tank.mass": [(1100, 9.0)]}


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (HEADER + line(985, "tank.mass", 9.5), "became shorter"),
        (
            FIRST.replace("tank.mass,10.125", "tank.mass,11.125") + line(985, "tank.mass", 9.5),
            "is not the file",
        ),
    ],
)
def test_another_file_is_read_from_its_start_and_the_last_good_values_are_kept(
    growing: Growing, content: str, what: str
) -> None:
    growing.path.write_text(content)
    again = started_again(growing)
    feed = again.poll()
    assert what in faults_of(feed)[0]
    assert faults_of(feed)[0].endswith("it is read from its start")
    assert arrived_of(feed) == {"tank.mass": [(985, 9.5)]}, "nothing older than the last good value is taken"
    assert feed.readings["o2-1.pressure"].value_si == pytest.approx(10.125e6)
    assert again.source.bytes_read == len(content)


def test_a_place_in_a_file_of_another_name_is_not_used_but_its_last_good_values_are(growing: Growing) -> None:
    other = growing_with(growing.path.with_name("new.csv"), FIRST + line(985, "tank.mass", 9.5))
    source = GrowingFileSource(other.path, CHANNELS, EPOCH, resume=growing.source.place())
    feed = source.poll(1000)
    assert arrived_of(feed) == {"tank.mass": [(985, 9.5)]}
    assert faults_of(feed)[0] == "the place that was kept is one in tern.csv; it is read from its start"


def test_a_new_start_while_the_file_is_away_waits_for_it_and_reads_on(growing: Growing) -> None:
    away = growing.path.with_suffix(".away")
    growing.path.rename(away)
    again = started_again(growing)
    feed = again.poll()
    assert feed.quality is Quality.MISSING
    assert feed.readings["tank.mass"].value_si == 10.125
    away.rename(again.path)
    again.add(line(985, "tank.mass", 9.5))
    assert arrived_of(again.poll()) == {"tank.mass": [(985, 9.5)]}


def test_a_new_start_inside_a_line_that_is_too_long_passes_the_rest_of_it_over(growing: Growing) -> None:
    growing.add("x" * 70_000)
    growing.poll()
    again = started_again(growing)
    again.add("x" * 10 + "\n" + line(985, "tank.mass", 9.5))
    assert arrived_of(again.poll()) == {"tank.mass": [(985, 9.5)]}
    assert again.source.refused_lines == 1


def test_a_place_before_anything_was_read_is_the_start(tmp_path: Path) -> None:
    growing = growing_with(tmp_path / "tern.csv", FIRST)
    assert len(arrived_of(started_again(growing).poll())["tank.mass"]) == 80


def test_when_the_epoch_was_corrected_meanwhile_the_last_good_times_move_with_it(growing: Growing) -> None:
    growing.add(line(985, "tank.mass", 9.5))
    source = GrowingFileSource(
        growing.path, CHANNELS, EPOCH + timedelta(hours=1), resume=kept(growing.source.place())
    )
    feed = source.poll(1000 - 3600)
    assert arrived_of(feed) == {"tank.mass": [(985 - 3600, 9.5)]}
    assert feed.readings["o2-1.pressure"].at_s == 979 - 3600
    assert feed.readings["o2-1.pressure"].quality is Quality.GOOD


def test_a_channel_that_the_craft_lost_meanwhile_is_left_aside(growing: Growing) -> None:
    fewer = {name: channel for name, channel in CHANNELS.items() if name != "tank.mass"}
    feed = GrowingFileSource(growing.path, fewer, EPOCH, resume=growing.source.place()).poll(1000)
    assert list(feed.readings) == list(fewer)
    assert feed.quality is Quality.GOOD


def test_a_place_goes_through_json_unchanged(growing: Growing) -> None:
    growing.add(line(985, "o2-1.pressure", "") + line(985, "tank.mass", 0.1 + 0.2))
    growing.poll()
    place = growing.source.place()
    assert kept(place) == place
    text = growing_with(growing.path.with_name("a.jsonl"), json_line(985, "tank.mass", 9.5))
    text.poll()
    assert kept(text.source.place()) == text.source.place()


def spoiled(**changes: object) -> dict[str, object]:
    good = Resume(
        name="tern.csv", epoch=EPOCH, offset=0, line=1, is_inside=False, fingerprint=b"", layout=None,
        refused=0, last={}, said={},
    )  # fmt: skip
    return {**good.as_mapping(), **changes}


SPOILED: list[object] = [
    *(None, [], {}, {"format": 1}, spoiled(format=2), spoiled(name=None), spoiled(refused="x")),
    *(spoiled(offset=wrong) for wrong in (-1, True, 1.5, 7)),
    *(spoiled(line=wrong) for wrong in (0, None)),
    *(spoiled(fingerprint=wrong) for wrong in ("zz", "00", 7)),
    *(spoiled(columns=wrong) for wrong in (7, ["at"], ["at", "channel", "value", "value"])),
    *(spoiled(epoch=wrong) for wrong in ("yesterday", "2041-06-02T03:10:00", 7)),
    *(spoiled(last=wrong) for wrong in (7, {"a": [1]}, {"a": [1, "x"]}, {"a": [float("nan"), 1]}, {"a": 7})),
    *(spoiled(said=wrong) for wrong in ([], {"a": ["good", "", None, 1]}, {"a": ["splendid", "", 1, 1]})),
]


@pytest.mark.parametrize("raw", SPOILED)
def test_a_place_that_was_spoiled_is_refused_in_one_way(raw: object) -> None:
    with pytest.raises(FeedError, match="the place that was kept of a growing file cannot be used"):
        resume_from(raw)


@settings(max_examples=20)
@given(st.lists(st.integers(0, len(FIRST)), max_size=6), st.integers(50, 5000))
def test_new_starts_at_any_places_give_what_one_run_gives(
    tmp_path_factory: pytest.TempPathFactory, cuts: list[int], most_bytes: int
) -> None:
    path = tmp_path_factory.mktemp("resumed") / "tern.csv"
    growing, feeds, begin = Growing(path, most_bytes_per_poll=most_bytes), [], 0
    for end in [*sorted(cuts), len(FIRST)]:
        growing.add(FIRST[begin:end])
        feeds.append(growing.poll())
        growing, begin = started_again(growing, most_bytes_per_poll=most_bytes), end
    feeds.append(growing.poll())
    while not growing.source.is_caught_up:
        feeds.append(growing.poll())
    found = arrived_of(*feeds)
    assert {name: len(pairs) for name, pairs in found.items()} == dict.fromkeys(CHANNELS, 80)
    assert all(pairs == sorted(pairs) for pairs in found.values())
    assert growing.source.place().offset == len(FIRST)
