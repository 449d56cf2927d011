"""A gauge that runs away from what was counted, and two ways of knowing that part."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from validity_world import Floats, H, channel, judged_alone, rows_of

from console.engine.validity.context import Amounts, ChannelContext, ChannelKind, Course, Pair
from console.engine.validity.counted import course_of_counter, course_of_flow
from console.engine.validity.verdict import Doubt, Use, Verdict
from console.units import parse_unit

GAUGE = channel("tank.quantity", "kg", 1.2, 0.1)
TIMES = np.arange(0.0, 8 * H, 60.0) + 90_000.0
HOURS = (TIMES - TIMES[0]) / H
RATE = 1.1


def counted(rate_sd_per_h: float = 0.02, wander: float = 0.0) -> Course:
    taken = RATE * HOURS + wander * np.sin(HOURS)
    return Course(by="flow meter", times_s=TIMES, values_si=-taken, rate_sd_si_per_s=rate_sd_per_h / H)


def context(course: Course | None = None) -> ChannelContext:
    return ChannelContext(
        channel=GAUGE, kind=ChannelKind.HELD, courses=(counted() if course is None else course,)
    )


def gauge(drift_per_h: float, seed: int = 1, wander: float = 0.0) -> Floats:
    noise = 0.3 * np.random.default_rng(seed).standard_normal(len(TIMES))
    return np.round(70.0 - RATE * HOURS - wander * np.sin(HOURS) + drift_per_h * HOURS + noise, 1)


def drifts(found: tuple[Verdict, ...]) -> list[Verdict]:
    return [verdict for verdict in found if verdict.kind is Doubt.DRIFT]


def test_a_gauge_that_falls_less_than_was_counted_gives_way_to_the_count() -> None:
    (found,) = judged_alone(TIMES, gauge(0.4), context(), 120.0)
    assert (found.kind, found.use, found.value_at_s) == (Doubt.DRIFT, Use.LOWER, TIMES[-1])
    assert found.value_si == pytest.approx(70.0 - RATE * 8.0, abs=1.0)
    assert "more than flow meter allows, by 0.4" in found.why


def test_a_gauge_that_falls_more_than_was_counted_is_used_as_it_reads() -> None:
    (found,) = judged_alone(TIMES, gauge(-0.4), context(), 120.0)
    assert (found.kind, found.use, found.value_si) == (Doubt.DRIFT, Use.LOWER, None)
    assert "less than flow meter allows" in found.why


def test_what_stays_within_the_gauges_accuracy_is_no_drift() -> None:
    for seed in range(5):
        assert judged_alone(TIMES, gauge(0.12, seed), context(), 120.0) == ()


def test_what_the_meters_own_error_explains_is_no_drift() -> None:
    unsure = context(counted(rate_sd_per_h=0.15))
    assert drifts(judged_alone(TIMES, gauge(0.4), unsure, 120.0)) == []


def test_use_that_wanders_is_no_drift_where_it_was_counted() -> None:
    wandering = context(counted(wander=3.0))
    assert judged_alone(TIMES, gauge(0.0, wander=3.0), wandering, 120.0) == ()


def test_a_drift_that_began_lately_is_found() -> None:
    values = gauge(0.0) + np.maximum(HOURS - 6.0, 0.0) * 1.5
    assert len(drifts(judged_alone(TIMES, np.round(values, 1), context(), 120.0))) == 1


def test_a_jump_is_no_drift() -> None:
    explained = replace(context(), causes_s=(float(TIMES[240]),))
    values = gauge(0.0) + 3.0 * (np.arange(len(TIMES)) >= 240)
    assert drifts(judged_alone(TIMES, np.round(values, 1), explained, 120.0)) == []


def test_what_was_filled_in_is_not_held_against_the_gauge() -> None:
    filled = replace(context(), refills_s=(float(TIMES[240]),))
    values = gauge(0.0) + 20.0 * (np.arange(len(TIMES)) >= 240)
    assert judged_alone(TIMES, np.round(values, 1), filled, 120.0) == ()


def test_less_than_an_hour_tells_no_drift() -> None:
    # As much apart in under an hour as would be a drift over more.
    values = gauge(4.0)
    for end, is_found in ((58, False), (90, True)):
        assert bool(drifts(judged_alone(TIMES[:end], values[:end], context()))) == is_found


def test_the_integral_of_a_meter_is_by_trapezoids_and_falls_for_what_is_held() -> None:
    flow = rows_of(np.array([0.0, 10.0, 30.0]), np.array([1.0, 3.0, 3.0]), 1.0)
    course = course_of_flow("meter", flow, -1.0, 0.1)
    assert course.values_si.tolist() == [0.0, -20.0, -80.0]
    counter = course_of_counter("counter", flow, -1.0, 0.1)
    assert counter.values_si.tolist() == [-1.0, -3.0, -3.0]


def pair(own: Floats, others: Floats, own_sd: float = 0.6, other_sd: float = 0.5) -> ChannelContext:
    return ChannelContext(
        channel=GAUGE,
        kind=ChannelKind.HELD,
        pairs=(
            Pair(
                store="tank",
                other="tank.pressure",
                own=Amounts(times_s=TIMES[: len(own)], values_si=own, sd_si=own_sd),
                others=Amounts(times_s=TIMES[: len(others)], values_si=others, sd_si=other_sd),
                unit=parse_unit("kg"),
            ),
        ),
    )


def test_two_ways_of_knowing_that_part_for_three_readings_disagree_and_the_lower_is_named() -> None:
    own = gauge(0.0)
    apart = own + 3.3 * (np.arange(len(TIMES)) >= len(TIMES) - 3)
    (found,) = judged_alone(TIMES, own, pair(own, apart))
    assert (found.kind, found.use) == (Doubt.DISAGREES, Use.LOWER)
    assert found.since_s == TIMES[-3]
    assert "by tank.quantity, is used" in found.why
    assert "tank.pressure says" in found.why
    (found,) = judged_alone(TIMES, own, pair(apart, own))
    assert "by tank.pressure, is used" in found.why


def test_two_readings_apart_are_not_yet_a_disagreement_nor_is_what_their_errors_allow() -> None:
    own = gauge(0.0)
    for rows, by in ((2, 9.0), (100, 2.3)):  # three times hypot(0.6, 0.5) is 2.34
        apart = own + by * (np.arange(len(TIMES)) >= len(TIMES) - rows)
        assert judged_alone(TIMES, own, pair(own, apart)) == ()


def test_a_slight_disagreement_counts_once_the_mean_of_ten_readings_shows_it() -> None:
    own = gauge(0.0)
    for rows, is_found in ((5, False), (10, True)):
        apart = own + 2.6 * (np.arange(len(TIMES)) >= len(TIMES) - rows)
        assert bool(judged_alone(TIMES, own, pair(own, apart))) == is_found


def test_a_disagreement_that_is_over_is_not_one() -> None:
    own = gauge(0.0)
    apart = own + 3.0 * (np.arange(len(TIMES)) < len(TIMES) - 1)
    assert judged_alone(TIMES, own, pair(own, apart)) == ()
