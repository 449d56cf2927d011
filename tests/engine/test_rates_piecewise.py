"""Joined lines through readings: known answers with noise, gaps, refills and spikes, and degenerate knots."""

from __future__ import annotations

import numpy as np
import pytest
from rates_world import Course, H, seen
from scipy.stats import linregress

from console.engine.rates.gauge import Gauge, single_readings
from console.engine.rates.piecewise import PiecewiseFit, SlopePrior, fit_piecewise
from console.engine.rates.repeats import repeats
from console.engine.rates.segments import Jump
from console.engine.rates.wander import Wander


def fitted(gauge: Gauge, knots_s: tuple[float, ...] = (), **fields: object) -> PiecewiseFit:
    fit = fit_piecewise(gauge, knots_s, **fields)  # type: ignore[arg-type]  # literals of a test
    assert fit is not None
    return fit


def bent(times: np.ndarray, slopes: tuple[float, ...], knots: tuple[float, ...]) -> np.ndarray:
    """A line of 90 at time 0 with these slopes between the knots."""
    edges = np.array([-np.inf, *knots, np.inf])
    clipped = np.clip(times[:, None], edges[:-1], edges[1:]) - np.clip(0.0, edges[:-1], edges[1:])
    return np.asarray(90.0 + clipped @ np.array(slopes))


def test_a_plain_line_is_that_of_the_textbook() -> None:
    luck = np.random.default_rng(1)
    times = np.cumsum(luck.uniform(20.0, 100.0, 200))
    values = 90.0 - 0.004 * times + luck.normal(0.0, 0.5, 200)
    fit = fitted(single_readings(times, values, 0.0, 0.5))
    line = linregress(times, values)
    assert fit.slopes_si_per_s[0] == pytest.approx(line.slope, rel=1e-9)
    # Its error is not from the same squares: second differences say the noise, and repeats count once.
    assert fit.slope_sds_si_per_s[0] == pytest.approx(line.stderr, rel=0.15)


def test_exact_readings_give_exact_slopes_across_knots() -> None:
    times, slopes, knots = np.arange(0.0, 12 * H, 300.0), (-2e-4, -5e-4, -1e-4), (3.1 * H, 7.7 * H)
    fit = fitted(single_readings(times, bent(times, slopes, knots), 0.0, 0.01), knots)
    assert fit.slopes_si_per_s == pytest.approx(slopes, rel=1e-7)
    assert fit.level_at(5.0 * H)[0] == pytest.approx(bent(np.array([5.0 * H]), slopes, knots)[0], rel=1e-9)
    assert fit.is_determined == (True, True, True)


def test_seconds_since_an_epoch_far_away_change_nothing() -> None:
    one = seen(Course(wander_fraction=0.05), 1.0, 0.5, np.random.default_rng(2)).gauge
    whole = np.round(one.times_s)
    near = fitted(single_readings(whole, one.values_si, 1.0, 0.5), (0.0,), wander=Wander(
        sds_si_per_s=(2e-5,), tau_s=2700.0))  # fmt: skip
    far = fitted(single_readings(whole + 2e9, one.values_si, 1.0, 0.5), (2e9,), wander=Wander(
        sds_si_per_s=(2e-5,), tau_s=2700.0))  # fmt: skip
    assert far.slopes_si_per_s == pytest.approx(near.slopes_si_per_s, rel=1e-9)
    assert far.covariance == pytest.approx(near.covariance, rel=1e-9)


@pytest.mark.parametrize("at", [3, 100, 170, 196])
@pytest.mark.parametrize("step", [0.0, 1.0])
def test_a_spike_of_fifty_steps_moves_nothing_and_is_named(at: int, step: float) -> None:
    one = seen(Course(before_h=0.0, after_h=200 / 60), step, 0.4, np.random.default_rng(5)).gauge
    spiked = one.values_si.copy()
    spiked[at] += 50.0
    clean = fitted(one)
    fit = fitted(single_readings(one.times_s, spiked, step, 0.4))
    assert at in fit.spikes.tolist()
    assert len(fit.spikes) <= 2
    difference = abs(fit.slopes_si_per_s[0] - clean.slopes_si_per_s[0])
    assert difference < 0.5 * clean.slope_sds_si_per_s[0]


