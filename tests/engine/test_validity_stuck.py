"""A gauge that has stopped: by what it should have moved, or by the noise that has ceased."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from validity_world import Floats, H, channel, judged_alone

from console.engine.validity.context import ChannelContext, ChannelKind
from console.engine.validity.verdict import Doubt, Use

TANK = channel("tank.quantity", "kg", 1.2, 0.1)
COARSE = channel("tank.share", "%", 2, 1)
WARMTH = channel("cabin.temperature", "degC", 0.5, 0.1)
TIMES = np.arange(0.0, 6 * H, 60.0) + 90_000.0


def noisy(level: float, sd: float, step: float, seed: int = 1) -> Floats:
    return np.round((level + sd * np.random.default_rng(seed).standard_normal(len(TIMES))) / step) * step


def test_a_gauge_that_should_have_fallen_by_far_is_stuck_since_it_stood_still() -> None:
    falling = noisy(60.0, 0.3, 0.1) - np.arange(len(TIMES)) / 60.0
    falling[180:] = falling[180]
    context = ChannelContext(channel=TANK, kind=ChannelKind.HELD, expected_rate_si_per_s=-1.0 / 3600.0)
    (found,) = judged_alone(TIMES, falling, context)
    assert (found.kind, found.use) == (Doubt.STUCK, Use.LEFT_OUT)
    assert found.since_s == found.value_at_s == TIMES[180]
    assert found.value_si == falling[180]
    assert "unchanged for 2h59m" in found.why
    assert "less was due" in found.why or "were usual" in found.why


@pytest.mark.parametrize(("minutes", "is_stuck"), [(70, False), (76, True)])
def test_by_the_rate_alone_it_is_stuck_after_four_steps_and_four_standard_deviations(
    minutes: int, is_stuck: bool
) -> None:
    # Quiet, so that only the expected rate can tell: 4 sd are 4 x 1.2/4 kg, at 1 kg/h an hour and 12 minutes.
    values = np.round(60.0 - np.arange(len(TIMES)) / 60.0, 1)
    begins = 200 + int(np.argmax(np.diff(values[199:]) != 0.0))
    values[begins:] = values[begins]
    until = begins + minutes + 1
    context = ChannelContext(channel=TANK, kind=ChannelKind.HELD, expected_rate_si_per_s=-1.0 / 3600.0)
    found = judged_alone(TIMES[:until], values[:until], context)
    assert [verdict.kind for verdict in found] == ([Doubt.STUCK] if is_stuck else [])


def test_what_nobody_touches_is_not_stuck_however_long_it_stands() -> None:
    still = np.full(len(TIMES), 42.0)
    for rate in (0.0, None):
        context = ChannelContext(channel=TANK, kind=ChannelKind.HELD, expected_rate_si_per_s=rate)
        assert judged_alone(TIMES, still, context) == ()


def test_a_coarse_display_may_stand_until_four_of_its_steps_are_due() -> None:
    standing = np.full(len(TIMES), 0.42)
    slow = ChannelContext(channel=COARSE, kind=ChannelKind.HELD, expected_rate_si_per_s=-0.006 / 3600.0)
    assert judged_alone(TIMES, standing, slow) == ()
    fast = replace(slow, expected_rate_si_per_s=-0.007 / 3600.0)
    assert [verdict.kind for verdict in judged_alone(TIMES, standing, fast)] == [Doubt.STUCK]


def test_the_rate_of_now_is_not_held_against_the_time_before_the_last_change() -> None:
    standing = np.full(len(TIMES), 42.0)
    rate = -2.0 / 3600.0
    context = ChannelContext(channel=TANK, kind=ChannelKind.HELD, expected_rate_si_per_s=rate)
    changed = replace(context, causes_s=(float(TIMES[-30]),))
    assert judged_alone(TIMES, standing, changed) == ()
    assert [verdict.kind for verdict in judged_alone(TIMES, standing, context)] == [Doubt.STUCK]


@pytest.mark.parametrize("width_s", [1.0, 120.0])
def test_a_channel_whose_noise_has_ceased_is_stuck_without_any_rate(width_s: float) -> None:
    values = noisy(291.15, 0.25, 0.1)
    values[200:] = values[200]
    (found,) = judged_alone(TIMES, values, ChannelContext(channel=WARMTH), width_s)
    assert found.kind is Doubt.STUCK
    assert "readings on end" in found.why


def test_a_run_below_ten_times_the_usual_longest_is_not_stuck() -> None:
    values = noisy(291.15, 0.25, 0.1)
    longest = max(len(run) for run in np.split(values, np.flatnonzero(np.diff(values)) + 1))
    quiet_from = 200
    for length, is_stuck in ((9 * longest, False), (10 * longest + 2, True)):
        shown = values[: quiet_from + length].copy()
        shown[quiet_from:] = 300.0 if shown[quiet_from - 1] == values[quiet_from] else values[quiet_from]
        shown[quiet_from:] = values[quiet_from]
        found = judged_alone(TIMES[: len(shown)], shown, ChannelContext(channel=WARMTH))
        assert [verdict.kind for verdict in found] == ([Doubt.STUCK] if is_stuck else [])


def test_a_quiet_gauge_that_flickered_at_the_edge_of_a_step_is_not_stuck_in_its_middle() -> None:
    true = 80.0 - np.arange(len(TIMES)) * 0.001
    noise = 0.02 * np.random.default_rng(4).standard_normal(len(TIMES))
    shown = np.round(true + noise) / 100.0
    shown[:60] = np.round(79.5 + 0.02 * np.random.default_rng(5).standard_normal(60)) / 100.0
    assert len(set(shown[:60].tolist())) == 2
    assert len(set(shown[-200:].tolist())) == 1
    assert judged_alone(TIMES, shown, ChannelContext(channel=COARSE, kind=ChannelKind.HELD)) == ()


def test_every_reading_every_second_it_is_found_stuck_within_minutes() -> None:
    times = np.arange(0.0, 3 * H, 1.0)
    random = np.random.default_rng(7)
    values = np.round(60.0 - times / 3600.0 + 0.3 * random.standard_normal(len(times)), 1)
    values[-300:] = values[-300]
    found = judged_alone(times, values, ChannelContext(channel=TANK, kind=ChannelKind.HELD), 30.0)
    assert [verdict.kind for verdict in found] == [Doubt.STUCK]
    assert found[0].since_s is not None
    assert abs(found[0].since_s - times[-300]) <= 45.0


def quiet_fall(pace_kg_per_h: float = 1.0) -> Floats:
    """Without noise, so that neither a known rate nor ceased noise can tell."""
    return np.round(60.0 - pace_kg_per_h * np.arange(len(TIMES)) / 60.0, 1)


@pytest.mark.parametrize(("minutes", "is_stuck"), [(60, False), (85, True)])
def test_one_of_several_stores_is_stuck_by_its_own_pace_of_before(minutes: int, is_stuck: bool) -> None:
    """Nothing says how much of the draw is its own; 4 sd are 1.2 kg, at its own 1 kg/h 72 minutes."""
    values = quiet_fall()
    begins = 200 + int(np.argmax(np.diff(values[199:]) != 0.0))
    values[begins:] = values[begins]
    until = begins + minutes + 1
    context = ChannelContext(channel=TANK, kind=ChannelKind.HELD)
    found = judged_alone(TIMES[:until], values[:until], context)
    assert [one.kind for one in found] == ([Doubt.STUCK] if is_stuck else [])
    if is_stuck:
        assert "less was due at its own pace" in found[0].why or "were usual" in found[0].why


def test_a_store_that_was_shut_when_it_stopped_is_not_stuck() -> None:
    values = quiet_fall()
    values[200:] = values[200]
    context = ChannelContext(
        channel=TANK, kind=ChannelKind.HELD, expected_rate_si_per_s=0.0, causes_s=(float(TIMES[200]),)
    )
    assert judged_alone(TIMES, values, context) == ()
