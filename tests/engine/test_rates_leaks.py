"""Shapes of a loss: which one it is, when it ends, and what is leaned on."""

from __future__ import annotations

import numpy as np
import pytest

from console.engine.draws import standard_draws
from console.engine.rates.fieller import Reaching
from console.engine.rates.gauge import Gauge, single_readings
from console.engine.rates.leak_curves import ACCELERATING, LeakShape, lost_si, rates_si_per_s, reached_in_s
from console.engine.rates.leak_fit import LeakFit, ShapedLoss
from console.engine.rates.leak_shapes import leak_shapes

H = 3600.0
LEVEL, TARGET = 60.0, 10.0
TRUTHS = {
    LeakShape.STEADY: (1.0 / H, 1.0),
    LeakShape.IN_PROPORTION: (6.0 / H, 1.0),
    LeakShape.GROWING: (2.0 / H, np.log(2.0) / (2.0 * H)),
    LeakShape.RAMPING: (2.0 / H, 1.0 / (6.0 * H)),
}


def values(shape: LeakShape, times: np.ndarray, use: float = 0.0) -> np.ndarray:
    """What is left while a loss of a shape runs, 60 at time 0."""
    rate, bend = TRUTHS[shape]
    one = np.ones(1)
    return np.asarray(LEVEL - lost_si(shape, LEVEL * one, rate * one, bend * one, times) - use * times)


def true_time_s(shape: LeakShape, use: float = 0.0) -> float:
    rate, bend = TRUTHS[shape]
    one = np.ones(1)
    return float(reached_in_s(shape, LEVEL * one, rate * one, bend * one, use, TARGET)[0])


def gauge_of(
    shape: LeakShape, span_h: float, step: float, noise_sd: float, seed: int, use: float = 0.0
) -> Gauge:
    luck = np.random.default_rng(seed)
    times = np.arange(-span_h * H, 1.0, 120.0)
    shown = values(shape, times, use) + luck.normal(0.0, noise_sd, len(times))
    return single_readings(times, np.round(shown / step) * step if step else shown, step, noise_sd)


def fit_of(shape: LeakShape, *, span_h: float = 4.0, noise_sd: float = 0.15, seed: int = 1, step: float = 0.0,
           use: float = 0.0) -> LeakFit:  # fmt: skip
    fit = leak_shapes(gauge_of(shape, span_h, step, noise_sd, seed, use), -span_h * H, 0.0, use)
    assert fit is not None
    return fit


def by_shape(fit: LeakFit, shape: LeakShape) -> ShapedLoss:
    return next(one for one in fit.losses if one.shape is shape)


@pytest.mark.parametrize("shape", LeakShape)
def test_what_is_lost_is_the_integral_of_the_rate(shape: LeakShape) -> None:
    rate, bend = TRUTHS[shape]
    times = np.linspace(-2 * H, 5 * H, 20001)
    args = (LEVEL * np.ones(1), rate * np.ones(1), bend * np.ones(1), times)
    speeds, lost = rates_si_per_s(shape, *args), lost_si(shape, *args)
    steps = np.cumsum(0.5 * (speeds[1:] + speeds[:-1]) * np.diff(times))
    assert lost[1:] - lost[0] == pytest.approx(steps, rel=1e-6, abs=1e-6)
    assert lost_si(shape, *args[:3], np.zeros(1))[0] == 0.0


@pytest.mark.parametrize("shape", LeakShape)
@pytest.mark.parametrize("use", [0.0, 3.0 / H])
def test_the_time_until_a_level_is_when_the_curve_is_there(shape: LeakShape, use: float) -> None:
    end_s = np.array([true_time_s(shape, use)])
    assert values(shape, end_s, use)[0] == pytest.approx(TARGET, abs=1e-6)


def test_what_loses_in_proportion_never_loses_all() -> None:
    one = np.ones(1)
    assert reached_in_s(LeakShape.IN_PROPORTION, 5.0 * one, one, one, 0.0, 0.0)[0] == np.inf
    assert reached_in_s(LeakShape.IN_PROPORTION, 5.0 * one, one, one, 0.5, 0.0)[0] < np.inf


def test_a_level_that_is_passed_is_there_and_one_without_a_loss_never() -> None:
    for shape in LeakShape:
        assert reached_in_s(shape, np.array([5.0]), np.array([1.0]), np.array([0.1]), 0.0, 6.0)[0] == 0.0
        assert reached_in_s(shape, np.array([5.0]), np.array([0.0]), np.array([0.1]), 0.0, 4.0)[0] == np.inf


