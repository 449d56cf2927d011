"""A course held as products, against the table of samples by moments walked step by step in every sample."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from console.engine.course import Course, course_of
from console.engine.course_rates import SampledRates, joined
from console.engine.draws import Floats
from console.engine.switch import switched_out_s

SAMPLES = 9


class Walked:
    """The same, sample by sample and moment by moment, in plain Python."""

    def __init__(
        self, begin: Floats, times: Floats, rates: Floats, jumps: Sequence[tuple[float, Floats]]
    ) -> None:
        self.times, self.rates = times.tolist(), rates
        self.levels = np.zeros_like(rates)
        for row, start in enumerate(begin.tolist()):
            level = start
            for step, at_s in enumerate(self.times):
                level += math.fsum(float(amount[row]) for when, amount in jumps if when == at_s)
                self.levels[row, step] = level
                if step + 1 < len(self.times):
                    level -= rates[row, step] * (self.times[step + 1] - at_s)

    def runs_out_s(self, row: int, from_s: float = -math.inf, more: float = 0.0) -> float:
        """The first moment at zero from one moment on."""
        for step, begin_s in enumerate(self.times):
            end_s = self.times[step + 1] if step + 1 < len(self.times) else math.inf
            if end_s <= from_s:
                continue
            rate, at_s = float(self.rates[row, step]), max(begin_s, from_s)
            level = float(self.levels[row, step]) + more - rate * (at_s - begin_s)
            if level <= 0.0:
                return at_s
            if rate > 0.0 and at_s + level / rate <= end_s:
                return at_s + level / rate
        return math.inf

    def left_si(self, row: int, at_s: float) -> float:
        step = max(sum(begin_s <= at_s for begin_s in self.times) - 1, 0)
        return float(self.levels[row, step] - self.rates[row, step] * (at_s - self.times[step]))

    def least_si(self, row: int, until_s: float) -> float:
        """By looking just before and at every moment up to then."""
        looked = [self.left_si(row, until_s)]
        for step, begin_s in enumerate(self.times):
            if begin_s <= until_s:
                looked.append(float(self.levels[row, step]))
                if step:
                    before = self.times[step - 1]
                    lost = self.rates[row, step - 1] * (begin_s - before)
                    looked.append(float(self.levels[row, step - 1] - lost))
        return min(looked)


def a_course(seed: int, least_rate: float, most_jump: float) -> tuple[Course, Walked]:
    """Several groups, jumps up and down, some of them at one moment."""
    rng = np.random.default_rng(seed)
    moments, groups = int(rng.integers(1, 14)), int(rng.integers(1, 5))
    times = np.concatenate(([0.0], np.cumsum(rng.uniform(0.5, 9.0, moments - 1))))
    factors = rng.uniform(0.5, 1.5, (groups, SAMPLES))
    each = rng.uniform(least_rate, 2.0, (groups, moments))
    each[:, rng.random(moments) < 0.2] = 0.0
    jumps = [
        (float(rng.choice(times)), rng.uniform(-8.0, most_jump) * rng.uniform(0.8, 1.2, SAMPLES))
        for _ in range(int(rng.integers(0, 5)))
    ]
    begin = rng.uniform(-1.0, 60.0) + rng.uniform(0.0, 5.0, SAMPLES)
    rates = SampledRates(factors=factors, rates_si_per_s=each)
    return course_of(begin, times, rates, jumps), Walked(begin, times, factors.T @ each, jumps)


kinds = pytest.mark.parametrize(
    ("least_rate", "most_jump"),
    [(0.0, 0.0), (0.0, 30.0), (-1.0, 0.0), (-1.0, 30.0)],
    ids=["only falls", "gains at jumps", "rises in between", "both"],
)


@kinds
@given(seed=st.integers(0, 10**6))
@settings(max_examples=80, deadline=None, derandomize=True)
def test_every_sample_runs_out_when_a_walk_from_moment_to_moment_says(
    least_rate: float, most_jump: float, seed: int
) -> None:
    course, walked = a_course(seed, least_rate, most_jump)
    found = course.runs_out_s()
    for row in range(SAMPLES):
        assert found[row] == pytest.approx(walked.runs_out_s(row), rel=1e-9, abs=1e-9)


@kinds
@given(seed=st.integers(0, 10**6), at=st.floats(0.0, 1.3), more=st.floats(-20.0, 20.0))
@settings(max_examples=80, deadline=None, derandomize=True)
def test_from_a_moment_on_with_more_or_less_it_runs_out_when_the_walk_says(
    least_rate: float, most_jump: float, seed: int, at: float, more: float
) -> None:
    course, walked = a_course(seed, least_rate, most_jump)
    at_s = at * (float(course.times_s[-1]) + 1.0)
    found = course.runs_out_after_s(at_s, np.full(SAMPLES, more))
    for row in range(SAMPLES):
        assert found[row] == pytest.approx(walked.runs_out_s(row, at_s, more), rel=1e-9, abs=1e-9)


@kinds
@given(seed=st.integers(0, 10**6))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_what_is_left_and_the_least_until_then_are_those_of_the_walk(
    least_rate: float, most_jump: float, seed: int
) -> None:
    course, walked = a_course(seed, least_rate, most_jump)
    until_s = np.random.default_rng(seed).uniform(0.0, 1.3 * float(course.times_s[-1]) + 1.0, SAMPLES)
    left, least = course.left_si(until_s), course.least_si(until_s)
    for row, at_s in enumerate(until_s.tolist()):
        assert left[row] == pytest.approx(walked.left_si(row, at_s), abs=1e-9)
        assert course.left_at_si(at_s)[row] == pytest.approx(left[row], abs=1e-12)
        assert least[row] == pytest.approx(walked.least_si(row, at_s), abs=1e-9)


@kinds
@given(seed=st.integers(0, 10**6), at=st.floats(0.0, 1.2))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_the_least_from_a_stretch_on_bounds_the_end(
    least_rate: float, most_jump: float, seed: int, at: float
) -> None:
    course, walked = a_course(seed, least_rate, most_jump)
    at_s = at * (float(course.times_s[-1]) + 1.0)
    until_s = at_s + np.random.default_rng(seed).uniform(0.1, 30.0, SAMPLES)
    rest = course.least_from_si(course.stretch_at(at_s), until_s)
    least = np.minimum(course.left_at_si(at_s), rest)
    for row, until in enumerate(until_s.tolist()):
        if abs(least[row]) > 1e-6:
            assert (least[row] > 0.0) == (walked.runs_out_s(row, at_s) > until)


def test_in_the_last_stretch_of_all_what_lay_before_the_moment_does_not_count() -> None:
    rates = SampledRates(factors=np.ones((1, 1)), rates_si_per_s=np.array([[3.0, -1.0]]))
    course = course_of(np.array([10.0]), np.array([0.0, 5.0]), rates, [])
    assert course.left_at_si(5.0)[0] == -5.0
    rest = course.least_from_si(course.stretch_at(20.0), np.array([30.0]))
    assert rest[0] == 20.0
    assert course.least_si(np.array([30.0]))[0] == -5.0


def test_the_tables_that_are_made_on_demand_are_those_of_the_walk() -> None:
    course, walked = a_course(5, -1.0, 30.0)
    assert course.starts_si == pytest.approx(walked.levels, abs=1e-9)
    assert course.rates_si_per_s == pytest.approx(walked.rates, abs=1e-12)
    assert course.central().starts_si[0] == pytest.approx(walked.levels[0], abs=1e-9)
    assert course.less(3.0).starts_si == pytest.approx(walked.levels - 3.0, abs=1e-9)


def test_a_copy_does_not_keep_what_was_found_of_the_original() -> None:
    rates = SampledRates(factors=np.array([[1.0, 2.0]]), rates_si_per_s=np.array([[1.0, 2.0]]))
    course = course_of(np.array([20.0, 20.0]), np.array([0.0, 5.0]), rates, [])
    assert course.runs_out_s().tolist() == [12.5, 7.5]
    assert course.less(10.0).runs_out_s().tolist() == [7.5, 5.0]
    assert course.central().runs_out_s().tolist() == [12.5]
    assert course.runs_out_s().tolist() == [12.5, 7.5]


@given(seed=st.integers(0, 10**6), at=st.floats(0.0, 1.2))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_a_switch_runs_out_on_the_one_course_before_it_and_on_the_other_after(seed: int, at: float) -> None:
    before, walked_before = a_course(seed, 0.0, 30.0)
    after, walked_after = a_course(seed + 1, 0.0, 30.0)
    at_s = at * (float(before.times_s[-1]) + 1.0)
    found = switched_out_s(before, after, at_s)
    for row in range(SAMPLES):
        out_s = walked_before.runs_out_s(row)
        if out_s > at_s:
            shift = walked_before.left_si(row, at_s) - walked_after.left_si(row, at_s)
            out_s = walked_after.runs_out_s(row, at_s, shift)
        assert found[row] == pytest.approx(out_s, rel=1e-9, abs=1e-9)


def test_rates_below_nothing_are_made_up_for_in_the_samples_and_stretches_where_they_occur() -> None:
    rates = SampledRates(
        factors=np.array([[1.0, 1.0, 1.0], [0.0, 0.5, 2.0]]),
        rates_si_per_s=np.array([[1.0, 4.0, 0.0], [-1.0, -1.0, 0.0]]),
    )
    expected = np.maximum(rates.table(), 0.0)
    assert (rates.table() < 0.0).any()
    mended = rates.never_negative()
    assert mended.table() == pytest.approx(expected)
    assert len(mended.factors) == 3
    assert mended.at(1) == pytest.approx(expected[:, 1])


def test_what_cannot_go_below_nothing_is_left_as_it_is() -> None:
    rates = SampledRates(factors=np.ones((1, 4)), rates_si_per_s=np.array([[0.0, 2.0]]))
    assert rates.never_negative() is rates


def test_parts_add_up_and_a_part_that_takes_nothing_changes_no_digit() -> None:
    rng = np.random.default_rng(3)
    first = SampledRates(factors=rng.random((2, 50)), rates_si_per_s=rng.random((2, 7)))
    nothing = SampledRates(factors=rng.random((1, 50)), rates_si_per_s=np.zeros((1, 7)))
    assert (joined([nothing, first]).table() == first.table()).all()
    assert joined([first, first]).table() == pytest.approx(2.0 * first.table())
