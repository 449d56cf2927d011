"""The closed form against a plain step-by-step sum, and the rules of samples and intervals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from console.engine.course import Course, course_of
from console.engine.course_rates import SampledRates
from console.engine.forecast import Draws, interval


def course(usable: float, times: list[float], rates: list[float], jumps: list[float]) -> Course:
    return course_of(
        np.array([usable]),
        np.array(times),
        SampledRates(factors=np.ones((1, 1)), rates_si_per_s=np.array([rates])),
        [(at_s, np.array([amount])) for at_s, amount in zip(times, jumps, strict=True) if amount],
    )


def walked(
    usable: float, times: list[float], rates: list[float], jumps: list[float], step: float = 0.25
) -> float:
    """When a supply runs out, found by walking in small steps: another route to the same number."""
    at, level, index = times[0], usable + jumps[0], 0
    while at < 1e4:
        if level <= 0.0:
            return at
        if index + 1 < len(times) and at >= times[index + 1]:
            index += 1
            level += jumps[index]
            continue
        level -= rates[index] * step
        at += step
    return math.inf


@given(
    usable=st.floats(1.0, 500.0),
    spans=st.lists(st.integers(1, 40), min_size=1, max_size=5),
    data=st.data(),
)
@settings(max_examples=60, deadline=None, derandomize=True)
def test_the_closed_form_agrees_with_walking_in_small_steps(
    usable: float, spans: list[int], data: st.DataObject
) -> None:
    times = [0.0, *np.cumsum(spans).astype(float)]
    rates = data.draw(st.lists(st.floats(0.0, 3.0), min_size=len(times), max_size=len(times)))
    jumps = [0.0, *data.draw(st.lists(st.floats(-60.0, 30.0), min_size=len(spans), max_size=len(spans)))]
    found = float(course(usable, times, rates, jumps).runs_out_s()[0])
    # The walk overshoots by up to one step in each direction.
    expected = walked(usable, times, rates, jumps)
    assert (math.isinf(expected) and found > 9e3) or found == pytest.approx(expected, abs=0.5)


def test_an_event_that_takes_more_than_there_is_ends_the_supply_at_its_moment() -> None:
    out = course(100.0, [0.0, 10.0], [1.0, 1.0], [0.0, -95.0]).runs_out_s()
    assert out[0] == 10.0


def test_a_refill_after_the_end_does_not_undo_the_end() -> None:
    out = course(20.0, [0.0, 50.0, 60.0], [1.0, 1.0, 1.0], [0.0, 0.0, 1000.0]).runs_out_s()
    assert out[0] == 20.0


def test_what_is_not_used_does_not_run_out() -> None:
    assert course(5.0, [0.0], [0.0], [0.0]).runs_out_s()[0] == math.inf


def test_nothing_usable_has_run_out_now_whatever_the_rate() -> None:
    assert course(-1.0, [7.0], [0.0], [0.0]).runs_out_s()[0] == 7.0


def test_what_is_left_is_a_shortfall_when_the_need_lies_after_the_end() -> None:
    left = course(20.0, [0.0, 10.0], [1.0, 2.0], [0.0, -5.0]).left_si(np.array([30.0]))
    assert left[0] == pytest.approx(20.0 - 10.0 - 5.0 - 40.0)


def test_an_event_at_the_very_moment_of_need_counts() -> None:
    left = course(20.0, [0.0, 10.0], [1.0, 1.0], [0.0, -5.0]).left_si(np.array([10.0]))
    assert left[0] == pytest.approx(5.0)


def test_the_interval_of_normal_errors_is_the_tabulated_one() -> None:
    """The 5 % point of the standard normal is -1.645 (NIST/SEMATECH e-Handbook 1.3.6.7.1; from memory)."""
    samples = 100.0 + Draws(seed=1, count=2000).error("gauge", 10.0)
    found = interval(samples)
    assert found.p50 == 100.0
    assert found.p05 == pytest.approx(100.0 - 16.45, abs=0.1)
    assert found.p95 == pytest.approx(100.0 + 16.45, abs=0.1)


def test_an_end_at_infinity_is_none_and_the_low_end_stays() -> None:
    samples = np.array([50.0, *([40.0] * 50), *([math.inf] * 50)])
    found = interval(samples)
    assert (found.p05, found.p50, found.p95) == (40.0, 50.0, None)


def test_the_interval_never_leaves_out_its_centre() -> None:
    assert interval(np.array([90.0, 1.0, 2.0, 3.0])).p95 == 90.0
