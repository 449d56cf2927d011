"""The cabin's air as ideal gases, and the first-order law under it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from console.physics.cabin_air import (
    MMHG_PA,
    air_kg,
    inspired_oxygen_pa,
    leak_per_s,
    pressure_per_kg_pa,
    removal_per_s,
)
from console.physics.first_order import after, gained_s, kept, time_to_reach_s

DECAYS = st.one_of(st.just(0.0), st.floats(1e-7, 1e-2))
TIMES = st.floats(0.0, 30 * 86400.0)
GAINS = st.floats(-1.0, 1.0)
STARTS = st.floats(0.0, 1e5)


@given(start=STARTS, gain=GAINS, decay=DECAYS, first=TIMES, second=TIMES)
def test_two_stretches_are_one(start: float, gain: float, decay: float, first: float, second: float) -> None:
    halfway = after(start, gain, decay, first)
    whole = float(after(start, gain, decay, first + second))
    scale = start + abs(gain) * (first + second)
    assert float(after(halfway, gain, decay, second)) == pytest.approx(whole, abs=1e-9 * scale + 1e-9)


@given(start=STARTS, gain=GAINS, decay=DECAYS)
def test_at_time_zero_nothing_has_happened(start: float, gain: float, decay: float) -> None:
    assert float(after(start, gain, decay, 0.0)) == start
    assert float(kept(decay, 0.0)) == 1.0
    assert float(gained_s(decay, 0.0)) == 0.0


@given(start=STARTS, gain=GAINS, decay=DECAYS, time=st.floats(1.0, 1e6))
def test_the_time_to_a_level_is_the_time_at_which_it_is_there(
    start: float, gain: float, decay: float, time: float
) -> None:
    level = float(after(start, gain, decay, time))
    # Where the course has come to rest, its level says nothing about when.
    assume(abs(gain - decay * level) * time > 1e-6 * (abs(start) + abs(level) + 1.0))
    assert float(time_to_reach_s(start, gain, decay, level)) == pytest.approx(time, rel=1e-4, abs=1e-3)


@pytest.mark.parametrize(
    ("start", "gain", "decay", "level"),
    [(0.0, 1.0, 0.1, 11.0), (5.0, 0.0, 0.0, 6.0), (5.0, 1.0, 0.0, 4.0), (20.0, 1.0, 0.1, 25.0)],
)
def test_a_level_beyond_the_steady_one_or_behind_is_never_reached(
    start: float, gain: float, decay: float, level: float
) -> None:
    assert float(time_to_reach_s(start, gain, decay, level)) == math.inf


def test_arrays_and_numbers_agree() -> None:
    decays = np.array([0.0, 1e-4, 1e-2])
    together = after(3.0, 0.5, decays, 600.0)
    assert together.tolist() == [float(after(3.0, 0.5, decay, 600.0)) for decay in decays]


def test_the_partial_pressure_of_a_kilogram_falls_with_volume_and_molar_mass() -> None:
    one = float(pressure_per_kg_pa(0.044009, 293.15, 16.0))
    assert float(pressure_per_kg_pa(0.044009, 293.15, 32.0)) == pytest.approx(one / 2)
    assert float(pressure_per_kg_pa(0.022, 293.15, 16.0)) == pytest.approx(one * 0.044009 / 0.022)
    assert float(pressure_per_kg_pa(0.044009, 586.30, 16.0)) == pytest.approx(one * 2)


@given(
    oxygen=st.floats(0.0, 5e4),
    dioxide=st.floats(0.0, 5e3),
    rest=st.floats(0.0, 1e5),
    vapour=st.floats(0.0, 5e3),
)
def test_the_air_weighs_what_its_gases_weigh(
    oxygen: float, dioxide: float, rest: float, vapour: float
) -> None:
    parts = [
        float(air_kg(*state, 293.15, 16.0))
        for state in ((oxygen, 0, 0, 0), (0, dioxide, 0, 0), (0, 0, rest, 0), (0, 0, 0, vapour))
    ]
    assert float(air_kg(oxygen, dioxide, rest, vapour, 293.15, 16.0)) == pytest.approx(sum(parts))


def test_standard_air_weighs_1_2_kilograms_a_cubic_metre() -> None:
    # Common practice, no source: dry air at 20 degC and 101.325 kPa, 1.204 kg/m3; without argon 1.199.
    assert float(air_kg(0.2095 * 101325, 40.0, 0.79 * 101325, 0.0, 293.15, 1.0)) == pytest.approx(
        1.2, abs=0.003
    )


def test_a_leak_takes_its_share_and_nothing_from_no_air() -> None:
    assert float(leak_per_s(2e-5, 20.0)) == pytest.approx(1e-6)
    assert float(leak_per_s(2e-5, 0.0)) == 0.0


def test_a_stream_washes_out_by_its_flow_over_the_volume() -> None:
    assert removal_per_s(0.01, 0.5, 10.0) == pytest.approx(5e-4)
    assert removal_per_s(0.0, 0.9, 10.0) == 0.0


def test_inspired_oxygen_is_less_than_that_of_the_cabin_and_nothing_near_vacuum() -> None:
    # NASA-STD-3001 volume 2 (read at second hand): (760 - 47) x 0.21 = 149.7 mmHg at the sea.
    assert float(inspired_oxygen_pa(0.21 * 760 * MMHG_PA, 760 * MMHG_PA)) / MMHG_PA == pytest.approx(149.73)
    assert float(inspired_oxygen_pa(40 * MMHG_PA, 47 * MMHG_PA)) == 0.0
    assert float(inspired_oxygen_pa(0.0, 0.0)) == 0.0
