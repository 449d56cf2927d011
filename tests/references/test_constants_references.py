"""Constants against their definitions."""

from __future__ import annotations

import pytest

from console.physics.constants import (
    CARBON_DIOXIDE_KG_PER_MOL,
    GAS_CONSTANT_J_PER_MOL_K,
    MOLAR_VOLUME_AT_0_C_M3_PER_MOL,
    STANDARD_GRAVITY_M_PER_S2,
    WATER_KG_PER_MOL,
)


def test_the_gas_constant_is_avogadro_s_times_boltzmann_s() -> None:
    # Both exact by definition, SI of 2019 (BIPM, 9th ed.).
    assert pytest.approx(6.02214076e23 * 1.380649e-23, rel=1e-15) == GAS_CONSTANT_J_PER_MOL_K


def test_standard_gravity_is_the_defined_value() -> None:
    # 3rd CGPM, 1901: exact.
    assert STANDARD_GRAVITY_M_PER_S2 == 9.80665


def test_a_mole_of_ideal_gas_at_0_celsius_and_one_atmosphere_fills_22_414_litres() -> None:
    # CODATA: 22.41396954e-3 m3/mol, exact since 2019 (from memory).
    assert pytest.approx(22.41396954e-3, rel=1e-9) == MOLAR_VOLUME_AT_0_C_M3_PER_MOL


def test_molar_masses_of_molecules_agree_with_reference_equations() -> None:
    # Read from the fluid files of CoolProp 8.0.0: 44.0098 and 18.015268 g/mol; atomic weights moved since.
    assert pytest.approx(44.0098e-3, rel=5e-5) == CARBON_DIOXIDE_KG_PER_MOL
    assert pytest.approx(18.015268e-3, rel=5e-5) == WATER_KG_PER_MOL
