"""Whether something has changed, when, and by how much; and when a use that varies by chance is through."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats

from console.engine.draws import standard_draws
from console.engine.rates.change_moment import gauge_change, meter_change
from console.engine.rates.cusum import Cusum, cusum
from console.engine.rates.gauge import single_readings
from console.engine.rates.passage import passage_times_s, walk_of_wander

H = 3600.0


def run_lengths(shift: float, tries: int, most: int, seed: int) -> np.ndarray:
    """How many residuals each try went without a call."""
    luck = np.random.default_rng(seed)
    times = np.arange(1.0, most + 1.0)
    states = [cusum(times, luck.normal(size=most) + shift) for _ in range(tries)]
    return np.array([most if state.called_at_s is None else state.called_at_s for state in states])


def test_run_lengths_are_those_of_the_tables() -> None:
    # Two-sided, h 5, k 0.5: 465 without a shift, 10.4 at one sd, 4.0 at two.
    # Source: Montgomery, Introduction to Statistical Quality Control, table 9.3 (from memory).
    quiet = run_lengths(0.0, 120, 4000, seed=1)
    assert np.mean(quiet) == pytest.approx(465.0, abs=4.0 * 465.0 / np.sqrt(120))
    assert np.mean(run_lengths(1.0, 400, 400, seed=2)) == pytest.approx(10.4, abs=1.0)
    assert np.mean(run_lengths(-2.0, 400, 400, seed=3)) == pytest.approx(4.0, abs=0.3)


def test_step_by_step_is_the_same_as_all_at_once_and_says_which_way() -> None:
    luck = np.random.default_rng(4)
    times, residuals = np.arange(100.0), luck.normal(size=100) - 1.5 * (np.arange(100) >= 50)
    state = Cusum()
    for at_s, residual in zip(times.tolist(), residuals.tolist(), strict=True):
        state = state.after(at_s, residual)
    assert state == cusum(times, residuals)
    assert state.called_at_s is not None
    assert not state.is_up
    assert state.since_s is not None
    assert 44.0 <= state.since_s <= 55.0


def test_a_test_that_has_called_nothing_knows_no_beginning() -> None:
    assert cusum(np.arange(3.0), np.zeros(3)).since_s is None


def test_a_step_of_a_meter_is_found_with_honest_errors() -> None:
    luck, times = np.random.default_rng(5), np.arange(0.0, 6 * H, 60.0)
    off_s, off_size = [], []
    for _ in range(60):
        values = 5.0 - 1.5 * (times > 4 * H) + luck.normal(size=len(times))
        found = meter_change(times, values, np.ones(len(times)))
        assert found is not None
        assert found.gain > 20.0
        off_s.append((found.mean_s - 4 * H) / found.sd_s)
        off_size.append((found.size_si + 1.5) / found.sd_si)
    assert np.sqrt(np.mean(np.square(off_s))) < 1.7
    assert np.sqrt(np.mean(np.square(off_size))) == pytest.approx(1.0, abs=0.3)


@pytest.mark.parametrize("step", [0.0, 0.5])
def test_a_bend_of_a_gauge_is_found_with_honest_errors(step: float) -> None:
    luck, times = np.random.default_rng(6), np.arange(0.0, 6 * H, 60.0)
    off_s, off_size = [], []
    for _ in range(40):
        values = 80.0 - (1.6 * times + np.maximum(times - 3 * H, 0.0)) / H + luck.normal(0.0, 0.3, len(times))
        shown = np.round(values / step) * step if step else values
        found = gauge_change(single_readings(times, shown, step, 0.3))
        assert found is not None
        assert found.gain > 20.0
        off_s.append((found.mean_s - 3 * H) / found.sd_s)
        off_size.append((found.size_si + 1.0 / H) / found.sd_si)
    assert np.sqrt(np.mean(np.square(off_s))) == pytest.approx(1.0, abs=0.4)
    assert np.sqrt(np.mean(np.square(off_size))) == pytest.approx(1.0, abs=0.4)


def test_a_known_knot_is_no_news() -> None:
    luck, times = np.random.default_rng(7), np.arange(0.0, 6 * H, 60.0)
    values = 80.0 - (1.6 * times + np.maximum(times - 3 * H, 0.0)) / H + luck.normal(0.0, 0.3, len(times))
    found = gauge_change(single_readings(times, values, 0.0, 0.3), (3 * H,))
    assert found is not None
    assert found.gain < 8.0


def test_too_few_readings_have_no_change() -> None:
    times = np.arange(5.0)
    assert meter_change(times, times, np.ones(5)) is None
    assert gauge_change(single_readings(times, times, 0.0, 0.1)) is None


def test_first_passages_are_inverse_gaussian() -> None:
    count = 4000
    normals, choosing = standard_draws("a", 1, count)[1:], standard_draws("b", 1, count)[1:]
    times = passage_times_s(np.full(count, 30.0), np.full(count, 2.0), 3.0, normals, choosing)
    mean, shape = 15.0, (30.0 / 3.0) ** 2
    # scipy's parameters: mu = mean / shape, scale = shape.
    expected = scipy.stats.invgauss(mean / shape, scale=shape)
    assert scipy.stats.kstest(times, expected.cdf).pvalue > 0.01
    assert np.mean(times) == pytest.approx(mean, rel=0.02)
    assert np.var(times) == pytest.approx(mean**3 / shape, rel=0.1)


def test_no_chance_is_the_plain_quotient_and_no_use_is_never() -> None:
    some = np.array([1.0, 1.0, 1.0])
    times = passage_times_s(np.array([6.0, 6.0, 0.0]), np.array([2.0, 0.0, 2.0]), 1e-9, some, some)
    assert times.tolist() == [pytest.approx(3.0), np.inf, 0.0]


def test_the_walk_of_a_wandering_use_has_its_long_run_variance() -> None:
    luck, tau_s, sd, step_s = np.random.default_rng(8), 100.0, 0.5, 10.0
    keep = np.exp(-step_s / tau_s)
    stray, total = sd * luck.normal(size=4000), np.zeros(4000)
    for _ in range(2000):
        total += stray * step_s
        stray = keep * stray + sd * np.sqrt(1.0 - keep**2) * luck.normal(size=4000)
    assert np.std(total) == pytest.approx(walk_of_wander(sd, tau_s) * np.sqrt(20000.0), rel=0.05)
