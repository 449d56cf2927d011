"""The reduced equation of state itself: its limits and that the root it finds solves it."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.physics.lee_kesler import reduced_compressibility

TEMPERATURES = st.floats(1.4, 2.8)
PRESSURES = st.floats(1e-6, 9.0)


def _simple_fluid_pressure(density: float, temperature: float) -> float:
    """p_r of the simple fluid, written out from Lee and Kesler (1975) a second time, term by term."""
    volume = 1.0 / density
    b = 0.1181193 - 0.265728 / temperature - 0.154790 / temperature**2 - 0.030323 / temperature**3
    c = 0.0236744 - 0.0186984 / temperature
    d = 0.155488e-4 + 0.623689e-4 / temperature
    last = 0.042724 / (temperature**3 * volume**2) * (0.65392 + 0.060167 / volume**2)
    z = 1.0 + b / volume + c / volume**2 + d / volume**5 + last * math.exp(-0.060167 / volume**2)
    return z * temperature / volume


def _reference_fluid_pressure(density: float, temperature: float) -> float:
    """The same for the reference fluid."""
    volume = 1.0 / density
    b = 0.2026579 - 0.331511 / temperature - 0.027655 / temperature**2 - 0.203488 / temperature**3
    c = 0.0313385 - 0.0503618 / temperature + 0.016901 / temperature**3
    d = 0.48736e-4 + 0.0740336e-4 / temperature
    last = 0.041577 / (temperature**3 * volume**2) * (1.226 + 0.03754 / volume**2)
    z = 1.0 + b / volume + c / volume**2 + d / volume**5 + last * math.exp(-0.03754 / volume**2)
    return z * temperature / volume


@given(pressure=PRESSURES, temperature=TEMPERATURES)
@pytest.mark.parametrize(
    ("acentric_factor", "pressure_of"),
    [(0.0, _simple_fluid_pressure), (0.3978, _reference_fluid_pressure)],
    ids=["simple fluid", "reference fluid"],
)
def test_the_density_that_is_found_gives_the_pressure_that_was_asked(
    acentric_factor: float, pressure_of: Callable[[float, float], float], pressure: float, temperature: float
) -> None:
    z = reduced_compressibility(pressure, temperature, acentric_factor)
    assert pressure_of(pressure / (z * temperature), temperature) == pytest.approx(pressure, rel=1e-10)


@given(temperature=TEMPERATURES, acentric_factor=st.floats(0.0, 0.4))
def test_without_pressure_every_fluid_is_ideal(temperature: float, acentric_factor: float) -> None:
    assert reduced_compressibility(0.0, temperature, acentric_factor) == 1.0


@given(pressure=PRESSURES, temperature=TEMPERATURES)
def test_the_acentric_factor_works_in_proportion(pressure: float, temperature: float) -> None:
    none = reduced_compressibility(pressure, temperature, 0.0)
    some = reduced_compressibility(pressure, temperature, 0.02) - none
    assert reduced_compressibility(pressure, temperature, 0.04) - none == pytest.approx(
        2.0 * some, rel=1e-6, abs=1e-14
    )


@given(pressure=st.floats(0.01, 9.0), temperature=TEMPERATURES)
def test_departure_from_the_ideal_gas_stays_in_the_bracket_of_the_solver(
    pressure: float, temperature: float
) -> None:
    assert 0.7 < reduced_compressibility(pressure, temperature, 0.0372) < 1.5