@pytest.mark.parametrize("shape", [LeakShape.STEADY, LeakShape.IN_PROPORTION, LeakShape.GROWING])
@pytest.mark.parametrize("use", [0.0, 0.5 / H])
def test_the_shape_is_found_with_its_level_and_rate(shape: LeakShape, use: float) -> None:
    fit = fit_of(shape, span_h=6.0, noise_sd=0.1, use=use)
    assert fit.losses[0].shape is shape
    level, rate, _ = fit.losses[0].likeliest
    assert level == pytest.approx(LEVEL, abs=0.15)
    assert rate == pytest.approx(TRUTHS[shape][0], rel=0.1)
    assert sum(fit.weights) == pytest.approx(1.0)
    reach = fit.reach(fit.losses[0], TARGET)
    assert reach.low_s is not None
    assert reach.high_s is not None
    assert reach.low_s < true_time_s(shape, use) < reach.high_s
    assert reach.reaching is Reaching.REACHES


def test_a_loss_that_grows_is_leaned_on_where_a_line_is_hours_too_late() -> None:
    late, line_late = [], []
    for seed in range(20):
        fit = fit_of(LeakShape.GROWING, span_h=3.0, noise_sd=0.3, seed=seed)
        assert fit.accelerating_weight > 0.1
        leaned = fit.leaned(TARGET)
        assert leaned.shape in ACCELERATING
        for one, found in ((leaned, late), (by_shape(fit, LeakShape.STEADY), line_late)):
            central_s = fit.reach(one, TARGET).central_s
            assert central_s is not None
            found.append((central_s - true_time_s(LeakShape.GROWING)) / H)
    assert np.median(line_late) > 10.0
    assert abs(np.median(late)) < 1.0


def test_a_steady_loss_is_rarely_called_a_growing_one() -> None:
    grows = [fit_of(LeakShape.STEADY, seed=seed).accelerating_weight > 0.1 for seed in range(40)]
    assert np.mean(grows) < 0.25


def test_readings_that_tell_no_shape_lean_on_the_line() -> None:
    grows = [fit_of(LeakShape.STEADY, span_h=0.5, seed=seed).accelerating_weight > 0.1 for seed in range(40)]
    assert np.mean(grows) < 0.35


def test_the_leaned_shape_is_never_later_than_the_likeliest() -> None:
    for seed in range(10):
        for shape in LeakShape:
            fit = fit_of(shape, span_h=2.0, noise_sd=0.3, step=1.0, seed=seed)
            ends = [fit.reach(one, TARGET).central_s for one in (fit.leaned(TARGET), fit.losses[0])]
            leaned_s, likeliest_s = (np.inf if end is None else end for end in ends)
            assert leaned_s <= likeliest_s


def test_samples_begin_at_nothing_rise_and_have_the_weights_of_their_shapes() -> None:
    fit = fit_of(LeakShape.GROWING, span_h=2.5, noise_sd=0.3)
    normals = np.array([standard_draws(f"t{index}", 1, 1000)[1:] for index in range(4)])
    times = np.linspace(0.0, 4 * H, 40)
    lost = fit.loss_samples(times, normals[0], normals[1:])
    assert lost.shape == (1000, 40)
    assert np.all(lost[:, 0] == 0.0)
    assert np.all(np.diff(lost, axis=1) >= 0.0)
    one, true = np.ones(1), TRUTHS[LeakShape.GROWING]
    truth = lost_si(LeakShape.GROWING, LEVEL * one, true[0] * one, true[1] * one, times[-1:])[0]
    low, high = np.quantile(lost[:, -1], [0.02, 0.98])
    assert low < truth < high
    # The fast shapes are those of the high draws of the choice.
    halves = normals[0] > 0.0
    assert np.mean(lost[halves, -1]) > np.mean(lost[~halves, -1])


def test_a_gain_is_no_loss() -> None:
    times = np.arange(0.0, 4 * H, 120.0)
    luck = np.random.default_rng(1)
    gauge = single_readings(times, 40.0 + 1e-3 * times + luck.normal(0.0, 0.1, len(times)), 0.0, 0.1)
    fit = leak_shapes(gauge, 0.0, 4 * H)
    assert fit is None or all(one.likeliest[1] < 1e-4 for one in fit.losses)


def test_too_few_readings_tell_no_shape() -> None:
    times = np.arange(5.0) * 60.0
    assert leak_shapes(single_readings(times, 50.0 - times, 0.0, 0.1), 0.0, 300.0) is None
