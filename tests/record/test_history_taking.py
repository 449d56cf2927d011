"""What a history takes, leaves out, and holds: the same however the readings come in, and never too much."""

from __future__ import annotations

import numpy as np
import pytest
from history_feeds import FOREVER, all_of, columns_of, feed_of, good, history_at, newest_of, small_ages
from hypothesis import given, settings
from hypothesis import strategies as st

from console.engine.reading import Quality, Reading
from console.record import history_track

GAPS_S = st.sampled_from(
    [0.001, 0.4, 1.0, 1.0, 3.7, 20.0, 59.999, 60.0, 61.5, 400.0, 700.0, 5000.0, 9e5, -2.0, 0.0]
)
VALUES_SI = st.floats(-1e9, 1e9) | st.sampled_from([0.0, -0.0, 1e7, 1e7 + 1e-8])
BATCHES = st.lists(st.lists(st.tuples(GAPS_S, VALUES_SI), max_size=30), min_size=1, max_size=12)


def pairs_of(batches: list[list[tuple[float, float]]], start_s: float) -> list[list[tuple[float, float]]]:
    """Gaps made into times; some do not rise."""
    out, at_s = [], start_s
    for batch in batches:
        pairs = []
        for gap_s, value_si in batch:
            at_s += gap_s
            pairs.append((at_s, value_si))
        out.append(pairs)
    return out


@settings(max_examples=80, deadline=None)
@given(BATCHES, st.floats(-1e6, 1e6), st.booleans())
def test_the_batches_in_which_readings_come_change_nothing(
    batches: list[list[tuple[float, float]]], start_s: float, is_small: bool
) -> None:
    pieces = pairs_of(batches, start_s)
    flat = [pair for piece in pieces for pair in piece]
    whole, single, split = history_at(None), history_at(None), history_at(None)

    def compare() -> None:
        whole.take(feed_of({"a": flat}))
        for pair in flat:
            single.take(feed_of({"a": [pair]}))
        for piece in pieces:
            split.take(feed_of({"a": piece}))
            split.series("a", -1e12, 1e12, 3)  # asking between must change nothing either
            split.series("a", (split.last_s("a") or 0.0) - 400.0, 1e12, 20)
        assert all_of(whole) == all_of(single) == all_of(split)
        assert whole.left_out == single.left_out == split.left_out

    if is_small:
        with small_ages():
            compare()
    else:
        compare()


@pytest.mark.parametrize("size", [2, 7, 97, 4000])
def test_a_minute_of_many_readings_is_the_same_to_the_bit_in_any_batches(size: int) -> None:
    rng = np.random.default_rng(3)
    readings = list(zip((np.arange(4000) * 0.21).tolist(), rng.normal(0.0, 1.0, 4000).tolist(), strict=True))
    single, batched = history_at(None), history_at(None)
    for begin in range(0, 4000, size):
        batched.take(feed_of({"a": readings[begin : begin + size]}))
    for reading in readings:
        single.take(feed_of({"a": [reading]}))
    assert all_of(single) == all_of(batched)


def test_the_order_in_which_channels_are_polled_changes_nothing() -> None:
    first, second = history_at(None, ("a", "b")), history_at(None, ("a", "b"))
    a, b = [(float(s), s * 0.1) for s in range(900)], [(s + 0.5, -s * 0.3) for s in range(900)]
    for begin in range(0, 900, 90):
        first.take(feed_of({"a": a[begin : begin + 90], "b": b[begin : begin + 90]}))
    second.take(feed_of({"b": b}))
    second.take(feed_of({"a": a}))
    assert all_of(first, ("a", "b")) == all_of(second, ("a", "b"))


def test_times_that_do_not_rise_are_left_out_and_counted() -> None:
    history = history_at(None)
    history.take(feed_of({"a": [(10.0, 1.0), (10.0, 2.0), (9.0, 3.0), (12.0, 4.0), (11.0, 5.0)]}))
    history.take(feed_of({"a": [(12.0, 6.0), (13.0, 7.0)]}))
    held = history.full("a", *FOREVER)
    assert held.times_s.tolist() == [10.0, 12.0, 13.0]
    assert held.values_si.tolist() == [1.0, 4.0, 7.0]
    assert history.left_out == {"a": 4}


@pytest.mark.parametrize("bad", [(np.nan, 1.0), (5.0, np.nan), (np.inf, 1.0), (5.0, -np.inf), (1e300, 1.0)])
def test_what_is_no_number_is_left_out(bad: tuple[float, float]) -> None:
    history = history_at(None)
    history.take(feed_of({"a": [(1.0, 1.0)]}))
    history.take(feed_of({"a": [bad]}))
    history.take(feed_of({"a": [bad, (6.0, 2.0)]}))
    assert history.full("a", *FOREVER).times_s.tolist() == [1.0, 6.0]
    assert history.left_out == {"a": 2}


