"""Readings far off: suspected while new, told when they have come back, a step when two more confirm them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from validity_world import Floats, H, channel, judged_alone

from console.engine.validity.context import ChannelContext, ChannelKind
from console.engine.validity.verdict import Doubt, Use

TANK = ChannelContext(channel=channel("tank.quantity", "kg", 1.2, 0.1), kind=ChannelKind.HELD)
TIMES = np.arange(0.0, 5 * H, 60.0) + 90_000.0
SD = 0.3


def tank(seed: int = 1, count: int = len(TIMES)) -> Floats:
    random = np.random.default_rng(seed)
    return np.round(60.0 - np.arange(count) / 120.0 + SD * random.standard_normal(count), 1)


def test_a_newest_reading_far_above_is_suspected_and_the_one_before_is_used() -> None:
    values = tank()
    values[-1] += 6.0
    (found,) = judged_alone(TIMES, values, TANK)
    assert (found.kind, found.use, found.is_doubt) == (Doubt.SPIKE, Use.LEFT_OUT, True)
    assert (found.value_si, found.value_at_s) == (values[-2], TIMES[-2])
    assert found.since_s == TIMES[-1]
    assert "spike is suspected" in found.why


def test_a_store_that_seems_to_have_lost_much_is_doubted_but_used_as_it_reads() -> None:
    values = tank()
    values[-1] -= 6.0
    (found,) = judged_alone(TIMES, values, TANK)
    assert (found.kind, found.use, found.value_si) == (Doubt.SPIKE, Use.AS_IT_IS, None)


def test_where_no_side_is_better_a_spike_is_left_out_to_either_side() -> None:
    for jump in (-6.0, 6.0):
        values = tank()
        values[-1] += jump
        (found,) = judged_alone(TIMES, values, replace(TANK, kind=ChannelKind.OTHER))
        assert (found.use, found.value_si) == (Use.LEFT_OUT, values[-2])


def test_a_second_reading_is_still_a_spike_and_a_third_is_a_step() -> None:
    values = tank()
    values[-3:] += 6.0
    kinds = [judged_alone(TIMES[:end], values[:end], TANK)[0].kind for end in (-2, -1, len(values))]
    assert kinds == [Doubt.SPIKE, Doubt.SPIKE, Doubt.STEP]


def test_a_spike_that_has_come_back_is_told_for_ten_minutes_and_no_doubt() -> None:
    values = tank()
    values[-4] += 6.0
    (found,) = judged_alone(TIMES, values, TANK)
    assert (found.kind, found.use, found.is_doubt) == (Doubt.SPIKE, Use.AS_IT_IS, False)
    assert found.since_s == TIMES[-4]
    assert "it has come back" in found.why
    values = tank()
    values[-14] += 6.0
    assert judged_alone(TIMES, values, TANK) == ()


@pytest.mark.parametrize("sds", [4.0, 5.0])
def test_a_reading_some_standard_deviations_off_is_noise(sds: float) -> None:
    for seed in range(5):
        values = tank(seed)
        values[-1] = round(60.0 - (len(TIMES) - 1) / 120.0 + sds * SD, 1)
        assert judged_alone(TIMES, values, TANK) == ()


def test_nothing_within_four_display_steps_is_a_spike_however_quiet_the_gauge() -> None:
    quiet = np.full(len(TIMES), 42.0)
    for steps, kinds in ((4, []), (5, [Doubt.SPIKE])):
        values = quiet.copy()
        values[-1] += 0.1 * steps
        assert [verdict.kind for verdict in judged_alone(TIMES, values, TANK)] == kinds


def test_what_can_truly_move_so_fast_is_no_spike() -> None:
    values = tank()
    values[-1] -= 6.0
    assert judged_alone(TIMES, values, replace(TANK, largest_rate_si_per_s=0.15)) == ()
    assert judged_alone(TIMES, values, replace(TANK, largest_rate_si_per_s=0.02)) != ()


def test_a_jump_with_a_cause_is_no_spike() -> None:
    values = tank()
    values[-1] += 6.0
    assert judged_alone(TIMES, values, replace(TANK, causes_s=(float(TIMES[-1]) - 100.0,))) == ()
    assert judged_alone(TIMES, values, replace(TANK, refills_s=(float(TIMES[-1]) - 100.0,))) == ()
    assert judged_alone(TIMES, values, replace(TANK, causes_s=(float(TIMES[-1]) - 400.0,))) != ()


def test_the_first_reading_after_an_hour_of_silence_may_differ_by_more() -> None:
    random = np.random.default_rng(3)
    wander = 20.0 + np.cumsum(0.05 * random.standard_normal(len(TIMES)))
    context = ChannelContext(channel=channel("bat.current", "A", 0.2, 0.01), kind=ChannelKind.FLOW)
    wander[-1] = wander[-2] + 1.5
    assert [verdict.kind for verdict in judged_alone(TIMES, wander, context)] == [Doubt.SPIKE]
    late = TIMES.copy()
    late[-1] += 3600.0
    assert judged_alone(late, wander, context) == ()


def test_noise_that_the_end_of_the_range_cuts_off_makes_no_spikes() -> None:
    context = replace(TANK, channel=channel("spare.used", "kg", 0.15, 0.01), kind=ChannelKind.TAKEN)
    for seed in range(20):
        noise = 0.0375 * np.random.default_rng(seed).standard_normal(len(TIMES))
        values = np.round(np.maximum(noise - 0.02, 0.0), 2)
        for end in range(200, len(TIMES), 5):
            assert judged_alone(TIMES[:end], values[:end], context) == ()


def test_a_counter_that_begins_to_count_after_hours_at_zero_makes_none_either() -> None:
    context = replace(TANK, channel=channel("spare.used", "kg", 0.15, 0.01), kind=ChannelKind.TAKEN)
    begun = replace(context, causes_s=(float(TIMES[150]),))
    for seed in range(10):
        noise = 0.0375 * np.random.default_rng(seed).standard_normal(len(TIMES))
        counted = np.maximum(np.arange(len(TIMES)) - 150, 0) * 0.002
        values = np.round(np.maximum(counted + noise - 0.03, 0.0), 2)
        for end in range(150, len(TIMES), 5):
            assert judged_alone(TIMES[:end], values[:end], begun) == ()


@pytest.mark.parametrize("behind", [1, 2])
def test_in_rows_of_many_readings_one_or_two_strays_are_a_spike_and_many_are_a_step(behind: int) -> None:
    times = np.arange(0.0, 4 * H, 1.0)
    values = tank(5, len(times))
    values[-behind:] += 6.0
    assert [verdict.kind for verdict in judged_alone(times, values, TANK, 60.0)] == [Doubt.SPIKE]
    values[-40:-behind] += 6.0
    assert [verdict.kind for verdict in judged_alone(times, values, TANK, 60.0)] == [Doubt.STEP]


def test_a_stray_inside_a_row_of_many_readings_is_told() -> None:
    times = np.arange(0.0, 4 * H, 1.0)
    values = tank(5, len(times))
    values[-200] -= 8.0
    (found,) = judged_alone(times, values, TANK, 60.0)
    assert (found.kind, found.is_doubt) == (Doubt.SPIKE, False)