def test_a_gap_of_hours_is_bridged_by_the_lines_on_both_sides() -> None:
    luck = np.random.default_rng(7)
    times = np.concatenate((np.arange(0.0, 3 * H, 60.0), np.arange(7 * H, 10 * H, 60.0)))
    knots = (4 * H, 6 * H)
    values = bent(times, (-2e-4, -6e-4, -1e-4), knots) + luck.normal(0.0, 0.05, len(times))
    fit = fitted(single_readings(times, values, 0.0, 0.05), knots)
    assert fit.is_determined == (True, True, True)
    off = (fit.slopes_si_per_s - np.array([-2e-4, -6e-4, -1e-4])) / fit.slope_sds_si_per_s
    assert np.all(np.abs(off) < 3.0)


def test_a_refill_is_a_jump_and_no_slope() -> None:
    luck = np.random.default_rng(8)
    times = np.arange(0.0, 6 * H, 60.0)
    values = 60.0 - 3e-4 * times + 25.0 * (times >= 2 * H) + luck.normal(0.0, 0.2, len(times))
    gauge = single_readings(times, values, 0.0, 0.2)
    told = fitted(gauge, jumps=(Jump(at_s=2 * H),))
    assert told.jumps_si[0] == pytest.approx(25.0, abs=0.2)
    assert told.slopes_si_per_s[0] == pytest.approx(-3e-4, abs=3 * told.slope_sds_si_per_s[0])
    known = fitted(gauge, jumps=(Jump(at_s=2 * H, amount_si=25.0),))
    assert known.slopes_si_per_s[0] == pytest.approx(-3e-4, abs=3 * known.slope_sds_si_per_s[0])
    assert known.slope_sds_si_per_s[0] < told.slope_sds_si_per_s[0]
    assert known.level_at(1 * H)[0] == pytest.approx(60.0 - 3e-4 * H, abs=0.2)


def test_a_slope_that_no_reading_tells_is_said_to_be_open_and_spoils_no_other() -> None:
    times = np.arange(0.0, 4 * H, 60.0)
    gauge = single_readings(times, 90.0 - 2e-4 * times, 0.0, 0.1)
    fit = fitted(gauge, (-2 * H, 2 * H, 4.5 * H), at_s=5 * H)
    assert fit.is_determined == (False, True, True, False)
    assert fit.slopes_si_per_s[1:3] == pytest.approx([-2e-4, -2e-4], rel=1e-6)
    assert np.all(np.isfinite(fit.covariance))


def test_two_knots_at_one_moment_are_not_singular() -> None:
    times = np.arange(0.0, 4 * H, 60.0)
    fit = fitted(single_readings(times, 90.0 - 2e-4 * times, 0.0, 0.1), (2 * H, 2 * H))
    assert fit.is_determined == (True, False, True)
    assert fit.slopes_si_per_s[[0, 2]] == pytest.approx([-2e-4, -2e-4], rel=1e-6)


def test_a_slope_that_no_reading_tells_is_the_priors() -> None:
    times = np.arange(0.0, 4 * H, 60.0)
    prior = SlopePrior(means_si_per_s=np.array([-1e-4, -7e-4]), sds_si_per_s=np.array([1e-3, 1e-4]))
    fit = fitted(single_readings(times, 90.0 - 2e-4 * times, 0.0, 0.1), (4 * H,), at_s=5 * H, prior=prior)
    assert fit.is_determined == (True, False)
    assert fit.slopes_si_per_s[1] == pytest.approx(-7e-4)
    assert fit.slope_sds_si_per_s[1] == pytest.approx(1e-4)
    assert fit.slopes_si_per_s[0] == pytest.approx(-2e-4, rel=1e-3)


def test_readings_out_of_order_and_no_numbers_are_left_out_and_named() -> None:
    times = np.arange(0.0, 20 * 60.0, 60.0)
    values = 90.0 - 2e-4 * times
    times[10], values[12] = times[3], np.nan
    fit = fitted(single_readings(times, values, 0.0, 0.1))
    assert fit.out_of_order.tolist() == [10, 12]
    assert fit.slopes_si_per_s[0] == pytest.approx(-2e-4, rel=1e-6)


