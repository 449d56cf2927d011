"""The two-state filter of level and sensor bias, against simulated true courses."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.physics.battery import effective_draw_a
from console.physics.charge_filter import ChargeState, inflated, innovation, predicted, started, updated

AH = 3600.0
MINUTE_S = 60.0
CAPACITY_A_S = 1000.0 * AH
TRUE_A = 20.0
HOURS = 36
GAUGE_STEP_A_S, GAUGE_NOISE_A_S = 10.0 * AH, 5.0 * AH  # 1 % steps, half a per cent of noise
GAUGE_SD_A_S = math.hypot(GAUGE_NOISE_A_S, GAUGE_STEP_A_S / math.sqrt(12.0))


def _gauge(true_a_s: float, noise: random.Random) -> float:
    said = true_a_s + noise.gauss(0.0, GAUGE_NOISE_A_S)
    return round(said / GAUGE_STEP_A_S) * GAUGE_STEP_A_S


def _run(seed: int, offset_a: float) -> tuple[ChargeState, float]:
    """The filter, and plain counting, after 36 h of a steady 20 A seen by a meter that is off."""
    noise = random.Random(seed)
    true_a_s = counted_a_s = CAPACITY_A_S
    state = started(_gauge(true_a_s, noise), GAUGE_SD_A_S, 1.0)
    for _ in range(HOURS * 60):
        shown_a = TRUE_A + offset_a + noise.gauss(0.0, 0.2)
        true_a_s -= TRUE_A * MINUTE_S
        counted_a_s -= shown_a * MINUTE_S
        state = predicted(state, shown_a, MINUTE_S, 0.2)
        state = updated(state, _gauge(true_a_s, noise), GAUGE_SD_A_S)
    assert true_a_s == pytest.approx(280.0 * AH)
    return state, counted_a_s


def test_the_offset_of_the_current_meter_is_found() -> None:
    errors = []
    for seed in range(20):
        state, _ = _run(seed, -1.0)
        errors.append((state.bias_a - -1.0) / state.bias_sd_a)
        assert abs(state.bias_a - -1.0) < 0.05
    # 20 errors in units of their own sd: one beyond 3.5 comes by chance once in 100 such tests.
    assert max(map(abs, errors)) < 3.5


@pytest.mark.parametrize(("offset_a", "wrong"), [(-1.0, (316 / 19) / (280 / 20)), (1.0, (244 / 21) / 14)])
def test_an_ampere_of_offset_spoils_counting_by_18_per_cent_and_the_filter_by_less_than_one(
    offset_a: float, wrong: float
) -> None:
    """Of 1,000 A·h after 36 h at 20 A, 280 A·h are left: 14 h. The meter shows 19 or 21 A.

    Counting says (280 + 36) / 19 h, 18.8 % too long, or (280 - 36) / 21 h, 17.0 % too short: about 18 %.
    """
    worst_fused = 0.0
    for seed in range(10):
        state, counted_a_s = _run(seed, offset_a)
        counted = counted_a_s / (TRUE_A + offset_a) / (280.0 * AH / TRUE_A)
        assert counted == pytest.approx(wrong, abs=0.003)
        assert abs(counted - 1.0) == pytest.approx(0.18, abs=0.015)
        fused = state.level_a_s / (TRUE_A + offset_a - state.bias_a) / (280.0 * AH / TRUE_A)
        worst_fused = max(worst_fused, abs(fused - 1.0))
    assert worst_fused < 0.01, f"time left is {worst_fused:.2%} wrong"


def test_its_errors_are_as_large_as_it_says_over_many_courses() -> None:
    """Normalised innovation and error squared, of courses drawn from the filter's own model.

    200 courses of 40 readings: 8,000 squared innovations of mean 1 average within 1 ± 2.58 √(2 / 8000), 99 %;
    the 200 squared errors of level and bias, chi-square with two degrees each, within 2 ± 2.58 √(4 / 200).
    """
    innovations, errors = [], []
    for seed in range(200):
        noise = random.Random(seed)
        bias_a, true_a_s = noise.gauss(0.0, 0.8), 500.0 * AH
        state = started(true_a_s + noise.gauss(0.0, 4.0 * AH), 4.0 * AH, 0.8)
        for _ in range(40):
            current_a = noise.uniform(2.0, 30.0)
            shown_a = current_a + bias_a + noise.gauss(0.0, 0.3)
            true_a_s -= current_a * 1800.0
            state = predicted(state, shown_a, 1800.0, 0.3)
            gauge_a_s = true_a_s + noise.gauss(0.0, 3.0 * AH)
            innovations.append(innovation(state, gauge_a_s, 3.0 * AH).in_sd ** 2)
            state = updated(state, gauge_a_s, 3.0 * AH)
        errors.append(_error_squared(state, true_a_s, bias_a))
    assert sum(innovations) / len(innovations) == pytest.approx(1.0, abs=2.58 * math.sqrt(2.0 / 8000.0))
    assert sum(errors) / len(errors) == pytest.approx(2.0, abs=2.58 * math.sqrt(4.0 / 200.0))


def _error_squared(state: ChargeState, true_a_s: float, bias_a: float) -> float:
    """The error of both states by the inverse of their covariance."""
    level, bias = state.level_a_s - true_a_s, state.bias_a - bias_a
    p, c, v = state.level_variance_a2_s2, state.covariance_a2_s, state.bias_variance_a2
    return (v * level**2 - 2.0 * c * level * bias + p * bias**2) / (p * v - c**2)


STEPS = st.lists(
    st.tuples(st.floats(-20.0, 200.0), st.floats(0.0, 1e6), st.floats(0.0, 1e7), st.floats(1e-3, 1e7)),
    max_size=30,
)


@given(steps=STEPS, level_sd=st.floats(0.0, 1e7), bias_sd=st.floats(0.0, 10.0))
def test_the_covariance_stays_positive_whatever_comes(
    steps: list[tuple[float, float, float, float]], level_sd: float, bias_sd: float
) -> None:
    state = started(1e6, level_sd, bias_sd)
    for current_a, dt_s, gauge_a_s, gauge_sd in steps:
        state = predicted(state, current_a, dt_s, 0.1, 1e-9)
        state = updated(state, gauge_a_s, gauge_sd)
        assert state.level_variance_a2_s2 >= 0.0
        assert state.bias_variance_a2 >= 0.0
        whole = state.level_variance_a2_s2 * state.bias_variance_a2
        assert state.covariance_a2_s**2 <= whole * (1.0 + 1e-12)


def test_a_gauge_never_makes_the_level_less_sure() -> None:
    before = predicted(started(500.0 * AH, 4.0 * AH, 0.5), 10.0, 3600.0, 0.1)
    after = updated(before, 480.0 * AH, 30.0 * AH)
    assert after.level_sd_a_s < before.level_sd_a_s
    assert after.bias_sd_a < before.bias_sd_a


def test_a_gauge_that_says_more_than_was_counted_tells_that_the_meter_shows_too_much() -> None:
    before = predicted(started(500.0 * AH, 1.0 * AH, 0.5), 10.0, 10 * 3600.0, 0.1)
    assert before.level_a_s == 400.0 * AH
    assert updated(before, 404.0 * AH, 1.0 * AH).bias_a > 0.0
    assert updated(before, 396.0 * AH, 1.0 * AH).bias_a < 0.0


def test_without_a_gauge_it_is_plain_counting_and_the_bias_makes_it_ever_less_sure() -> None:
    state = started(500.0 * AH, 3.0 * AH, 0.5)
    for _ in range(10):
        state = predicted(state, 10.0, 3600.0, 0.0)
    assert state.level_a_s == pytest.approx(400.0 * AH, rel=1e-12)
    # 3 A·h at the start and 0.5 A over 10 h.
    assert state.level_sd_a_s == pytest.approx(math.hypot(3.0, 5.0) * AH, rel=1e-12)


def test_one_long_step_is_as_good_as_many_short_ones_of_the_same_current() -> None:
    once = predicted(started(500.0 * AH, 3.0 * AH, 0.5), 10.0, 7200.0, 0.0, 1e-8)
    often = started(500.0 * AH, 3.0 * AH, 0.5)
    for _ in range(720):
        often = predicted(often, 10.0, 10.0, 0.0, 1e-8)
    assert often.level_a_s == pytest.approx(once.level_a_s, rel=1e-12)
    assert often.level_variance_a2_s2 == pytest.approx(once.level_variance_a2_s2, rel=1e-9)
    assert often.covariance_a2_s == pytest.approx(once.covariance_a2_s, rel=1e-9)
    assert often.bias_variance_a2 == pytest.approx(once.bias_variance_a2, rel=1e-9)


@given(current_a=st.floats(1.0, 200.0), bias_a=st.floats(-0.5, 0.5))
def test_the_rate_effect_is_counted_on_the_true_current(current_a: float, bias_a: float) -> None:
    state = ChargeState(
        level_a_s=1e6, bias_a=bias_a, level_variance_a2_s2=0.0, covariance_a2_s=0.0, bias_variance_a2=0.01
    )
    after = predicted(state, current_a + bias_a, 100.0, 0.0, rated_current_a=9.0, peukert=1.2)
    assert 1e6 - after.level_a_s == pytest.approx(100.0 * effective_draw_a(current_a, 9.0, 1.2), rel=1e-9)
    # The slope by a small difference of the draw, which the law itself gives.
    if abs(current_a - 9.0) > 0.01:
        tiny_a = 1e-4
        slope = (
            effective_draw_a(current_a + tiny_a, 9.0, 1.2) - effective_draw_a(current_a - tiny_a, 9.0, 1.2)
        ) / (2.0 * tiny_a)
        assert after.level_sd_a_s == pytest.approx(100.0 * slope * 0.1, rel=1e-5)


def test_what_nobody_counted_makes_the_level_less_sure_and_the_bias_no_better() -> None:
    state = inflated(started(500.0 * AH, 3.0 * AH, 0.5), 4.0 * AH)
    assert (state.level_sd_a_s, state.bias_sd_a) == (5.0 * AH, 0.5)


def test_time_that_goes_back_and_two_certainties_are_refused() -> None:
    with pytest.raises(ValueError, match="go back"):
        predicted(started(1.0, 1.0, 1.0), 1.0, -1.0, 0.0)
    with pytest.raises(ValueError, match="error"):
        updated(started(1.0, 0.0, 1.0), 1.0, 0.0)