def test_of_a_feed_that_tells_no_more_the_newest_good_reading_is_taken_once() -> None:
    history = history_at(None, ("a", "b", "c"))
    stale = Reading(channel="b", quality=Quality.STALE, why="old", value_si=1.0, at_s=5.0)
    missing = Reading(channel="c", quality=Quality.MISSING, why="never")
    for _ in range(3):
        history.take(newest_of(good("a", 5.0, 2.0), stale, missing))
    history.take(newest_of(good("a", 6.0, 3.0), good("b", 4.0, 7.0)))
    for _ in range(3):
        history.take(newest_of(good("a", 5.5, 9.0)))
    assert history.full("a", *FOREVER).values_si.tolist() == [2.0, 3.0]
    assert history.last_s("b") == 4.0
    assert history.last_s("c") is None
    assert history.newest_s == 6.0
    assert history.left_out == {"a": 1, "b": 0, "c": 0}


def test_what_arrived_goes_before_the_newest_reading_and_unknown_channels_are_passed_over() -> None:
    from dataclasses import replace

    history = history_at(None)
    feed = feed_of({"a": [(1.0, 1.0), (2.0, 2.0)], "unknown": [(1.0, 1.0)]})
    history.take(replace(feed, readings={"a": good("a", 3.0, 3.0)}))
    assert history.last_s("a") == 2.0
    with pytest.raises(KeyError):
        history.series("unknown", 0.0, 1.0)


def test_six_hours_stay_at_full_rate_and_what_is_older_is_thinned() -> None:
    history = history_at(None)
    history.take(feed_of({"a": [(float(s), float(s % 7)) for s in range(8 * 3600)]}))
    held = history.full("a", *FOREVER)
    assert held.times_s[0] == 2 * 3600 - 60
    assert len(held.times_s) == 361 * 60
    minutes = history.series("a", 0.0, 8 * 3600.0, 1000)
    assert len(minutes) == 480
    assert minutes.counts.sum() == 8 * 3600


def test_a_feed_faster_than_one_a_second_is_thinned_earlier() -> None:
    history = history_at(None)
    for begin in range(0, 6000, 500):
        history.take(feed_of({"a": [(begin + k * 0.1, 1.0) for k in range(5000)]}))
    assert len(history.full("a", *FOREVER).times_s) == history_track.MOST_FULL
    assert history.series("a", 0.0, 6000.0, 400).counts.sum() == 60_000


def test_a_minute_with_more_readings_than_are_held_still_counts_them_all() -> None:
    history = history_at(None)
    history.take(feed_of({"a": [(k * 0.001, float(k)) for k in range(50_000)]}))
    (row,) = columns_of(history.series("a", -60.0, 60.0, 400)).T
    assert row == pytest.approx([24.9995, 24_999.5, 0.0, 49_999.0, 50_000.0], rel=1e-12)
    history.take(feed_of({"a": [(70.0, 0.0)]}))
    assert history.series("a", -60.0, 80.0, 400).counts.tolist() == [50_000, 1]


def test_ten_weeks_hold_three_days_of_minutes_and_six_weeks_of_ten_minutes() -> None:
    history = history_at(None)
    for day in range(70):
        history.take(feed_of({"a": [(day * 86_400.0 + 30.0 * k, 1.0) for k in range(2880)]}))
    until_s = 70 * 86_400.0
    assert len(history.series("a", until_s - 3 * 86_400, until_s, 10**6)) == 3 * 1440
    old = history.series("a", 0.0, until_s, 10**6)
    assert len(old) == history_track.TEN_MINUTE_ROWS + 1
    assert old.times_s[0] > until_s - 42 * 86_400 - 601
    assert np.diff(old.times_s).max() == pytest.approx(600.0)


def test_a_jump_of_years_loses_nothing_that_is_held() -> None:
    history = history_at(None)
    history.take(feed_of({"a": [(float(s), 1.0) for s in range(3600)]}))
    before = columns_of(history.series("a", 0.0, 3599.0, 400))
    history.take(feed_of({"a": [(3e8, 2.0)]}))
    assert columns_of(history.series("a", 0.0, 3599.0, 400)).tobytes() == before.tobytes()
    history.take(feed_of({"a": [(3600.0, 1.0), (3601.0, 1.0)]}))
    assert history.left_out == {"a": 2}


def test_what_a_history_gives_out_cannot_be_written_to_and_does_not_change() -> None:
    history = history_at(None)
    history.take(feed_of({"a": [(float(s), 1.0) for s in range(900)]}))
    few, many, held = (
        history.series("a", 850.0, 900.0),
        history.series("a", 0.0, 900.0),
        history.full("a", 0, 9e9),
    )
    kept = [columns_of(few).tobytes(), columns_of(many).tobytes(), held.values_si.tobytes()]
    history.take(feed_of({"a": [(900.0 + s, 5.0) for s in range(9000)]}))
    assert [columns_of(few).tobytes(), columns_of(many).tobytes(), held.values_si.tobytes()] == kept
    for array in (few.counts, few.means_si, many.times_s, many.lows_si, held.times_s):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 1.0
