"""The table of outcomes in console/feed/validity.py, row by row, on one raw value at a time."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from feed_builders import CHANNELS, EPOCH, utc
from hypothesis import given
from hypothesis import strategies as st

from console.engine.reading import Quality, Reading
from console.feed.raw_value import NotFinite
from console.feed.validity import judge, not_said, said_of

CURRENT = CHANNELS["bat-1.current"]
PRESSURE = CHANNELS["o2-1.pressure"]
TEMPERATURE = CHANNELS["o2-1.temperature"]
MASS = CHANNELS["tank.mass"]


def reading_of(raw: object, channel: Any = PRESSURE, *, at_s: float = 100.0, now_s: float = 101.0) -> Reading:
    """What becomes of one raw value after 10 MPa (or 10 of its unit) at 90 s was good."""
    last = Reading(channel=channel.name, quality=Quality.GOOD, value_si=channel.unit.to_si(10.0), at_s=90.0)
    return judge(said_of(raw, channel, utc(at_s), EPOCH), channel, last, now_s)


def assert_kept(reading: Reading, quality: Quality, *fragments: str) -> None:
    """The trouble has its quality and its words, and the last good value stands with its own time."""
    assert reading.quality is quality
    assert reading.at_s == 90.0
    assert reading.value_si == CHANNELS[reading.channel].unit.to_si(10.0)
    for fragment in fragments:
        assert fragment in reading.why


def test_a_bare_number_is_in_the_channels_own_unit() -> None:
    reading = reading_of(11.2)
    assert (reading.quality, reading.why, reading.at_s) == (Quality.GOOD, "", 100.0)
    assert reading.value_si == pytest.approx(11.2e6, rel=1e-12)


@pytest.mark.parametrize(
    ("raw", "channel", "value_si"),
    [
        ("10 lb", MASS, 4.5359237),  # exact: international avoirdupois pound
        ("100 psi", PRESSURE, 689475.7293168361),  # NIST SP 811: 1 psi = 6.894757e3 Pa
        ({"value": 2000.0, "unit": "kPa"}, PRESSURE, 2.0e6),
        ("50 degF", TEMPERATURE, 283.15),
        ({"value": 283.15, "unit": "K"}, TEMPERATURE, 283.15),
        ({"value": 10, "unit": None}, MASS, 10.0),
    ],
)
def test_another_unit_of_the_right_dimension_is_converted(raw: object, channel: Any, value_si: float) -> None:
    reading = reading_of(raw, channel)
    assert reading.quality is Quality.GOOD
    assert reading.value_si == pytest.approx(value_si, rel=1e-9)


def test_null_is_missing_and_the_last_good_value_is_kept() -> None:
    assert_kept(reading_of(None), Quality.MISSING, "the source says null")
    assert_kept(reading_of({"value": None, "unit": "kPa"}), Quality.MISSING, "the source says null")


def test_a_channel_that_is_not_named_is_missing_and_the_last_good_value_is_kept() -> None:
    last = reading_of(10.0, at_s=90.0)
    assert_kept(
        judge(not_said("not in the state file"), PRESSURE, last, 101.0), Quality.MISSING, "not in the"
    )


@pytest.mark.parametrize(
    ("raw", "found"),
    [
        (NotFinite(text="NaN"), "NaN"),
        (NotFinite(text="-Infinity"), "-Infinity"),
        (NotFinite(text="1e999"), "1e999"),
        (float("nan"), "nan"),
        (float("inf"), "inf"),
        (10**400, "a number of very many digits"),
        (1e308, "beyond all numbers"),
        ("about eleven", "'about eleven'"),
        ("", "''"),
        ("1e999 MPa", "'1e999 MPa'"),
        ("11 MPa MPa MPa or so it seems to those who look at the gauge from far away", "'11 MPa"),
        ("11.2", "'11.2', a text without a unit"),
        ("11 furlong", "furlong"),
        (True, "true"),
        ([11.2], "a list"),
        ({}, "a mapping without a value"),
        ({"value": {"value": 11.2}}, "a mapping"),
        ({"value": 11.2, "units": "psi"}, "the key units"),
        ({"value": 11.2, "unit": 7}, "7 as a unit"),
        ({"value": 11.2, "unit": "furlong"}, "'furlong' as a unit"),
        ({"value": "11.2 MPa", "unit": "psi"}, "beside a unit"),
    ],
)
def test_what_is_no_quantity_is_suspect_and_says_what_was_found_and_what_is_due(
    raw: object, found: str
) -> None:
    assert_kept(reading_of(raw), Quality.SUSPECT, found)
    assert reading_of(raw).why.count(";") == 1, "found, then due"


@pytest.mark.parametrize("raw", ["11 kg", {"value": 11, "unit": "kg"}])
def test_the_wrong_dimension_is_suspect_and_names_both(raw: object) -> None:
    assert_kept(reading_of(raw), Quality.SUSPECT, "a mass", "a pressure")


def test_amps_for_amp_hours_are_told_apart() -> None:
    assert_kept(reading_of("4 A*h", CURRENT), Quality.SUSPECT, "amps are a rate")


@pytest.mark.parametrize("raw", [80.1, -0.1, "80100 mA"])
def test_out_of_range_is_suspect_and_names_the_range(raw: object) -> None:
    assert_kept(reading_of(raw, CURRENT), Quality.SUSPECT, "the channel's range is 0 to 80 A")


@pytest.mark.parametrize("raw", [0, 80, 80.0])
def test_the_ends_of_the_range_are_in_it(raw: float) -> None:
    assert reading_of(raw, CURRENT).quality is Quality.GOOD


def test_a_temperature_below_absolute_zero_is_suspect_without_any_range() -> None:
    without_range = replace(TEMPERATURE, low_si=None, high_si=None)
    assert_kept(reading_of("-274 degC", without_range), Quality.SUSPECT, "-274 degC", "at least -273.15 degC")
    with_too_much_range = replace(TEMPERATURE, low_si=-10.0)
    assert_kept(reading_of("-274 degC", with_too_much_range), Quality.SUSPECT, "range is -273.15 to 60 degC")


@pytest.mark.parametrize(
    "at",
    [
        "2041-06-02T03:10:00",
        "2041-06-02T03:10:00+02:00",
        "2041-06-02 03:10:00Z",
        "2041-02-30T00:00:00Z",
        "T+1h",
        "now",
        2253754200,
        None,
        True,
        ["2041-06-02T03:10:00Z"],
        "2041-06-02T03:10:00Z" * 1000,
    ],
)
def test_a_time_that_is_not_rfc_3339_in_utc_is_suspect(at: object) -> None:
    reading = reading_of({"value": 11.2, "at": at})
    assert_kept(reading, Quality.SUSPECT, "its time: found")
    assert len(reading.why) < 200, "a foreign text must not fill the screen"


def test_a_time_before_the_last_good_one_is_suspect() -> None:
    assert_kept(reading_of(11.2, at_s=89.0), Quality.SUSPECT, "1 s before the last good one")


def test_the_same_time_with_the_same_value_is_nothing_new_and_no_complaint() -> None:
    reading = reading_of(10.0, at_s=90.0, now_s=120.0)
    assert_kept(reading, Quality.GOOD)
    assert (reading.why, reading.age_s(120.0)) == ("", 30.0)


def test_the_same_time_with_another_value_is_suspect_and_the_first_is_kept() -> None:
    assert_kept(reading_of(10.1, at_s=90.0), Quality.SUSPECT, "time did not advance", "10.1 MPa")


def test_a_time_more_than_a_minute_ahead_is_suspect_and_not_taken() -> None:
    assert_kept(reading_of(11.2, at_s=161.5, now_s=101.0), Quality.SUSPECT, "ahead of now")


def test_a_time_up_to_a_minute_ahead_is_taken() -> None:
    reading = reading_of(11.2, at_s=161.0, now_s=101.0)
    assert (reading.quality, reading.at_s) == (Quality.GOOD, 161.0)


def test_a_value_older_than_its_channel_allows_is_stale_with_its_age() -> None:
    reading = reading_of(11.2, at_s=100.0, now_s=190.0)
    assert (reading.quality, reading.at_s, reading.why) == (
        Quality.STALE,
        100.0,
        "1m30s old, stale after 1m00s",
    )
    assert reading_of(11.2, at_s=100.0, now_s=160.0).quality is Quality.GOOD


@pytest.mark.parametrize(
    ("raw", "quality"), [(None, Quality.MISSING), ("eleven", Quality.SUSPECT), (99, Quality.SUSPECT)]
)
def test_suspect_and_missing_outrank_stale_but_tell_the_age(raw: object, quality: Quality) -> None:
    assert_kept(reading_of(raw, now_s=200.0), quality, "the last good value is 1m50s old")


def test_without_any_good_value_there_is_none_to_show() -> None:
    reading = judge(said_of("eleven", PRESSURE, utc(0), EPOCH), PRESSURE, None, 1e9)
    assert (reading.quality, reading.value_si, reading.at_s) == (Quality.SUSPECT, None, None)


def test_a_last_good_value_that_comes_to_lie_ahead_is_suspect() -> None:
    taken = reading_of(11.2, at_s=7200.0, now_s=7200.0)
    still = judge(not_said("gone"), PRESSURE, taken, 100.0)
    again = judge(said_of(11.2, PRESSURE, utc(7200.0), EPOCH), PRESSURE, taken, 100.0)
    assert (still.quality, again.quality) == (Quality.MISSING, Quality.SUSPECT)
    assert "ahead of now" in again.why


def test_what_is_shown_of_a_foreign_text_cannot_act_on_a_terminal() -> None:
    reading = reading_of("\x1b[2J\u202e 11 \ud800 MPa")
    assert reading.why.isprintable()
    assert "\\x1b[2J" in reading.why


RAW = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.just(NotFinite(text="NaN")),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(["value", "unit", "at", "x"]), inner, max_size=4)
    ),
    max_leaves=6,
)


@given(raw=RAW, at=RAW, channel=st.sampled_from(list(CHANNELS.values())), now_s=st.floats(-1e9, 1e9))
def test_whatever_is_said_a_good_reading_is_finite_in_range_and_not_old(
    raw: object, at: object, channel: Any, now_s: float
) -> None:
    reading = judge(said_of(raw, channel, at, EPOCH), channel, None, now_s)
    assert (reading.value_si is None) == (reading.at_s is None)
    assert (reading.why == "") == (reading.quality is Quality.GOOD)
    if reading.quality is Quality.GOOD:
        assert reading.value_si is not None
        assert reading.at_s is not None
        assert abs(reading.value_si) < float("inf")
        assert -60.0 <= now_s - reading.at_s <= channel.stale_after_s


@given(
    words=st.lists(
        st.tuples(st.integers(0, 300), st.integers(0, 3) | st.none() | st.just("x")), min_size=1, max_size=12
    ),
)
def test_the_last_good_time_never_goes_back_and_its_value_never_changes(
    words: list[tuple[int, object]],
) -> None:
    last: Reading | None = None
    for at_s, raw in words:
        reading = judge(said_of(raw, MASS, utc(at_s), EPOCH), MASS, last, 300.0)
        again = judge(said_of(raw, MASS, utc(at_s), EPOCH), MASS, reading, 300.0)
        assert again == reading, "judging the same word twice changes nothing"
        if last is not None and last.at_s is not None:
            assert reading.at_s is not None
            assert reading.at_s > last.at_s or (reading.at_s, reading.value_si) == (last.at_s, last.value_si)
        last = reading
