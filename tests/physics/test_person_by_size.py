"""Rates of a person of stated size."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.craft.model import Activity, PersonRates
from console.physics.metabolism import (
    DEFAULT_PERSON_RATES,
    MET_BY_ACTIVITY,
    body_surface_m2,
    energetic_equivalent_j_per_mol,
    person_rates_for,
    respiratory_quotient,
)


@given(st.floats(35.0, 160.0), st.floats(1.2, 2.2))
def test_every_activity_has_the_same_quotient_and_the_heat_of_its_oxygen(mass: float, height: float) -> None:
    for rates in person_rates_for(mass, height).values():
        assert respiratory_quotient(rates) == pytest.approx(0.85, rel=1e-12)
        heat_w = rates.oxygen_kg_per_s / 31.998e-3 * energetic_equivalent_j_per_mol(0.85)
        assert rates.heat_w == pytest.approx(heat_w, rel=1e-12)


@given(st.floats(35.0, 159.0), st.floats(0.1, 1.0))
def test_a_heavier_person_takes_and_gives_more_of_everything(mass: float, more: float) -> None:
    light, heavy = person_rates_for(mass), person_rates_for(mass + more)
    for activity in Activity:
        assert heavy[activity].oxygen_kg_per_s > light[activity].oxygen_kg_per_s
        assert heavy[activity].water_vapour_kg_per_s > light[activity].water_vapour_kg_per_s


def test_activities_stand_in_the_ratio_of_their_met() -> None:
    rates = person_rates_for(80.0, 1.8)
    for activity, met in MET_BY_ACTIVITY.items():
        ratio = rates[activity].oxygen_kg_per_s / rates[Activity.REST].oxygen_kg_per_s
        assert ratio == pytest.approx(met / MET_BY_ACTIVITY[Activity.REST], rel=1e-12)


def test_without_a_height_it_is_that_of_a_body_mass_index_of_25() -> None:
    assert person_rates_for(81.0) == person_rates_for(81.0, 1.8)  # 81 / 25 = 1.8 squared
    assert person_rates_for(81.0) != person_rates_for(81.0, 1.7)


def test_the_body_surface_of_a_man_of_70_kg_and_175_cm_by_hand() -> None:
    # 0.202 exp(0.425 ln 70 + 0.725 ln 1.75) = 0.202 x 6.0837 x 1.5004 = 1.844 m2.
    assert body_surface_m2(70.0, 1.75) == pytest.approx(1.844, abs=5e-4)


@pytest.mark.parametrize(
    ("mass", "height"), [(34.9, None), (161.0, None), (80.0, 1.1), (80.0, 2.3), (float("nan"), None)]
)
def test_a_person_of_impossible_size_is_refused(mass: float, height: float | None) -> None:
    with pytest.raises(ValueError, match="rates are known from"):
        person_rates_for(mass, height)


def test_a_quotient_without_oxygen_is_refused() -> None:
    nothing = PersonRates(
        oxygen_kg_per_s=0.0, carbon_dioxide_kg_per_s=1.0, water_vapour_kg_per_s=0.0, heat_w=0.0
    )
    with pytest.raises(ValueError, match="above 0"):
        respiratory_quotient(nothing)


def test_the_quotient_is_moles_over_moles() -> None:
    # 44.009 g of CO2 for each 31.998 g of O2 is one mole for one.
    one = PersonRates(
        oxygen_kg_per_s=31.998e-6, carbon_dioxide_kg_per_s=44.009e-6, water_vapour_kg_per_s=0.0, heat_w=0.0
    )
    assert respiratory_quotient(one) == pytest.approx(1.0, rel=1e-12)
    for rates in DEFAULT_PERSON_RATES.values():
        assert 0.65 < respiratory_quotient(rates) < 1.25
