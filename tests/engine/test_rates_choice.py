"""Which way of telling the rate is taken, and the parts that say why."""

from __future__ import annotations

import numpy as np
import pytest
from rates_world import Course, H, seen

from console.engine.rates.choice import Rate, RateMethod, rate_of
from console.engine.rates.display_changes import display_changes
from console.engine.rates.fieller import Reaching
from console.engine.rates.gauge import Gauge, single_readings
from console.engine.rates.segments import Jump
from console.engine.rates.wander import Wander

STILL = Wander(sds_si_per_s=(0.0,), tau_s=2700.0)
"""Use that does not stray."""


def rate(gauge: Gauge, knots_s: tuple[float, ...] = (), jumps: tuple[Jump, ...] = ()) -> Rate:
    found = rate_of(gauge, knots_s, float(gauge.times_s[-1]), jumps, STILL)
    assert found is not None
    return found


def of_course(course: Course, step: float, noise_sd: float, seed: int = 1) -> Rate:
    return rate(seen(course, step, noise_sd, np.random.default_rng(seed)).gauge, course.knots_s)


def test_a_fine_gauge_is_told_by_joined_lines() -> None:
    found = of_course(Course(after_h=2.0), 0.01, 0.3)
    assert found.method is RateMethod.JOINED
    assert found.slope_si_per_s is not None
    assert found.slope_si_per_s * H == pytest.approx(-0.6, abs=0.1)
    assert found.low_si_per_s is not None
    assert found.high_si_per_s is not None
    assert found.low_si_per_s < found.slope_si_per_s < found.high_si_per_s
    assert found.since_s == 0.0
    assert found.window_s == pytest.approx(2.0 * H, abs=60.0)
    assert found.count == 120


def test_a_quiet_coarse_gauge_that_has_hardly_moved_is_told_by_bounds() -> None:
    found = of_course(Course(after_h=2.0), 1.0, 0.02)
    assert found.method is RateMethod.BOUNDED
    assert found.steps is not None
    assert found.steps <= 2.0
    assert found.sd_si_per_s is None
    assert found.low_si_per_s is not None
    assert found.high_si_per_s is not None
    assert found.low_si_per_s * H <= -0.6 <= found.high_si_per_s * H


def test_a_gauge_that_has_not_moved_says_that_there_is_not_enough_movement_yet() -> None:
    gauge = single_readings(np.arange(0.0, 1801.0, 60.0), np.full(31, 40.0), 1.0, 0.05)
    found = rate(gauge)
    assert found.method is RateMethod.NOT_YET
    assert found.slope_si_per_s is None
    end = found.reach(0.0)
    assert end.reaching is Reaching.NO_UPPER_END
    assert end.high_s is None
    # At least: a whole step and the noise's bounds in half an hour at the steepest.
    assert end.low_s is not None
    assert 39.0 / (1.3 / 1800.0) < end.low_s < 40.0 / (1.0 / 1800.0)


def test_a_quiet_coarse_gauge_with_five_changes_is_told_by_their_moments() -> None:
    found = of_course(Course(before_h=0.0, after_h=14.0), 1.0, 0.02)
    assert found.method is RateMethod.CHANGES
    assert found.slope_si_per_s is not None
    assert found.slope_si_per_s * H == pytest.approx(-0.6, abs=0.01)


def test_a_knot_after_the_last_reading_leaves_nothing_to_tell() -> None:
    times = np.arange(0.0, 4 * H, 60.0)
    gauge = single_readings(times, 90.0 - 2e-4 * times, 0.1, 0.05)
    found = rate_of(gauge, (4 * H,), 4 * H + 300.0)
    assert found is not None
    assert found.method is RateMethod.NOT_YET
    assert found.slope_si_per_s is None
    assert found.count == 0
    assert found.window_s == 0.0


def test_no_readings_are_no_rate() -> None:
    assert rate_of(single_readings(np.zeros(0), np.zeros(0), 1.0, 0.1), (), 0.0) is None


def test_a_quiet_gauge_whose_use_strays_is_not_told_by_a_set_that_had_to_be_widened() -> None:
    times = np.arange(0.0, 4 * H, 60.0)
    bent = 90.0 - 1e-3 * times - 1.5 * np.sin(times / 2000.0)
    gauge = single_readings(times, np.round(bent / 0.5) * 0.5, 0.5, 0.01)
    found = rate_of(gauge, (), float(times[-1]))
    assert found is not None
    assert found.lines is None or found.lines.widened_si == 0.0
    assert found.low_si_per_s is not None
    assert found.high_si_per_s is not None
    assert found.low_si_per_s < -1e-3 < found.high_si_per_s


def test_a_refill_does_not_count_as_movement() -> None:
    times = np.arange(0.0, 2 * H, 60.0)
    values = np.round(50.0 - 2e-5 * times + 20.0 * (times >= H))
    found = rate(single_readings(times, values, 1.0, 0.02), jumps=(Jump(at_s=H, amount_si=20.0),))
    assert found.method in (RateMethod.BOUNDED, RateMethod.NOT_YET)
    assert found.steps is not None
    assert found.steps < 1.5


def test_moments_of_change_are_read_off_with_their_amounts() -> None:
    times = np.arange(0.0, 20.0) * 60.0
    shown = np.repeat([50.0, 49.0, 48.0, 49.0, 48.0], 4)
    changes = display_changes(single_readings(times, shown, 1.0, 0.05), 0.05)
    # To and fro over 48.5 is one change, at the mean of its three moments.
    assert changes.times_s.tolist() == [210.0, (450.0 + 690.0 + 930.0) / 3.0]
    assert changes.values_si.tolist() == [49.5, 48.5]


def test_a_thinned_row_over_a_change_is_no_value_of_the_display() -> None:
    times = np.arange(0.0, 9.0) * 60.0
    shown = np.array([50.0, 50.0, 50.0, 50.0, 49.6, 49.0, 49.0, 49.0, 49.0])
    changes = display_changes(single_readings(times, shown, 1.0, 0.05), 0.05)
    assert changes.times_s.tolist() == [240.0]
    assert changes.values_si.tolist() == [49.5]


def test_a_display_that_skips_values_leaves_the_amount_in_between_open() -> None:
    times = np.arange(0.0, 12.0) * 60.0
    shown = np.repeat([50.0, 46.0, 45.0], 4)
    changes = display_changes(single_readings(times, shown, 1.0, 0.0), 0.0)
    skip, single = (1.0 / changes.counts).tolist()
    assert skip / single > 10.0


def test_a_gauge_without_steps_has_no_changes() -> None:
    assert len(display_changes(single_readings(np.arange(9.0), np.arange(9.0), 0.0, 0.1), 0.1)) == 0
