"""A vessel that leaks and is not fed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.physics.blowdown import (
    isentropic_pressure_pa,
    isentropic_time_s,
    isothermal_pressure_pa,
    isothermal_time_s,
    time_constant_s,
)
from console.physics.leak import AIR, hole_kg_per_s


def test_the_time_constant_is_what_is_held_over_what_is_lost() -> None:
    held_kg = 5e5 * 2.0 / (AIR.gas_constant_j_per_kg_k * 300.0)
    lost = hole_kg_per_s(AIR, 1e-6, 5e5, 300.0, 0.0, 0.7)
    assert time_constant_s(AIR, 2.0, 1e-6, 300.0, 0.7) == pytest.approx(held_kg / lost, rel=1e-12)


@given(st.floats(1e3, 1e6), st.floats(0.01, 0.99), st.floats(1.0, 1e6))
def test_times_and_pressures_are_each_other_s_inverse(start: float, part: float, constant: float) -> None:
    end = part * start
    warm = isothermal_time_s(start, end, constant)
    assert isothermal_pressure_pa(start, warm, constant) == pytest.approx(end, rel=1e-9)
    cold = isentropic_time_s(start, end, constant, 1.4)
    assert isentropic_pressure_pa(start, cold, constant, 1.4) == pytest.approx(end, rel=1e-9)
    if part > 0.1:  # gas that cools loses pressure sooner, until it is so cold that little of it flows
        assert cold < warm


def test_at_first_both_fall_by_the_leak_alone() -> None:
    # dp/dt = -p/tau at constant temperature, and g times that without heat.
    assert 1.0 - isothermal_pressure_pa(1.0, 1e-4, 100.0) == pytest.approx(1e-6, rel=1e-5)
    assert 1.0 - isentropic_pressure_pa(1.0, 1e-4, 100.0, 1.4) == pytest.approx(1.4e-6, rel=1e-5)


def test_a_pressure_that_rises_and_an_empty_vessel_are_refused() -> None:
    for end in (2.0, 0.0, -1.0):
        with pytest.raises(ValueError, match="above 0 that is not higher"):
            isothermal_time_s(1.0, end, 100.0)
    with pytest.raises(ValueError, match="above 0"):
        time_constant_s(AIR, 0.0, 1e-4, 293.15)
