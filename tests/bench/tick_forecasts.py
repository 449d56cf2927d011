"""One forecast three ways from the same inputs: closed form, a dense table of samples by phases, and steps.

Inputs are a look ahead's own: what each supply begins with in every sample, its groups of uses, what jumps
add. Neither other way is handed anything that the closed form has to find for itself, and both are written
to be quick: the table by one matrix product a supply and a cumulative sum; the steps for all supplies of one
sample together with an event at each one's zero, begun anew where a rate changes (else they step across
phases without a look, and are wrong), the first tried being as long as the phase.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from console.engine.ahead import Ahead
from console.engine.course import course_of
from console.engine.course_rates import SampledRates
from console.engine.forecast import interval
from console.engine.snapshot import Interval

FAR_S = 500.0 * 3600.0
"""Until when steps are taken: later ends count as none in all three."""


@dataclass(frozen=True, kw_only=True)
class Given:
    """One supply as it is forecast."""

    begin_si: np.ndarray
    times_s: np.ndarray
    factors: np.ndarray
    """Of each group in each sample, (groups, samples)."""
    rates_si_per_s: np.ndarray
    """Of each group from each moment on, (groups, moments)."""
    jumps: tuple[tuple[float, np.ndarray], ...]
    need_s: np.ndarray
    now_s: float


@dataclass(frozen=True, kw_only=True)
class Found:
    """What is told of one supply."""

    margin_s: Interval
    left_at_need_si: Interval


def given_of(ahead: Ahead, now_s: float) -> dict[str, Given]:
    """What a look ahead goes by."""
    found = {}
    for name, one in ahead.supplies.items():
        course, need_s = one.outlook.course, one.outlook.need_s
        assert course is not None
        assert need_s is not None
        moments = [
            int(np.searchsorted(course.jumps_by, number + 1)) for number in range(len(course.added_si) - 1)
        ]
        amounts = np.diff(course.added_si, axis=0)
        found[name] = Given(
            begin_si=course.begin_si,
            times_s=course.times_s,
            factors=course.rates.factors,
            rates_si_per_s=course.rates.rates_si_per_s,
            jumps=tuple(
                (float(course.times_s[moment]), amount)
                for moment, amount in zip(moments, amounts, strict=True)
            ),
            need_s=need_s,
            now_s=now_s,
        )
    return found


def by_closed_form(given: dict[str, Given]) -> dict[str, Found]:
    """As the engine does it, course and figures."""
    found = {}
    for name, one in given.items():
        rates = SampledRates(factors=one.factors, rates_si_per_s=one.rates_si_per_s)
        course = course_of(one.begin_si, one.times_s, rates, one.jumps)
        found[name] = _found(one, course.runs_out_s(), course.left_si(np.maximum(one.need_s, one.now_s)))
    return found


def by_table(given: dict[str, Given]) -> dict[str, Found]:
    """By samples times phases."""
    return {name: _found(one, *_by_table(one)) for name, one in given.items()}


def _by_table(one: Given) -> tuple[np.ndarray, np.ndarray]:
    times, spans = one.times_s, np.diff(one.times_s)
    rates = one.factors.T @ one.rates_si_per_s
    levels = np.empty_like(rates)
    levels[:, 0] = 0.0
    np.cumsum(rates[:, :-1] * -spans, axis=1, out=levels[:, 1:])
    levels += one.begin_si[:, None]
    for at_s, amount in one.jumps:
        levels[:, np.searchsorted(times, at_s) :] += amount[:, None]
    gone = levels <= 0.0
    gone[:, :-1] |= levels[:, :-1] <= rates[:, :-1] * spans
    gone[:, -1] |= rates[:, -1] > 0.0
    first, rows = np.argmax(gone, axis=1), np.arange(len(rates))
    with np.errstate(divide="ignore", invalid="ignore"):
        into_s = np.where(levels[rows, first] > 0.0, levels[rows, first] / rates[rows, first], 0.0)
    out_s = np.where(gone[rows, first], times[first] + into_s, np.inf)
    at_s = np.maximum(one.need_s, one.now_s)
    index = np.searchsorted(times, at_s, side="right") - 1
    return out_s, levels[rows, index] - rates[rows, index] * (at_s - times[index])


def by_steps(given: dict[str, Given], rows: range) -> dict[str, Found]:
    """By scipy's ``solve_ivp``, one sample after the other."""
    each = [_by_steps(given, row) for row in rows]
    found = {}
    for number, (name, one) in enumerate(given.items()):
        out_s = np.array([out for out, _ in each])[:, number]
        left = np.array([left for _, left in each])[:, number]
        found[name] = _found(_of_rows(one, rows), out_s, left)
    return found


