"""Mass and pressure of gas in a container: limits, order, and the way back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.craft.model import Fluid
from console.errors import EnduranceError
from console.physics.constants import GAS_CONSTANT_J_PER_MOL_K
from console.physics.gas import (
    HIGHEST_PRESSURE_PA,
    HIGHEST_TEMPERATURE_K,
    LOWEST_TEMPERATURE_K,
    GasRangeError,
    density_kg_per_m3,
    mass_kg,
    pressure_pa,
)

FLUIDS = st.sampled_from(list(Fluid))
TEMPERATURES_K = st.floats(LOWEST_TEMPERATURE_K, HIGHEST_TEMPERATURE_K)
PRESSURES_PA = st.floats(1.0, HIGHEST_PRESSURE_PA)
KG_PER_MOL = {Fluid.OXYGEN: 31.998e-3, Fluid.NITROGEN: 28.014e-3}


@given(fluid=FLUIDS, temperature_k=TEMPERATURES_K)
def test_thin_gas_is_ideal(fluid: Fluid, temperature_k: float) -> None:
    ideal = 100.0 * KG_PER_MOL[fluid] / (GAS_CONSTANT_J_PER_MOL_K * temperature_k)
    # At 100 Pa the second virial term is below 1e-5 of the first.
    assert density_kg_per_m3(fluid, 100.0, temperature_k) == pytest.approx(ideal, rel=1e-5)


@given(fluid=FLUIDS, temperature_k=TEMPERATURES_K)
def test_no_pressure_is_no_gas_both_ways(fluid: Fluid, temperature_k: float) -> None:
    assert mass_kg(fluid, 0.0, temperature_k, 0.08) == 0.0
    assert pressure_pa(fluid, 0.0, temperature_k, 0.08) == 0.0


@given(fluid=FLUIDS, temperature_k=TEMPERATURES_K, low_pa=PRESSURES_PA, share=st.floats(0.01, 1.0))
def test_more_pressure_is_more_gas(fluid: Fluid, temperature_k: float, low_pa: float, share: float) -> None:
    high_pa = low_pa + share * (HIGHEST_PRESSURE_PA - low_pa)
    low_kg = mass_kg(fluid, low_pa, temperature_k, 0.08)
    assert mass_kg(fluid, high_pa, temperature_k, 0.08) >= low_kg


@given(fluid=FLUIDS, held_pa=PRESSURES_PA, cold_k=st.floats(230.0, 340.0), warmer_k=st.floats(0.1, 10.0))
def test_the_same_pressure_in_a_warmer_bottle_is_less_gas(
    fluid: Fluid, held_pa: float, cold_k: float, warmer_k: float
) -> None:
    assert mass_kg(fluid, held_pa, cold_k + warmer_k, 0.08) < mass_kg(fluid, held_pa, cold_k, 0.08)


@given(fluid=FLUIDS, held_pa=PRESSURES_PA, temperature_k=TEMPERATURES_K, volume_m3=st.floats(1e-3, 10.0))
def test_mass_scales_with_volume(
    fluid: Fluid, held_pa: float, temperature_k: float, volume_m3: float
) -> None:
    one_kg = mass_kg(fluid, held_pa, temperature_k, 1.0)
    assert mass_kg(fluid, held_pa, temperature_k, volume_m3) == pytest.approx(one_kg * volume_m3, rel=1e-12)


@given(fluid=FLUIDS, held_pa=PRESSURES_PA, temperature_k=TEMPERATURES_K)
def test_pressure_leads_back_from_mass(fluid: Fluid, held_pa: float, temperature_k: float) -> None:
    held_kg = mass_kg(fluid, held_pa, temperature_k, 0.08)
    assert pressure_pa(fluid, held_kg, temperature_k, 0.08) == pytest.approx(held_pa, rel=1e-9)


@given(fluid=FLUIDS, temperature_k=TEMPERATURES_K)
def test_a_full_bottle_leads_back_to_the_highest_pressure(fluid: Fluid, temperature_k: float) -> None:
    most_kg = mass_kg(fluid, HIGHEST_PRESSURE_PA, temperature_k, 0.08)
    assert pressure_pa(fluid, most_kg, temperature_k, 0.08) == pytest.approx(HIGHEST_PRESSURE_PA, rel=1e-9)


@pytest.mark.parametrize("temperature_k", [229.99, 350.01, 0.0, -5.0, math.nan, math.inf])
def test_a_temperature_outside_the_range_is_refused_with_what_is_valid(temperature_k: float) -> None:
    with pytest.raises(GasRangeError, match="230 to 350 K"):
        mass_kg(Fluid.OXYGEN, 10e6, temperature_k, 0.08)
    with pytest.raises(GasRangeError, match="230 to 350 K"):
        pressure_pa(Fluid.OXYGEN, 1.0, temperature_k, 0.08)


@pytest.mark.parametrize("held_pa", [-1.0, 30.001e6, math.nan, math.inf])
def test_a_pressure_outside_the_range_is_refused_with_what_is_valid(held_pa: float) -> None:
    with pytest.raises(GasRangeError, match="0 to 30 MPa"):
        mass_kg(Fluid.NITROGEN, held_pa, 300.0, 0.08)


@pytest.mark.parametrize("held_kg", [-1e-9, 50.0, math.nan, math.inf])
def test_a_mass_that_cannot_be_in_the_bottle_is_refused(held_kg: float) -> None:
    with pytest.raises(GasRangeError, match=r"known from 0 to 30\.\d+ kg"):
        pressure_pa(Fluid.OXYGEN, held_kg, 300.0, 0.08)


@pytest.mark.parametrize("volume_m3", [0.0, -0.08, math.nan])
def test_a_bottle_without_room_is_refused(volume_m3: float) -> None:
    with pytest.raises(GasRangeError, match="volume must be above 0"):
        mass_kg(Fluid.OXYGEN, 10e6, 300.0, volume_m3)
    with pytest.raises(GasRangeError, match="volume must be above 0"):
        pressure_pa(Fluid.OXYGEN, 1.0, 300.0, volume_m3)


def test_a_refusal_is_an_error_of_the_house_and_says_what_was_found() -> None:
    with pytest.raises(EnduranceError, match=r"oxygen at 412 K"):
        density_kg_per_m3(Fluid.OXYGEN, 10e6, 412.0)
