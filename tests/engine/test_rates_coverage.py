"""Whether intervals hold the truth as often as they say, over a few hundred gauges of known truth.

Seeds are fixed. Of 150 tries of a true 90 % interval 80 to 97.5 % hold with a probability of 0.9995.
"""

from __future__ import annotations

import numpy as np
import pytest
from rates_world import Course, H, holds, line_since, seen

from console.engine.rates.choice import Rate, RateMethod, rate_of
from console.engine.rates.piecewise import fit_piecewise
from console.engine.rates.rounding import fresh_variance, mean_variance, noise_behind, steady_variance

TARGET = 40.0
TRIES = 150
LEAST, MOST = 0.8, 0.975


def rates(course: Course, step: float, noise_sd: float, seed: int) -> list[tuple[Rate, float]]:
    """The engine's rate of each try, and the true time until the target."""
    luck = np.random.default_rng(seed)
    found = []
    for _ in range(TRIES):
        one = seen(course, step, noise_sd, luck)
        rate = rate_of(one.gauge, course.knots_s, float(one.gauge.times_s[-1]), wander=course.wander)
        assert rate is not None
        found.append((rate, one.true_time_s(TARGET)))
    return found


def covered(found: list[tuple[Rate, float]]) -> float:
    return float(np.mean([holds(rate.reach(TARGET), true_s) for rate, true_s in found]))


@pytest.mark.parametrize("after_h", [0.5, 1.0, 2.0])
def test_joined_lines_hold_right_after_a_power_down_where_a_rolling_line_does_not(after_h: float) -> None:
    course = Course(after_h=after_h)
    found = rates(course, 1.0, 0.5, seed=1)
    assert LEAST <= covered(found) <= 0.99
    luck, rolling = np.random.default_rng(1), []
    for _ in range(TRIES):
        one = seen(course, 1.0, 0.5, luck)
        last_s = float(one.gauge.times_s[-1])
        rolling.append(holds(line_since(one.gauge, last_s - 4 * H, TARGET), one.true_time_s(TARGET)))
    assert np.mean(rolling) < 0.02


@pytest.mark.parametrize(
    ("step", "noise_sd", "wander_fraction"),
    [(0.0, 0.5, 0.0), (0.1, 0.25, 0.05), (1.0, 0.3, 0.05), (1.0, 0.6, 0.0)],
)
def test_intervals_of_dithered_and_fine_gauges_hold(
    step: float, noise_sd: float, wander_fraction: float
) -> None:
    found = rates(Course(after_h=2.0, wander_fraction=wander_fraction), step, noise_sd, seed=2)
    assert np.mean([rate.method is RateMethod.JOINED for rate, _ in found]) > 0.9
    assert LEAST <= covered(found) <= 0.99


def test_wandering_use_is_allowed_for_and_mostly_so_where_it_is_not_told() -> None:
    course = Course(before_h=0.0, after_h=4.0, second_per_h=5.0, wander_fraction=0.1)
    luck, told, untold = np.random.default_rng(3), [], []
    for _ in range(TRIES):
        one = seen(course, 0.0, 0.02, luck)
        for wander, hits in ((course.wander, told), (None, untold)):
            fit = fit_piecewise(one.gauge, (), wander=wander)
            assert fit is not None
            off = abs(fit.slopes_si_per_s[0] - one.slope_si_per_s) / fit.slope_sds_si_per_s[0]
            hits.append(off < 1.645)
    assert LEAST <= np.mean(told) <= MOST
    assert np.mean(untold) >= 0.7


def test_use_that_strays_unseen_in_the_noise_is_presumed_to() -> None:
    course, luck, hits = Course(after_h=6.0, wander_fraction=0.05), np.random.default_rng(8), []
    for _ in range(TRIES):
        one = seen(course, 0.1, 0.25, luck)
        rate = rate_of(one.gauge, course.knots_s, float(one.gauge.times_s[-1]))
        assert rate is not None
        hits.append(holds(rate.reach(TARGET), one.true_time_s(TARGET)))
    assert np.mean(hits) >= LEAST


@pytest.mark.parametrize("after_h", [0.5, 2.0])
def test_bounds_of_few_steps_always_hold(after_h: float) -> None:
    found = rates(Course(after_h=after_h), 1.0, 0.05, seed=4)
    assert {rate.method for rate, _ in found} <= {RateMethod.BOUNDED, RateMethod.NOT_YET}
    assert covered(found) >= 0.99


def test_a_textbook_line_over_few_steps_lies() -> None:
    course, luck = Course(before_h=0.0, after_h=2.0, spacing_s=10.0), np.random.default_rng(5)
    tries = [seen(course, 1.0, 0.05, luck) for _ in range(TRIES)]
    hits = [holds(line_since(one.gauge, -np.inf, TARGET), one.true_time_s(TARGET)) for one in tries]
    assert np.mean(hits) < 0.5


def test_moments_of_change_give_intervals_that_hold() -> None:
    found = rates(Course(before_h=0.0, after_h=14.0), 1.0, 0.05, seed=6)
    assert {rate.method for rate, _ in found} == {RateMethod.CHANGES}
    assert 0.85 <= covered(found) <= 1.0
    # The type is not asked of it: known here.
    halves = [0.5 * (rate.high_si_per_s - rate.low_si_per_s) * H for rate, _ in found]  # type: ignore[operator]
    assert np.median(halves) < 0.03


def test_the_variance_of_means_of_rounded_readings_is_what_simulation_gives() -> None:
    luck = np.random.default_rng(7)
    levels = luck.uniform(0.0, 50.0, 4000)
    for noise_sd in (0.0, 0.1, 0.25, 0.5, 1.0):
        shown = np.round(levels[:, None] + noise_sd * luck.normal(size=(4000, 10)))
        off = shown.mean(axis=1) - levels
        expected = mean_variance(noise_sd, 1.0, np.array([10.0]))[0]
        assert np.var(off) == pytest.approx(expected, rel=0.1)
        fresh = float(np.mean(np.var(shown, axis=1, ddof=1)))
        assert fresh == pytest.approx(fresh_variance(noise_sd, 1.0), rel=0.06, abs=1e-9)


def test_noise_is_found_again_behind_the_rounding() -> None:
    for noise_sd in (0.05, 0.2, 0.4, 1.5):
        assert noise_behind(fresh_variance(noise_sd, 1.0), 1.0) == pytest.approx(noise_sd, rel=1e-4)
    assert steady_variance(0.0, 1.0) == pytest.approx(1.0 / 12.0, rel=0.02)
