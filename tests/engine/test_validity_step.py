"""A level that shifts and stays: which side it flatters, what explains it, and what is no step."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from validity_world import Floats, H, channel, judged_alone

from console.engine.validity.context import ChannelContext, ChannelKind
from console.engine.validity.verdict import Doubt, Use

TANK = ChannelContext(channel=channel("tank.quantity", "kg", 1.2, 0.1), kind=ChannelKind.HELD)
METER = ChannelContext(channel=channel("bat.current", "A", 0.2, 0.1), kind=ChannelKind.FLOW)
TIMES = np.arange(0.0, 6 * H, 60.0) + 90_000.0
SD = 0.3
AT = 240


def tank(jump: float = 0.0, seed: int = 1) -> Floats:
    noise = SD * np.random.default_rng(seed).standard_normal(len(TIMES))
    values = 60.0 - np.arange(len(TIMES)) / 120.0 + noise
    values[AT:] += jump
    return np.round(values, 1)


def meter(jump: float = 0.0, seed: int = 1) -> Floats:
    values = 10.0 + 0.05 * np.random.default_rng(seed).standard_normal(len(TIMES))
    values[AT:] += jump
    return np.round(values, 1)


@pytest.mark.parametrize("width_s", [1.0, 120.0])
def test_a_gain_that_nobody_logged_is_left_out_for_what_was_shown_before(width_s: float) -> None:
    values = tank(4.0)
    (found,) = judged_alone(TIMES, values, TANK, width_s)
    assert (found.kind, found.use) == (Doubt.STEP, Use.LEFT_OUT)
    assert found.since_s == pytest.approx(TIMES[AT], abs=width_s)
    assert found.value_at_s is not None
    assert found.value_at_s < TIMES[AT]
    assert found.value_si == pytest.approx(58.0, abs=4 * SD)
    assert "nothing logged explains it" in found.why


def test_a_loss_that_nobody_logged_is_said_and_used_as_it_reads() -> None:
    (found,) = judged_alone(TIMES, tank(-4.0), TANK)
    assert (found.kind, found.use, found.is_doubt) == (Doubt.STEP, Use.AS_IT_IS, True)


def test_a_counter_set_back_flatters_and_one_that_leaps_does_not() -> None:
    counter = replace(TANK, kind=ChannelKind.TAKEN)
    for jump, use in ((-4.0, Use.LEFT_OUT), (4.0, Use.AS_IT_IS)):
        (found,) = judged_alone(TIMES, 120.0 - tank() + jump * (np.arange(len(TIMES)) >= AT), counter)
        assert (found.kind, found.use) == (Doubt.STEP, use)


@pytest.mark.parametrize(
    ("late_s", "is_found"), [(-110.0, False), (110.0, False), (-400.0, True), (400.0, True)]
)
def test_a_cause_within_two_minutes_explains_a_shift(late_s: float, is_found: bool) -> None:
    moment = float(TIMES[AT]) + late_s
    for context in (replace(TANK, causes_s=(moment,)), replace(TANK, refills_s=(moment,))):
        found = judged_alone(TIMES, tank(4.0), context)
        assert bool(found) == is_found


def test_a_shift_of_three_standard_deviations_is_not_called_one() -> None:
    for seed in range(6):
        assert judged_alone(TIMES, tank(3.0 * SD, seed), TANK) == ()
        assert judged_alone(TIMES, tank(8.0 * SD, seed), TANK) != ()


def test_nothing_within_four_display_steps_is_a_shift() -> None:
    coarse = ChannelContext(channel=channel("tank.share", "%", 2, 1), kind=ChannelKind.HELD)
    for percent, kinds in ((4, []), (5, [Doubt.STEP])):
        values = np.where(np.arange(len(TIMES)) < AT, 0.50, 0.50 + percent / 100.0)
        assert [verdict.kind for verdict in judged_alone(TIMES, values, coarse)] == kinds


def test_a_fast_leak_is_a_slope_and_not_a_step() -> None:
    values = tank()
    values[AT:] -= np.round(np.arange(len(TIMES) - AT) * 0.4, 1)
    for end in range(AT + 10, len(TIMES), 12):
        assert judged_alone(TIMES[:end], values[:end], TANK) == ()


def test_a_shift_that_was_taken_back_is_gone() -> None:
    values = tank()
    values[AT : AT + 30] += 4.0
    assert [found.kind for found in judged_alone(TIMES[: AT + 20], values[: AT + 20], TANK)] == [Doubt.STEP]
    assert judged_alone(TIMES, values, TANK) == ()


def test_the_fall_of_a_meter_is_left_out_for_ten_minutes_and_then_only_told() -> None:
    values = meter(-3.0)
    early, late = (judged_alone(TIMES[: AT + more], values[: AT + more], METER)[0] for more in (5, 15))
    assert (early.use, early.is_doubt) == (Use.LEFT_OUT, True)
    assert early.value_si == pytest.approx(10.0, abs=0.2)
    assert (late.use, late.is_doubt) == (Use.AS_IT_IS, False)


def test_the_rise_of_a_meter_is_used_at_once() -> None:
    (found,) = judged_alone(TIMES[: AT + 5], meter(3.0)[: AT + 5], METER)
    assert (found.kind, found.use) == (Doubt.STEP, Use.AS_IT_IS)


def test_a_gain_of_a_store_is_not_confirmed_by_standing() -> None:
    for more in (5, 60, 119):
        (found,) = judged_alone(TIMES[: AT + more], tank(4.0)[: AT + more], TANK)
        assert found.use is Use.LEFT_OUT


def test_loads_that_cycle_make_no_steps_in_their_meter() -> None:
    pulses = meter() + 3.0 * (np.arange(len(TIMES)) % 23 < 7) + 2.0 * (np.arange(len(TIMES)) % 11 < 4)
    cycling = replace(METER, may_cycle=True)
    for end in range(30, len(TIMES), 7):
        found = judged_alone(TIMES[:end], pulses[:end], cycling)
        assert [verdict for verdict in found if verdict.is_doubt] == []


def test_a_busy_meter_after_a_quiet_night_wanders_in_proportion() -> None:
    random = np.random.default_rng(2)
    share = np.zeros(len(TIMES))
    for row in range(1, len(TIMES)):
        share[row] = 0.967 * share[row - 1] + 0.0128 * random.standard_normal()
    level = np.where(np.arange(len(TIMES)) < AT, 5.0, 60.0)
    values = np.round(level * np.exp(share), 1)
    context = replace(METER, causes_s=(float(TIMES[AT]),))
    for end in range(AT + 1, len(TIMES), 3):
        assert judged_alone(TIMES[:end], values[:end], context) == ()


def test_the_caller_can_name_the_better_side() -> None:
    warmth = replace(TANK, kind=ChannelKind.OTHER, better_side=-1)
    (found,) = judged_alone(TIMES, tank(-4.0), warmth)
    assert found.use is Use.LEFT_OUT
    (found,) = judged_alone(TIMES, tank(4.0), warmth)
    assert found.use is Use.AS_IT_IS


def test_a_history_that_is_quiet_by_chance_makes_no_steps_while_it_is_short() -> None:
    warmth = ChannelContext(channel=channel("bottle.temperature", "K", 1.0, 0.1))
    for seed in range(40):
        values = np.round(290.0 + 0.25 * np.random.default_rng(seed).standard_normal(60), 1)
        for end in range(12, 60):
            assert judged_alone(TIMES[:end], values[:end], warmth) == ()
