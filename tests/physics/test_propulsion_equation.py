"""The rocket equation, both ways."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.physics.propulsion import delta_v_m_per_s, propellant_for_delta_v_kg

MASSES_KG = st.floats(1.0, 1e5)
SPEEDS_M_PER_S = st.floats(500.0, 5e3)


@pytest.mark.parametrize("propellant_kg", [0.0, -3.0])
def test_no_propellant_gives_no_velocity(propellant_kg: float) -> None:
    assert delta_v_m_per_s(propellant_kg, 9_000.0, 3_000.0) == 0.0


@pytest.mark.parametrize("delta_v_due_m_per_s", [0.0, -10.0])
def test_no_velocity_costs_no_propellant(delta_v_due_m_per_s: float) -> None:
    assert propellant_for_delta_v_kg(delta_v_due_m_per_s, 9_000.0, 3_000.0) == 0.0


@given(propellant_kg=MASSES_KG, dry_mass_kg=MASSES_KG, exhaust_m_per_s=SPEEDS_M_PER_S)
def test_the_velocity_that_is_left_costs_all_the_propellant(
    propellant_kg: float, dry_mass_kg: float, exhaust_m_per_s: float
) -> None:
    left_m_per_s = delta_v_m_per_s(propellant_kg, dry_mass_kg, exhaust_m_per_s)
    cost_kg = propellant_for_delta_v_kg(left_m_per_s, dry_mass_kg + propellant_kg, exhaust_m_per_s)
    assert cost_kg == pytest.approx(propellant_kg, rel=1e-9)


@given(first_kg=MASSES_KG, second_kg=MASSES_KG, dry_mass_kg=MASSES_KG)
def test_two_burns_give_what_one_gives(first_kg: float, second_kg: float, dry_mass_kg: float) -> None:
    apart = delta_v_m_per_s(first_kg, dry_mass_kg + second_kg, 3_000.0) + delta_v_m_per_s(
        second_kg, dry_mass_kg, 3_000.0
    )
    assert delta_v_m_per_s(first_kg + second_kg, dry_mass_kg, 3_000.0) == pytest.approx(apart, rel=1e-9)


@given(propellant_kg=MASSES_KG, more_kg=MASSES_KG, dry_mass_kg=MASSES_KG)
def test_more_propellant_gives_more_velocity(
    propellant_kg: float, more_kg: float, dry_mass_kg: float
) -> None:
    less = delta_v_m_per_s(propellant_kg, dry_mass_kg, 3_000.0)
    assert delta_v_m_per_s(propellant_kg + more_kg, dry_mass_kg, 3_000.0) > less


def test_a_small_burn_costs_mass_times_velocity_over_exhaust_velocity() -> None:
    # The equation's own limit: what is left out is dv / (2 v_e), here 1.7e-7 of the value.
    cost_kg = propellant_for_delta_v_kg(1e-3, 9_000.0, 3_000.0)
    assert cost_kg == pytest.approx(9_000.0 * 1e-3 / 3_000.0, rel=1e-6)


@given(delta_v_due_m_per_s=st.floats(0.0, 1e6), mass_before_kg=MASSES_KG)
def test_a_burn_never_costs_more_than_the_whole_craft(
    delta_v_due_m_per_s: float, mass_before_kg: float
) -> None:
    assert propellant_for_delta_v_kg(delta_v_due_m_per_s, mass_before_kg, 3_000.0) <= mass_before_kg
