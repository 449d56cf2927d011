"""What a hole lets out: choked, unchoked, and nothing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.craft.model import Fluid
from console.physics.leak import AIR, LEAKING_GASES, critical_ratio, hole_kg_per_s


def test_the_two_formulas_meet_where_the_flow_becomes_choked() -> None:
    edge_pa = critical_ratio(AIR.heat_capacity_ratio) * 1e5
    choked = hole_kg_per_s(AIR, 1e-6, 1e5, 293.15, edge_pa)
    assert hole_kg_per_s(AIR, 1e-6, 1e5, 293.15, edge_pa * (1 + 1e-9)) == pytest.approx(choked, rel=1e-9)
    # A maximum there: the slope is nought, so a thousandth above it the flow is not yet a millionth less.
    assert 0.0 < 1.0 - hole_kg_per_s(AIR, 1e-6, 1e5, 293.15, edge_pa * 1.001) / choked < 2e-6


def test_below_that_what_lies_outside_does_not_matter() -> None:
    into_vacuum = hole_kg_per_s(AIR, 1e-6, 1e5, 293.15)
    assert hole_kg_per_s(AIR, 1e-6, 1e5, 293.15, 0.5e5) == into_vacuum


def test_a_small_difference_of_pressure_flows_as_an_incompressible_gas() -> None:
    # m' = A sqrt(2 rho dp), Bernoulli: the limit of the isentropic formula.
    density = 1e5 / (AIR.gas_constant_j_per_kg_k * 293.15)
    flow = hole_kg_per_s(AIR, 1e-6, 1e5, 293.15, 1e5 - 100.0)
    assert flow == pytest.approx(1e-6 * (2.0 * density * 100.0) ** 0.5, rel=1e-3)


@given(st.floats(0.0, 1.2e5), st.floats(0.0, 1.2e5))
def test_more_pressure_outside_never_lets_more_out(one: float, other: float) -> None:
    low, high = sorted((one, other))
    flows = [hole_kg_per_s(AIR, 1e-6, 1e5, 293.15, outside) for outside in (low, high)]
    assert flows[1] <= flows[0] * (1 + 1e-12)
    assert flows[1] >= 0.0


def test_equal_pressures_and_a_higher_one_outside_let_nothing_out() -> None:
    assert hole_kg_per_s(AIR, 1e-6, 1e5, 293.15, 1e5) == 0.0
    assert hole_kg_per_s(AIR, 1e-6, 1e5, 293.15, 2e5) == 0.0
    assert hole_kg_per_s(AIR, 1e-6, 0.0, 293.15) == 0.0


def test_the_flow_goes_with_area_pressure_and_coefficient() -> None:
    oxygen = LEAKING_GASES[Fluid.OXYGEN]
    one = hole_kg_per_s(oxygen, 1e-7, 5e6, 290.0)
    assert hole_kg_per_s(oxygen, 3e-7, 10e6, 290.0, 0.0, 0.5) == pytest.approx(3.0 * one, rel=1e-12)
    assert hole_kg_per_s(oxygen, 1e-7, 5e6, 4 * 290.0) == pytest.approx(0.5 * one, rel=1e-12)


@pytest.mark.parametrize(
    ("area", "warm", "coefficient", "said"),
    [
        (-1.0, 290.0, 1.0, "0 or more"),
        (1.0, 0.0, 1.0, "above 0"),
        (1.0, 290.0, 1.1, r"\(0, 1\]"),
        (1.0, 290.0, 0.0, r"\(0, 1\]"),
    ],
)
def test_what_is_no_hole_is_refused(area: float, warm: float, coefficient: float, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        hole_kg_per_s(AIR, area, 1e5, warm, 0.0, coefficient)
