"""Saturation and the heat index: limits, monotonic, bounds."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.physics.humidity import (
    LARGEST_STEP_K,
    apparent_ceiling_k,
    apparent_temperature_k,
    saturation_pressure_pa,
)


def fahrenheit(kelvin: float) -> float:
    return (kelvin - 273.15) * 1.8 + 32.0


def kelvin(degrees_f: float) -> float:
    return (degrees_f - 32.0) / 1.8 + 273.15


@given(temperature=st.floats(235.0, 370.0), step=st.floats(0.01, 10.0))
def test_warmer_air_can_hold_more(temperature: float, step: float) -> None:
    assert saturation_pressure_pa(temperature + step) > saturation_pressure_pa(temperature)


@pytest.mark.parametrize(("given_k", "taken_k"), [(100.0, 230.0), (900.0, 647.096)])
def test_outside_its_range_saturation_stays_at_the_end(given_k: float, taken_k: float) -> None:
    assert saturation_pressure_pa(given_k) == saturation_pressure_pa(taken_k)


def test_numbers_stay_numbers_and_arrays_arrays() -> None:
    temperatures = np.array([280.0, 300.0, 310.0])
    assert isinstance(saturation_pressure_pa(280.0), float)
    assert isinstance(apparent_temperature_k(300.0, 0.5), float)
    assert saturation_pressure_pa(temperatures).tolist() == [saturation_pressure_pa(t) for t in temperatures]
    together = apparent_temperature_k(temperatures, np.full(3, 0.6))
    assert together.tolist() == [apparent_temperature_k(float(t), 0.6) for t in temperatures]


def test_the_three_ranges_of_the_index_by_hand() -> None:
    # Simple: 75 degF, 40 %: S = (75 + 61 + 7 x 1.2 + 40 x 0.094) / 2 = 74.08, averaged with 75.
    assert fahrenheit(apparent_temperature_k(kelvin(75.0), 0.40)) == pytest.approx((74.08 + 75.0) / 2)
    # Dry: 95 degF at 5 % is lowered by (13 - 5) / 4 x 1 = 2 degF from the regression.
    regression = (
        -42.379 + 2.04901523 * 95 + 10.14333127 * 5 - 0.22475541 * 95 * 5 - 0.00683783 * 95**2
        - 0.05481717 * 25 + 0.00122874 * 95**2 * 5 + 0.00085282 * 95 * 25 - 0.00000199 * 95**2 * 25
    )  # fmt: skip
    assert fahrenheit(apparent_temperature_k(kelvin(95.0), 0.05)) == pytest.approx(regression - 2.0)
    # Humid: 82 degF at 95 % is raised by (95 - 85) / 10 x (87 - 82) / 5 = 1 degF.
    above = fahrenheit(apparent_temperature_k(kelvin(82.0), 0.95))
    t, r = 82.0, 95.0
    plain = (
        -42.379 + 2.04901523 * t + 10.14333127 * r - 0.22475541 * t * r - 0.00683783 * t**2
        - 0.05481717 * r**2 + 0.00122874 * t**2 * r + 0.00085282 * t * r**2 - 0.00000199 * t**2 * r**2
    )  # fmt: skip
    assert above == pytest.approx(plain + 1.0)


@pytest.mark.parametrize(("given_fraction", "taken"), [(-0.1, 0.0), (1.4, 1.0)])
def test_a_humidity_that_cannot_be_counts_as_the_end(given_fraction: float, taken: float) -> None:
    assert apparent_temperature_k(305.0, given_fraction) == apparent_temperature_k(305.0, taken)


def test_beyond_its_data_the_index_errs_towards_hot() -> None:
    # Dry and hotter than 112 degF the regression falls below the air's own temperature, which is taken then.
    assert apparent_temperature_k(kelvin(130.0), 0.0) == pytest.approx(kelvin(130.0))
    assert apparent_temperature_k(kelvin(120.0), 0.9) > kelvin(200.0)


GRID_F = np.linspace(50.0, 150.0, 401)[:, None]
GRID_HUMIDITY = np.linspace(0.0, 1.0, 401)[None, :]


def test_nothing_cooler_and_drier_feels_hotter_than_the_ceiling() -> None:
    shape = np.broadcast(GRID_F, GRID_HUMIDITY).shape
    temperatures = np.broadcast_to((GRID_F - 32.0) / 1.8 + 273.15, shape)
    humidities = np.broadcast_to(GRID_HUMIDITY, shape)
    index = apparent_temperature_k(temperatures, humidities)
    worst_below = np.maximum.accumulate(np.maximum.accumulate(index, axis=0), axis=1)
    ceiling = apparent_ceiling_k(temperatures, humidities)
    assert (ceiling >= worst_below - 1e-9).all()
    # And the bound is no idle one: nowhere further above than a switch of the index is high.
    assert (ceiling - worst_below).max() < 2.0


def test_warmer_or_moister_air_never_feels_cooler_by_more_than_a_step() -> None:
    shape = np.broadcast(GRID_F, GRID_HUMIDITY).shape
    index = apparent_temperature_k(
        np.broadcast_to((GRID_F - 32.0) / 1.8 + 273.15, shape), np.broadcast_to(GRID_HUMIDITY, shape)
    )
    highest = np.maximum.accumulate(np.maximum.accumulate(index, axis=0), axis=1)
    assert 1.0 < (highest - index).max() <= LARGEST_STEP_K
