"""Robust measures of what is usual, against scipy, and what they must not be moved by."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import median_abs_deviation, norm
from validity_world import H, channel, rows_of

from console.engine.reading import Quality, Reading
from console.engine.validity.context import ChannelContext, ChannelKind
from console.engine.validity.grid import Grid, grid_of
from console.engine.validity.noise import _RANGE_COUNTS, _RANGE_SDS, SD_PER_MAD, noise_of, row_medians

TIMES = np.arange(0.0, 6 * H, 60.0) + 90_000.0
CONTEXT = ChannelContext(channel=channel("tank.quantity", "kg", 1.2, 0.0), kind=ChannelKind.HELD)


def grid(values: np.ndarray, width_s: float = 1.0, context: ChannelContext = CONTEXT) -> Grid:
    times = np.linspace(TIMES[0], TIMES[-1], len(values))
    return grid_of({"a": rows_of(times, values, width_s)}, {"a": context}, {})


def test_a_median_of_absolute_deviations_is_scaled_as_scipy_scales_it() -> None:
    values = np.random.default_rng(1).standard_normal(101)
    ours = SD_PER_MAD * row_medians(np.abs(values - np.median(values))[np.newaxis], np.full((1, 101), True))
    assert ours[0] == pytest.approx(median_abs_deviation(values, scale="normal"), rel=1e-12)


@given(
    st.lists(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=9), min_size=1, max_size=4),
)
def test_medians_of_lines_of_unequal_length_are_those_of_each_line(lines: list[list[float]]) -> None:
    width = max(map(len, lines))
    values = np.array([[0.0] * (width - len(line)) + line for line in lines])
    valid = np.array([[False] * (width - len(line)) + [True] * len(line) for line in lines])
    medians = row_medians(values, valid)
    assert medians.tolist() == pytest.approx([float(np.median(line)) for line in lines])


def test_the_mean_range_of_normal_draws_is_that_of_its_integral() -> None:
    for count, expected in zip(_RANGE_COUNTS.tolist(), _RANGE_SDS.tolist(), strict=True):
        mean_range, _ = quad(lambda x, n=count: 1.0 - norm.cdf(x) ** n - norm.sf(x) ** n, -12.0, 12.0)
        assert mean_range == pytest.approx(expected, abs=6e-4)


@pytest.mark.parametrize(("readings", "width_s"), [(360, 1.0), (360, 120.0), (21_600, 60.0)])
def test_a_readings_noise_is_found_in_single_rows_and_in_rows_of_many(readings: int, width_s: float) -> None:
    noise = np.random.default_rng(2).standard_normal(readings)
    values = 60.0 - np.linspace(0.0, 12.0, readings) + 0.3 * noise
    reference = median_abs_deviation(0.3 * noise, scale="normal")
    assert noise_of(grid(values, width_s)).reading_sd_si[0] == pytest.approx(reference, rel=0.15)


def test_spikes_steps_and_a_silence_do_not_change_what_is_usual() -> None:
    values = 60.0 - np.arange(360) / 30.0 + 0.3 * np.random.default_rng(3).standard_normal(360)
    clean = noise_of(grid(values))
    spoilt = values.copy()
    spoilt[[50, 51, 120, 333]] += 40.0
    spoilt[200:] += 15.0
    found = noise_of(grid(spoilt))
    for name in ("reading_sd_si", "trend_si_per_s", "spacing_s"):
        assert getattr(found, name)[0] == pytest.approx(getattr(clean, name)[0], rel=0.1)
    assert found.ahead_sd_si[0, -1] == pytest.approx(clean.ahead_sd_si[0, -1], rel=0.1)


def test_equal_rows_at_the_end_do_not_make_a_channel_look_quiet() -> None:
    values = 60.0 + 0.3 * np.random.default_rng(4).standard_normal(360)
    clean = noise_of(grid(values[:120])).reading_sd_si[0]
    values[120:] = values[120]
    assert noise_of(grid(values)).reading_sd_si[0] == pytest.approx(clean, rel=0.15)


def test_the_newest_word_is_taken_out_of_its_row_to_the_bit() -> None:
    times = np.arange(0.0, 1800.0, 7.0)
    values = 60.0 + 0.1 * np.random.default_rng(5).standard_normal(len(times))
    values[-1] = 75.0
    newest = Reading(channel="a", quality=Quality.GOOD, value_si=75.0, at_s=float(times[-1]))
    whole = grid_of({"a": rows_of(times, values, 120.0)}, {"a": CONTEXT}, {"a": newest})
    without = rows_of(times[:-1], values[:-1], 120.0)
    assert whole.means_si[0, -1] == 75.0
    assert whole.means_si[0, :-1] == pytest.approx(without.means_si, rel=1e-12)
    assert whole.times_s[0, :-1] == pytest.approx(without.times_s, rel=1e-12)
    assert whole.counts[0, :-1].tolist() == without.counts.tolist()
    assert whole.highs_si[0, -2] < 61.0


def test_a_meter_of_a_use_is_measured_in_proportion_to_its_level() -> None:
    meter = ChannelContext(channel=channel("bat.current", "A", 0.2, 0.0), kind=ChannelKind.FLOW)
    moves = 0.01 * np.random.default_rng(6).standard_normal(360)
    level = np.where(np.arange(360) < 300, 5.0, 50.0)
    found = noise_of(grid(level * (1.0 + moves), context=meter))
    assert found.ahead_sd_si[0, -1] > 8.0 * found.ahead_sd_si[0, 100]
    assert found.ahead_sd_si[0, -1] == pytest.approx(0.01 * math.hypot(1.0, 0.67) * 50.0, rel=0.2)
