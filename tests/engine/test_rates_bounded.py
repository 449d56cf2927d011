"""All lines that the readings allow: exact, against linear programming, and joined across knots."""

from __future__ import annotations

import numpy as np
import pytest
from rates_world import Course, holds, seen
from scipy.optimize import linprog

from console.engine.rates.bounded import BoundedLines, bounded_lines
from console.engine.rates.bounded_joined import bounded_since
from console.engine.rates.fieller import Reaching
from console.engine.rates.segments import Segments


def lines_of(times: np.ndarray, values: np.ndarray, bounds: np.ndarray, anchor_s: float) -> BoundedLines:
    found = bounded_lines(times, values, bounds, anchor_s)
    assert found is not None
    return found


def by_programming(
    times: np.ndarray, values: np.ndarray, bounds: np.ndarray, cost: tuple[float, float]
) -> float | None:
    """The least cost over all (level at time 0, slope), by scipy's linear programming."""
    rows = np.column_stack((np.ones(len(times)), times))
    done = linprog(
        cost,
        A_ub=np.vstack((rows, -rows)),
        b_ub=np.concatenate((values + bounds, bounds - values)),
        bounds=[(None, None), (None, None)],
    )
    return float(done.fun) if done.status == 0 else None


@pytest.mark.parametrize("seed", range(12))
def test_ranges_are_those_of_linear_programming(seed: int) -> None:
    luck = np.random.default_rng(seed)
    count = int(luck.integers(3, 60))
    times = np.sort(luck.uniform(-10.0, 0.0, count))
    values = np.round(20.0 - 0.7 * times + luck.normal(0.0, 0.1, count))
    bounds = 0.5 + 0.3 + luck.uniform(0.0, 0.2, count)
    found = lines_of(times, values, bounds, 0.0)
    assert found.widened_si == 0.0
    low, high = found.slopes_si_per_s
    assert low == pytest.approx(by_programming(times, values, bounds, (0.0, 1.0)), abs=1e-7)
    assert -high == pytest.approx(by_programming(times, values, bounds, (0.0, -1.0)), abs=1e-7)
    bottom, top = found.levels_si(5.0)
    assert bottom == pytest.approx(by_programming(times, values, bounds, (1.0, 5.0)), abs=1e-7)
    assert -top == pytest.approx(by_programming(times, values, bounds, (-1.0, -5.0)), abs=1e-7)


def test_readings_that_no_line_passes_widen_the_bounds_by_no_more_than_twice_what_is_needed() -> None:
    times, values, bounds = np.array([0.0, 1.0, 2.0]), np.array([0.0, 2.0, 0.0]), np.full(3, 0.1)
    assert by_programming(times, values, bounds, (0.0, 1.0)) is None
    found = lines_of(times, values, bounds, 2.0)
    # The best line is at 1 and misses each by 1: 0.9 more than the bounds.
    assert found.widened_si == pytest.approx(1.8, rel=1e-4)
    assert found.slopes_si_per_s[0] < 0.0 < found.slopes_si_per_s[1]


def test_a_display_that_has_not_changed_has_no_upper_end_but_an_early_one() -> None:
    times = np.arange(0.0, 601.0, 60.0)
    found = lines_of(times, np.full(11, 40.0), np.full(11, 0.5), 600.0)
    end = found.reach(0.0)
    assert end.reaching is Reaching.NO_UPPER_END
    assert end.high_s is None
    # At the steepest it fell a whole step in ten minutes, and is at 39.5 now.
    assert end.low_s == pytest.approx(39.5 * 600.0)


def test_two_readings_at_one_moment_are_no_line() -> None:
    assert bounded_lines(np.zeros(2), np.ones(2), np.ones(2), 0.0) is None


def test_a_common_bias_moves_both_ends() -> None:
    times = np.arange(0.0, 6001.0, 60.0)
    found = lines_of(times, 40.0 - 0.01 * times + 20.0, np.full(101, 0.5), 6000.0)
    plain, biased = found.reach(-100.0), found.reach(-100.0, bias_si=3.0)
    assert plain.low_s is not None
    assert biased.low_s is not None
    assert plain.high_s is not None
    assert biased.high_s is not None
    assert biased.low_s < plain.low_s < plain.high_s < biased.high_s


def test_what_came_before_the_knot_is_kept() -> None:
    course = Course(after_h=0.5)
    one = seen(course, 1.0, 0.02, np.random.default_rng(3))
    anchor_s = float(one.gauge.times_s[-1])
    joined = bounded_since(one.gauge, Segments(anchor_s=anchor_s, knots_s=(0.0,)), 0.02)
    later = one.gauge.rows(np.flatnonzero(one.gauge.times_s >= 0.0))
    alone = bounded_since(later, Segments(anchor_s=anchor_s, knots_s=()), 0.02)
    assert joined is not None
    assert alone is not None
    low, high = joined.slopes_si_per_s
    assert low <= one.slope_si_per_s <= high
    assert high - low < 0.8 * (alone.slopes_si_per_s[1] - alone.slopes_si_per_s[0])


@pytest.mark.parametrize("wander_fraction", [0.0, 0.05])
def test_the_truth_is_always_inside(wander_fraction: float) -> None:
    course = Course(after_h=1.0, wander_fraction=wander_fraction)
    luck = np.random.default_rng(11)
    for _ in range(150):
        one = seen(course, 1.0, 0.05, luck)
        segments = Segments(anchor_s=float(one.gauge.times_s[-1]), knots_s=(0.0,))
        found = bounded_since(one.gauge, segments, 0.05, course.wander)
        assert found is not None
        low, high = found.slopes_si_per_s
        assert low <= one.slope_si_per_s
        assert one.slope_si_per_s <= high
        assert holds(found.reach(40.0), one.true_time_s(40.0))
