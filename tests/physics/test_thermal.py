"""The lumped node: its balance, its rest and its limits."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.physics.first_order import after
from console.physics.thermal import equilibrium_k, loss_per_s, warming_k_per_s

HEATS = st.floats(0.0, 5000.0)
CAPACITIES = st.floats(1e5, 1e7)
CONDUCTANCES = st.floats(1.0, 200.0)
OUTSIDE = st.floats(100.0, 310.0)


@given(heat=HEATS, capacity=CAPACITIES, conductance=CONDUCTANCES, outside=OUTSIDE)
def test_at_rest_nothing_changes(heat: float, capacity: float, conductance: float, outside: float) -> None:
    rest = equilibrium_k(heat, conductance, outside)
    gain, loss = warming_k_per_s(heat, capacity, conductance, outside), loss_per_s(capacity, conductance)
    assert float(after(rest, gain, loss, 86400.0)) == pytest.approx(rest, rel=1e-9)


@given(
    heat=HEATS, capacity=CAPACITIES, conductance=CONDUCTANCES, outside=OUTSIDE, start=st.floats(250.0, 320.0)
)
def test_the_balance_closes_at_every_moment(
    heat: float, capacity: float, conductance: float, outside: float, start: float
) -> None:
    slope = (
        float(warming_k_per_s(heat, capacity, conductance, outside))
        - loss_per_s(capacity, conductance) * start
    )
    stored_w, lost_w = slope * capacity, conductance * (start - outside)
    assert stored_w == pytest.approx(heat - lost_w, abs=1e-6 * (heat + abs(lost_w) + conductance * outside))


def test_more_heat_or_a_warmer_outside_makes_a_warmer_rest() -> None:
    assert equilibrium_k(900.0, 40.0, 250.0) > equilibrium_k(800.0, 40.0, 250.0)
    assert equilibrium_k(800.0, 40.0, 260.0) > equilibrium_k(800.0, 40.0, 250.0)


def test_without_a_loss_there_is_no_rest_but_without_heat() -> None:
    assert equilibrium_k(10.0, 0.0, 250.0) == math.inf
    assert equilibrium_k(0.0, 0.0, 250.0) == 250.0
