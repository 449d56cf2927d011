"""The thinned view against plain sums over the same readings, at every width and between any two moments."""

from __future__ import annotations

import math
from contextlib import nullcontext

import numpy as np
import pytest
from history_feeds import LADDER_S, columns_of, feed_of, history_at, plain_rows, small_ages
from hypothesis import given, settings
from hypothesis import strategies as st

from console.record.history import History

RNG = np.random.default_rng(20410602)
TWO_HOURS = [
    (0.5 * k + jitter, 1.2e7 + value)
    for k, (jitter, value) in enumerate(
        zip(RNG.uniform(0, 0.4, 14_400), RNG.normal(0, 30, 14_400), strict=True)
    )
]


def close(found: np.ndarray, due: np.ndarray) -> bool:
    """Lows, highs and counts are the same; means differ by no more than the sums' rounding."""
    if found.shape != due.shape or not (found[2:] == due[2:]).all():
        return False
    return bool(np.allclose(found[:2], due[:2], rtol=1e-14, atol=1e-9))


@pytest.fixture(scope="module")
def two_hours() -> History:
    history = history_at(None)
    for begin in range(0, len(TWO_HOURS), 97):
        history.take(feed_of({"a": TWO_HOURS[begin : begin + 97]}))
    return history


@pytest.mark.parametrize("width_s", LADDER_S)
def test_every_width_agrees_with_plain_sums(two_hours: History, width_s: int) -> None:
    found = columns_of(two_hours.series("a", 0.0, 7200.0, 7200 // width_s))
    assert found.shape[1] == 7200 // width_s
    assert close(found, plain_rows(TWO_HOURS, width_s, 0.0, 7200.0))


@pytest.mark.parametrize("width_s", LADDER_S)
def test_a_stretch_that_is_not_over_counts_up_to_the_moment_asked_for(
    two_hours: History, width_s: int
) -> None:
    until_s = 5000.45
    most = math.ceil(until_s / width_s)
    found = columns_of(two_hours.series("a", 0.0, until_s, most))
    assert found.shape[1] == most
    assert found[0].max() <= until_s
    assert close(found, plain_rows(TWO_HOURS, width_s, 0.0, until_s))


def test_few_readings_come_as_they_are(two_hours: History) -> None:
    series = two_hours.series("a", 1000.0, 1100.0, 400)
    due = [(at_s, value_si) for at_s, value_si in TWO_HOURS if 1000.0 <= at_s <= 1100.0]
    assert list(zip(series.times_s, series.means_si, strict=True)) == due
    assert series.lows_si.tolist() == series.highs_si.tolist() == series.means_si.tolist()
    assert set(series.counts) == {1.0}


def test_both_moments_are_included() -> None:
    history = history_at(None)
    history.take(feed_of({"a": [(1.0, 1.0), (2.0, 2.0), (3.0, 3.0)]}))
    assert history.series("a", 1.0, 3.0).means_si.tolist() == [1.0, 2.0, 3.0]
    assert history.series("a", 1.5, 2.5).means_si.tolist() == [2.0]
    assert history.full("a", 1.0, 2.0).values_si.tolist() == [1.0, 2.0]
    assert len(history.series("a", 3.5, 9.0)) == len(history.series("a", 2.0, 1.0)) == 0


def test_a_channel_without_readings_gives_no_rows() -> None:
    assert len(history_at(None).series("a", -math.inf, math.inf)) == 0


def test_less_than_one_row_cannot_be_asked_for(two_hours: History) -> None:
    with pytest.raises(ValueError, match="write 1 or more"):
        two_hours.series("a", 0.0, 1.0, 0)


GAPS_S = st.sampled_from([0.25, 1.0, 1.0, 1.0, 9.0, 55.0, 60.0, 130.0, 650.0, 3000.0, 40_000.0])
READINGS = st.lists(st.tuples(GAPS_S, st.floats(-1000.0, 1000.0)), min_size=1, max_size=250)


@settings(max_examples=150, deadline=None)
@given(READINGS, st.floats(-1e5, 1e5), st.floats(0, 1), st.floats(0, 1), st.integers(1, 60))
def test_between_any_two_moments_the_rows_are_those_of_one_width_and_not_too_many(
    gaps: list[tuple[float, float]], start_s: float, first: float, last: float, most: int
) -> None:
    times = start_s + np.cumsum([gap for gap, _ in gaps])
    readings = list(zip(times.tolist(), (value for _, value in gaps), strict=True))
    span_s = times[-1] - times[0] + 200.0
    from_s, until_s = sorted((times[0] - 100.0 + first * span_s, times[0] - 100.0 + last * span_s))
    history = history_at(None)
    history.take(feed_of({"a": readings}))
    found = columns_of(history.series("a", from_s, until_s, most))
    # So few readings are all held one by one, so that every stretch can be cut at any moment.
    inside = [pair for pair in readings if from_s <= pair[0] <= until_s]
    if len(inside) <= most:
        assert found[:2].T.tolist() == [list(pair) for pair in inside]
        return
    assert found.shape[1] <= most
    widths = [*LADDER_S, *(3600 * 2**k for k in range(1, 20))]
    due = [plain_rows(readings, width_s, from_s, until_s) for width_s in widths]
    fits = [width_s for width_s, rows in zip(widths, due, strict=True) if close(found, rows)]
    assert fits, (found, from_s, until_s)
    assert (np.diff(found[0]) > 0).all()
    assert ((found[2] <= found[1]) & (found[1] <= found[3])).all()
    narrower = [rows for width_s, rows in zip(widths, due, strict=True) if 60 <= width_s < fits[0]]
    assert all(rows.shape[1] > most for rows in narrower)


QUESTIONS = st.lists(
    st.tuples(st.integers(0, 60), st.floats(0, 1), st.floats(0, 1), st.integers(1, 60)), max_size=12
)


@settings(max_examples=80, deadline=None)
@given(READINGS, st.floats(-1e5, 1e5), QUESTIONS, st.booleans())
def test_what_was_asked_before_changes_no_answer(
    gaps: list[tuple[float, float]],
    start_s: float,
    questions: list[tuple[int, float, float, int]],
    is_small: bool,
) -> None:
    times = start_s + np.cumsum([gap for gap, _ in gaps])
    readings = list(zip(times.tolist(), (value for _, value in gaps), strict=True))
    with small_ages() if is_small else nullcontext():
        asked, taken = history_at(None), 0
        for more, first, last, most in questions:
            asked.take(feed_of({"a": readings[taken : taken + more]}))
            taken += more
            end_s = readings[: max(taken, 1)][-1][0] + 10.0
            span_s = end_s - times[0] + 100.0
            from_s, until_s = sorted((end_s - first * span_s, end_s - last**3 * span_s))
            fresh = history_at(None)
            fresh.take(feed_of({"a": readings[:taken]}))
            found, due = (columns_of(one.series("a", from_s, until_s, most)) for one in (asked, fresh))
            assert found.tobytes() == due.tobytes()


def test_a_look_back_past_full_rate_comes_in_minutes_and_past_those_in_ten_minutes() -> None:
    history, readings = history_at(None), [(10.0 * k, math.sin(k / 40)) for k in range(8640 * 5)]
    for begin in range(0, len(readings), 8640):
        history.take(feed_of({"a": readings[begin : begin + 8640]}))
    until_s = readings[-1][0]
    for back_s, most, width_s in (
        (7 * 3600, 1000, 60),
        (12 * 3600, 400, 120),
        (2 * 86_400, 10_000, 60),
        (4 * 86_400, 10_000, 600),
        (4 * 86_400, 100, 3600),
        (4 * 86_400, 40, 14_400),
    ):
        found = columns_of(history.series("a", until_s - back_s, until_s, most))
        due = plain_rows(readings, width_s, until_s - back_s, until_s)
        assert close(found, due), (back_s, width_s)


def test_of_a_minute_held_as_one_row_nothing_is_shown_before_it_is_over() -> None:
    history = history_at(None)
    history.take(feed_of({"a": [(float(s), float(s)) for s in range(10 * 3600)]}))
    cut, whole = history.series("a", 0.0, 3630.0, 400), history.series("a", 0.0, 3660.0, 400)
    assert cut.times_s[-1] == 3569.5
    assert whole.times_s[-1] == 3629.5
    assert whole.highs_si.max() == 3659.0


def test_rows_after_a_quiet_night_are_not_coarser_than_they_need_be() -> None:
    history = history_at(None)
    evening, morning = [(float(s), 1.0) for s in range(600)], [(20_000.0 + s, 2.0) for s in range(600)]
    history.take(feed_of({"a": evening + morning}))
    series = history.series("a", -20_000.0, 21_000.0, 400)
    assert 200 <= len(series) <= 400
