"""A measured trend: what is remembered, when there is one, and how sure it is."""

from __future__ import annotations

import numpy as np
import pytest

from console.engine.trend import Points, TrendMemory, trend_of


def line(count: int, slope: float, noise: float = 0.0, every_s: float = 60.0, start_s: float = 0.0) -> Points:
    random = np.random.default_rng(7)
    return tuple(
        (start_s + number * every_s, 100.0 + slope * number * every_s + float(random.normal(0.0, noise)))
        for number in range(count)
    )


def remembered(points: Points) -> TrendMemory:
    memory = TrendMemory()
    for at_s, value in points:
        memory = memory.with_reading("co2", at_s, value)
    return memory


def test_readings_are_thinned_to_one_a_minute_and_the_last_hour() -> None:
    memory = remembered(line(4 * 3600 // 10, 0.01, every_s=10.0))
    points = memory.points["co2"]
    times = np.array([at_s for at_s, _ in points])
    assert np.diff(times).min() >= 60.0
    assert times[-1] - times[0] <= 3600.0
    assert len(points) == 61


def test_the_same_reading_seen_again_changes_nothing() -> None:
    memory = remembered(line(20, 0.01))
    again = memory.with_reading("co2", 19 * 60.0, 999.0)
    assert again is memory


@pytest.mark.parametrize("at_s", [19 * 60.0 + 601.0, 5 * 60.0])
def test_a_long_gap_or_a_time_that_goes_back_starts_anew(at_s: float) -> None:
    memory = remembered(line(20, 0.01)).with_reading("co2", at_s, 120.0)
    assert memory.points["co2"] == ((at_s, 120.0),)


def test_a_gap_of_ten_minutes_is_bridged() -> None:
    assert len(remembered(line(20, 0.01)).with_reading("co2", 19 * 60.0 + 600.0, 120.0).points["co2"]) == 21


def test_channels_do_not_mix() -> None:
    memory = TrendMemory().with_reading("co2", 0.0, 1.0).with_reading("o2", 60.0, 2.0)
    assert memory.points == {"co2": ((0.0, 1.0),), "o2": ((60.0, 2.0),)}


@pytest.mark.parametrize(
    ("count", "every_s", "exists"), [(7, 120.0, False), (8, 80.0, False), (8, 90.0, True)]
)
def test_a_trend_needs_eight_readings_over_ten_minutes(count: int, every_s: float, exists: bool) -> None:
    points = line(count, 0.01, every_s=every_s)
    assert (trend_of(points, points[-1][0], 0.0) is not None) is exists


def test_a_trend_whose_last_reading_is_old_is_none() -> None:
    points = line(20, 0.01)
    assert trend_of(points, 19 * 60.0 + 600.0, 0.0) is not None
    assert trend_of(points, 19 * 60.0 + 601.0, 0.0) is None


def test_a_clean_line_gives_its_slope_and_its_crossing_even_far_from_time_zero() -> None:
    # Times as of a Unix epoch: an uncentred sum would get the slope wrong by some parts in a thousand.
    start_s = 2.25e9
    points = line(30, 0.02, start_s=start_s)
    trend = trend_of(points, points[-1][0], 0.0)
    assert trend is not None
    assert trend.slope_si_per_s == pytest.approx(0.02, rel=1e-9)
    reached = trend.reaches_in_s(150.0, points[-1][0])
    assert reached is not None
    assert reached.p50 == pytest.approx((150.0 - 100.0) / 0.02 - 29 * 60.0, rel=1e-6)
    assert reached.p05 == pytest.approx(reached.p50, rel=1e-6)


def test_a_line_that_leads_away_or_nowhere_reaches_nothing() -> None:
    rising, flat = line(30, 0.02, noise=0.1), line(30, 0.0, noise=1.0)
    up, level = trend_of(rising, 29 * 60.0, 0.0), trend_of(flat, 29 * 60.0, 0.0)
    assert up is not None
    assert level is not None
    assert up.reaches_in_s(50.0, 29 * 60.0) is None
    assert up.reaches_in_s(200.0, 29 * 60.0) is not None
    assert level.reaches_in_s(200.0, 29 * 60.0) is None
    assert level.reaches_in_s(0.0, 29 * 60.0) is None


def test_the_resolution_counts_where_a_coarse_display_stands_still() -> None:
    # Half of the readings show the next step: a fit of it has next to no residual, and knows next to nothing.
    coarse = tuple((number * 60.0, 100.0 if number < 8 else 110.0) for number in range(16))
    blind = trend_of(coarse, 900.0, 0.0)
    steady = trend_of(tuple((number * 60.0, 100.0) for number in range(16)), 900.0, 10.0)
    assert blind is not None
    assert steady is not None
    assert steady.slope_sd_si_per_s > 0.0
    assert steady.reaches_in_s(110.0, 900.0) is None


def test_the_interval_holds_the_truth_nine_times_in_ten() -> None:
    random = np.random.default_rng(20410602)
    held = 0
    for _ in range(1000):
        times = np.arange(30) * 60.0
        values = 100.0 + 0.02 * times + random.normal(0.0, 4.0, 30)
        trend = trend_of(tuple(zip(times.tolist(), values.tolist(), strict=True)), 1740.0, 0.0)
        assert trend is not None
        reached = trend.reaches_in_s(200.0, 1740.0)
        truth = 5000.0 - 1740.0
        held += reached is not None and reached.p05 <= truth <= reached.p95
    # 99 % two-sided binomial band for 90 % of 1,000 (reference values, from arithmetic).
    assert 875 <= held <= 924


def test_an_error_that_all_readings_share_widens_the_interval() -> None:
    points = line(40, 0.02, noise=0.2)
    trend = trend_of(points, points[-1][0], 0.0)
    assert trend is not None
    plain, biased = (trend.reaches_in_s(200.0, points[-1][0], bias) for bias in (0.0, 5.0))
    assert plain is not None
    assert biased is not None
    assert biased.p05 < plain.p05 < plain.p50 < plain.p95 < biased.p95
    # 5 of error at 0.02 a second, times the normal's 1.69 for so many readings.
    assert biased.p50 - biased.p05 == pytest.approx(1.69 * 5.0 / 0.02, rel=0.05)