def _by_steps(given: dict[str, Given], row: int) -> tuple[np.ndarray, np.ndarray]:
    """When each supply of one sample is at zero first, and what is left of it at need."""
    from scipy.integrate import solve_ivp

    supplies = list(given.values())
    grid = np.unique(np.concatenate([one.times_s for one in supplies]))
    table = np.stack(
        [
            (one.factors[:, row] @ one.rates_si_per_s)[np.searchsorted(one.times_s, grid, side="right") - 1]
            for one in supplies
        ],
        axis=1,
    )
    begin = np.array([one.begin_si[row] for one in supplies])
    need_s = max(float(supplies[0].need_s[row]), supplies[0].now_s)
    jumps = [(at_s, number, amount[row]) for number, one in enumerate(supplies) for at_s, amount in one.jumps]
    stops = sorted({need_s, FAR_S, *grid[grid < FAR_S].tolist()})
    level, out_s, left = begin, np.full(len(supplies), math.inf), begin
    events = [_reaches_zero(number) for number in range(len(supplies))]
    for start_s, stop_s in pairwise(stops):
        for at_s, number, amount in jumps:
            if at_s == start_s:
                level[number] += amount
        out_s = np.where((level <= 0.0) & np.isinf(out_s), start_s, out_s)
        left = level.copy() if start_s == need_s else left
        slope = -table[int(grid.searchsorted(start_s, side="right")) - 1]
        run = solve_ivp(
            lambda _at_s, _level, slope=slope: slope,
            (start_s, stop_s),
            level,
            events=events,
            first_step=stop_s - start_s,
        )
        crossed = [float(times[0]) if len(times) else math.inf for times in run.t_events]
        out_s = np.minimum(out_s, crossed)
        level = run.y[:, -1].copy()
    return out_s, left


def _reaches_zero(number: int) -> Callable[[float, np.ndarray], float]:
    def level(_at_s: float, levels: np.ndarray) -> float:
        return float(levels[number])

    level.direction = -1.0  # type: ignore[attr-defined]  # solve_ivp reads it off the function
    return level


def rows_of(given: dict[str, Given], rows: range) -> dict[str, Given]:
    """Some of the samples alone."""
    return {name: _of_rows(one, rows) for name, one in given.items()}


def _of_rows(one: Given, rows: range) -> Given:
    return Given(
        begin_si=one.begin_si[rows],
        times_s=one.times_s,
        factors=one.factors[:, rows],
        rates_si_per_s=one.rates_si_per_s,
        jumps=tuple((at_s, amount[rows]) for at_s, amount in one.jumps),
        need_s=one.need_s[rows],
        now_s=one.now_s,
    )


def _found(one: Given, out_s: np.ndarray, left_si: np.ndarray) -> Found:
    ends_s = np.where(out_s < FAR_S, out_s, np.inf)
    return Found(margin_s=interval(ends_s - one.need_s), left_at_need_si=interval(left_si))


def apart(found: dict[str, Found], other: dict[str, Found], given: dict[str, Given]) -> float:
    """The largest difference of any p05, p50 or p95: times over the time to need, amounts over the first."""
    worst = 0.0
    for name, one in given.items():
        spans = (float(one.need_s[0]) - one.now_s, float(one.begin_si[0]))
        for figure, span in zip(("margin_s", "left_at_need_si"), spans, strict=True):
            mine, others = getattr(found[name], figure), getattr(other[name], figure)
            for end in ("p05", "p50", "p95"):
                pair = (getattr(mine, end), getattr(others, end))
                if None in pair:
                    worst = max(worst, 0.0 if pair == (None, None) else math.inf)
                else:
                    worst = max(worst, abs(pair[0] - pair[1]) / span)
    return worst