def test_fewer_than_two_readings_are_no_fit() -> None:
    assert fit_piecewise(single_readings(np.zeros(1), np.ones(1), 1.0, 0.1), ()) is None
    assert fit_piecewise(single_readings(np.zeros(0), np.zeros(0), 1.0, 0.1), ()) is None


def test_two_readings_give_a_line_with_the_guessed_noise() -> None:
    fit = fitted(single_readings(np.array([0.0, 100.0]), np.array([5.0, 4.0]), 0.0, 0.3))
    assert fit.slopes_si_per_s[0] == pytest.approx(-0.01, rel=1e-6)
    assert fit.slope_sds_si_per_s[0] == pytest.approx(0.3 * np.sqrt(2.0) / 100.0, rel=1e-3)


def test_thinned_rows_say_what_their_readings_say() -> None:
    one = seen(Course(before_h=0.0, after_h=6.0), 0.0, 0.4, np.random.default_rng(9)).gauge
    thin = Gauge(
        times_s=one.times_s.reshape(-1, 10).mean(axis=1),
        values_si=one.values_si.reshape(-1, 10).mean(axis=1),
        counts=np.full(36, 10.0),
        step_si=0.0,
        noise_sd_si=0.4,
    )
    single, means = fitted(one), fitted(thin)
    assert means.slopes_si_per_s[0] == pytest.approx(single.slopes_si_per_s[0], abs=2e-6)
    assert means.slope_sds_si_per_s[0] == pytest.approx(single.slope_sds_si_per_s[0], rel=0.3)


def test_readings_that_repeat_one_another_count_for_fewer() -> None:
    luck = np.random.default_rng(4)
    times, news = np.arange(300) * 60.0, luck.normal(0.0, 0.1, 300)
    strays = np.zeros(300)
    for index in range(1, 300):
        strays[index] = 0.9 * strays[index - 1] + news[index]
    # An autoregression with 0.9 has 19 readings say what one would: 1 + 2 * 0.9 / 0.1.
    assert 8 < repeats(strays) < 40
    assert repeats(news) == pytest.approx(1.0, abs=0.5)
    values = 90.0 - 2e-4 * times + strays
    fit = fitted(single_readings(times, values, 0.0, 0.1))
    assert fit.slope_sds_si_per_s[0] > 2.5 * linregress(times, values).stderr


def test_use_that_strays_is_seen_without_being_told() -> None:
    course = Course(before_h=0.0, after_h=4.0, second_per_h=5.0, wander_fraction=0.1)
    gauge = seen(course, 0.0, 0.02, np.random.default_rng(3)).gauge
    fit, blind = fitted(gauge), linregress(gauge.times_s, gauge.values_si)
    assert fit.wander is not None
    assert 0.02 <= fit.wander.sds_si_per_s[0] / (5.0 / H) <= 0.4
    assert fit.slope_sds_si_per_s[0] > 5.0 * blind.stderr
    still = fitted(seen(Course(before_h=0.0), 0.0, 0.2, np.random.default_rng(3)).gauge)
    assert still.wander is None


def test_wandering_use_has_the_covariance_of_an_integrated_ornstein_uhlenbeck_process() -> None:
    from console.engine.rates.segments import Segments
    from console.engine.rates.wander import wander_columns

    times = np.linspace(-9000.0, 0.0, 11)
    columns = wander_columns(
        Wander(sds_si_per_s=(0.3,), tau_s=2700.0), times, Segments(anchor_s=0.0, knots_s=())
    )
    found = columns @ columns.T
    # Var of the integral over x: 2 s² tau² (x/tau - 1 + exp(-x/tau)); at the first row a cell ends there.
    x = 9000.0 / 2700.0
    assert found[0, 0] == pytest.approx(2 * 0.3**2 * 2700.0**2 * (x - 1 + np.exp(-x)), rel=1e-6)
    assert found[-1, -1] == pytest.approx(0.0, abs=1e-9)


def test_a_display_without_noise_is_never_surer_than_its_steps_allow() -> None:
    # One step shown all the time: the level is known to no better than the step, and the slope is open.
    times = np.arange(0.0, H, 60.0)
    fit = fitted(single_readings(times, np.full(60, 50.0), 1.0, 0.0))
    assert fit.level_sd_si > 0.2
    assert fit.slope_sds_si_per_s[0] * H > 0.3
