"""Stoichiometry of CO2 absorption, and what is measured against it."""

from __future__ import annotations

import pytest

from console.physics.absorbent import (
    CEILING_KG_PER_KG,
    WATER_KG_PER_KG_CO2,
    capacity_is_possible,
    ceiling_kg,
)


def test_lithium_hydroxide_takes_at_most_0_9189_of_its_mass() -> None:
    # Computed: 2 LiOH + CO2 -> Li2CO3 + H2O, to four digits.
    assert CEILING_KG_PER_KG["lithium_hydroxide"] == pytest.approx(0.9189, abs=5e-5)


def test_calcium_hydroxide_takes_at_most_0_594_of_its_mass() -> None:
    # Computed: Ca(OH)2 + CO2 -> CaCO3 + H2O, to three digits.
    assert CEILING_KG_PER_KG["calcium_hydroxide"] == pytest.approx(0.594, abs=5e-4)


def test_a_kilogram_of_carbon_dioxide_makes_0_409_kilograms_of_water() -> None:
    # Computed: one mole of water for one of CO2, to three digits.
    assert pytest.approx(0.409, abs=5e-4) == WATER_KG_PER_KG_CO2


@pytest.mark.parametrize(("sorbent_mass_kg", "litres"), [(2.64, 404.0), (2.38, 276.0)])
def test_what_soda_lime_was_measured_to_take_is_possible_and_far_below_the_ceiling(
    sorbent_mass_kg: float, litres: float
) -> None:
    # Harvey, Diving Hyperb Med 46(2), 2016, read at second hand: CO2 taken before 1 kPa came through. The
    # litres are taken as at 0 °C and 101.325 kPa, 1.963 g/L, the heaviest reading of them.
    taken_kg = litres * 1.963e-3
    assert capacity_is_possible(taken_kg, "soda_lime", sorbent_mass_kg)
    assert taken_kg < 0.55 * ceiling_kg("soda_lime", sorbent_mass_kg)
