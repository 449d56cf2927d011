"""Regular swings: found with their period and average, and not seen where there is only wander."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import periodogram
from validity_world import Floats, H, channel, judged_alone, wander

from console.engine.validity.context import ChannelContext, ChannelKind
from console.engine.validity.swing_fit import fitted_swing, spectrum
from console.engine.validity.verdict import Doubt, Use, Verdict

TANK = ChannelContext(channel=channel("tank.quantity", "kg", 1.2, 0.1), kind=ChannelKind.HELD)
METER = ChannelContext(channel=channel("heat.current", "A", 0.2, 0.1), kind=ChannelKind.FLOW)
TIMES = np.arange(0.0, 8 * H, 60.0) + 90_000.0
SD = 0.3


def swinging(amplitude: float, period_s: float, seed: int = 1, slope: float = -0.5) -> Floats:
    noise = SD * np.random.default_rng(seed).standard_normal(len(TIMES))
    line = 60.0 + slope * (TIMES - TIMES[0]) / H
    return np.round(line + amplitude * np.sin(2 * np.pi * TIMES / period_s) + noise, 1)


def oscillating(found: tuple[Verdict, ...]) -> list[Verdict]:
    return [verdict for verdict in found if verdict.kind is Doubt.OSCILLATING]


@pytest.mark.parametrize("period_s", [300.0, 1080.0, 2900.0, 6500.0])
@pytest.mark.parametrize("width_s", [1.0, 120.0])
def test_a_regular_swing_is_found_and_its_average_is_the_trend(period_s: float, width_s: float) -> None:
    (found,) = oscillating(judged_alone(TIMES, swinging(1.5, period_s), TANK, width_s))
    assert (found.use, found.is_doubt, found.value_at_s) == (Use.AVERAGED, True, TIMES[-1])
    assert found.value_si is not None
    assert abs(found.value_si - (60.0 - 0.5 * (TIMES[-1] - TIMES[0]) / H)) < max(
        2.5 * found.extra_sd_si, 0.15
    )
    assert 0.0 < found.extra_sd_si < 0.3


def test_its_words_name_period_and_size() -> None:
    (found,) = oscillating(judged_alone(TIMES, swinging(1.5, 1080.0), TANK, 120.0))
    assert "swings by 1.5 kg to either side every 18m" in found.why or "every 17m5" in found.why


def test_a_swing_below_three_standard_deviations_of_the_noise_is_none() -> None:
    for seed in range(4):
        assert oscillating(judged_alone(TIMES, swinging(0.9 * SD, 1080.0, seed), TANK)) == []


def test_fewer_than_four_periods_are_no_regularity() -> None:
    values = swinging(1.5, 6500.0)
    three = int(3.4 * 6500.0 / 60.0)
    assert oscillating(judged_alone(TIMES[:three], values[:three], TANK)) == []


def test_wander_is_not_taken_for_a_swing() -> None:
    for seed in range(12):
        random = np.random.default_rng(seed)
        values = np.round(10.0 * np.exp(wander(TIMES, 0.05, 1800.0, random)), 1)
        for end in (120, 240, 360, 480):
            assert judged_alone(TIMES[:end], values[:end], METER, 120.0) == ()


def test_loads_that_cycle_are_averaged_without_doubt() -> None:
    noise = 0.05 * np.random.default_rng(1).standard_normal(len(TIMES))
    values = np.round(8.0 + 3.0 * ((TIMES / 1260.0) % 1.0 < 0.4) + noise, 1)
    (found,) = judged_alone(TIMES, values, replace(METER, may_cycle=True))
    assert (found.kind, found.use, found.is_doubt) == (Doubt.OSCILLATING, Use.AVERAGED, False)
    assert found.value_si == pytest.approx(9.2, abs=max(0.2, 3 * found.extra_sd_si))
    assert found.why.endswith("its loads cycle")


def test_a_swing_is_looked_for_only_since_the_last_cause() -> None:
    changed = replace(TANK, causes_s=(float(TIMES[-90]),))
    assert oscillating(judged_alone(TIMES, swinging(1.5, 1800.0), changed)) == []
    assert oscillating(judged_alone(TIMES, swinging(1.5, 600.0), changed)) != []


def test_readings_high_and_low_by_turns_are_found_where_rows_show_them_and_where_they_do_not() -> None:
    turns = np.where(np.arange(len(TIMES)) % 2, 2.0, -2.0)
    for width_s in (1.0, 120.0):
        (found,) = oscillating(judged_alone(TIMES, swinging(0.0, H) + turns, TANK, width_s))
        assert found.value_si == pytest.approx(60.0 - 0.5 * 8.0, abs=0.3)


def test_noise_within_rows_is_not_a_fast_swing() -> None:
    times = np.arange(0.0, 2 * H, 1.0)
    noise = np.random.default_rng(1).standard_normal(len(times))
    for sd in (0.3, 0.6):  # the whole of the accuracy as fresh noise is the most there can be
        assert judged_alone(times, np.round(60.0 + sd * noise, 1), TANK, 30.0) == ()


def test_the_spectrum_is_that_of_scipys_periodogram() -> None:
    values = np.stack([swinging(1.0, 1080.0, seed) for seed in range(3)])
    _, power = periodogram(values, detrend="linear", scaling="spectrum", axis=1)
    # Its one-sided "spectrum" is 2 |X|^2 / n^2, but for the mean and the last.
    ours = spectrum(values) * 2.0 / values.shape[1] ** 2
    assert ours[:, 1:-1] == pytest.approx(power[:, 1:-1], rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("period_s", [421.0, 1080.0, 3307.0])
def test_the_period_is_that_of_a_fine_periodogram(period_s: float) -> None:
    values = swinging(1.5, period_s)
    frequencies, power = periodogram(values, fs=1 / 60.0, detrend="linear", nfft=2**17)
    reference_s = 1.0 / frequencies[np.argmax(power)]
    coarse_s = len(TIMES) * 60.0 / round(len(TIMES) * 60.0 / period_s)
    swing = fitted_swing(TIMES, values, coarse_s)
    assert swing is not None
    # The nudges lie a quarter of a period in the whole window apart.
    assert swing.period_s == pytest.approx(reference_s, rel=0.15 * period_s / (8 * H) + 0.001)
    assert swing.amplitude_si == pytest.approx(1.5, rel=0.1)


@pytest.mark.parametrize("width_s", [1.0, 120.0])
def test_a_quiet_gauge_that_begins_to_swing_swings_and_has_made_no_step(width_s: float) -> None:
    for seed, amplitude in ((1, 2.0), (2, 4.0), (3, 8.0)):
        still, moving = swinging(0.0, 1080.0, seed), swinging(amplitude, 1080.0, seed)
        values = np.where(np.arange(len(TIMES)) < 240, still, moving)
        for end in (400, 440, 480):
            found = judged_alone(TIMES[:end], values[:end], TANK, width_s)
            assert [verdict.kind for verdict in found] == [Doubt.OSCILLATING]


def test_a_gain_beside_a_swing_is_still_left_out() -> None:
    values = swinging(2.0, 3600.0)  # slow enough not to widen what counts as a shift beyond the gain
    values[420:] += 12.0
    found = judged_alone(TIMES, values, TANK)
    assert [(verdict.kind, verdict.use) for verdict in found] == [(Doubt.STEP, Use.LEFT_OUT)]


def test_a_swing_explains_what_lies_within_it_and_no_more() -> None:
    swing = fitted_swing(TIMES, swinging(2.0, 1080.0), 1080.0)
    assert swing is not None
    at_s = float(TIMES[300])
    line = swing.line_si(at_s)
    assert line == pytest.approx(60.0 - 0.5 * 5.0, abs=0.1)
    assert swing.explains(line - 2.0, at_s, 4.0)
    assert not swing.explains(line - 2.0, at_s, 6.0)
    assert not swing.explains(line - 4.0, at_s, 4.0)  # from far below the line up to it: a gain
