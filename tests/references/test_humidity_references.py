"""Saturation pressure of water and the heat index against published figures and a reference library."""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from console.physics.humidity import apparent_temperature_k, saturation_pressure_pa


@pytest.mark.parametrize(
    ("celsius", "kilopascal"),
    # Steam tables after IAPWS (read at second hand; the last digit is the table's).
    [(0.01, 0.61165), (20.0, 2.3393), (30.0, 4.2470), (40.0, 7.3849)],
)
def test_saturation_agrees_with_the_steam_tables(celsius: float, kilopascal: float) -> None:
    assert saturation_pressure_pa(celsius + 273.15) / 1e3 == pytest.approx(kilopascal, rel=1e-4)


@pytest.mark.parametrize("celsius", [0.02, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 37.0, 45.0, 60.0])
def test_saturation_agrees_with_iapws_95(celsius: float) -> None:
    # CoolProp's water is IAPWS-95 itself. Asked for: 0.1 % from 0 to 60 degC; reached: 0.03 %.
    expected = PropsSI("P", "T", celsius + 273.15, "Q", 1, "Water")
    assert saturation_pressure_pa(celsius + 273.15) == pytest.approx(expected, rel=3e-4)


@pytest.mark.parametrize(
    ("fahrenheit", "percent", "index_f"),
    # The chart of the US National Weather Service (from memory), printed in whole degrees.
    [
        (80, 40, 80), (80, 80, 84), (84, 60, 88), (86, 90, 105), (88, 70, 100), (90, 50, 95), (90, 80, 113),
        (92, 60, 105), (94, 40, 97), (96, 55, 112), (98, 40, 105), (100, 50, 118), (104, 40, 119),
        (108, 40, 130), (110, 40, 136),
    ],
)  # fmt: skip
def test_the_heat_index_agrees_with_the_chart(fahrenheit: int, percent: int, index_f: int) -> None:
    kelvin = (fahrenheit - 32) / 1.8 + 273.15
    found = (apparent_temperature_k(kelvin, percent / 100) - 273.15) * 1.8 + 32
    # Half a degree of rounding in print, and a little more at the chart's own corners.
    assert found == pytest.approx(index_f, abs=0.9)


def test_the_refuge_limit_of_95_fahrenheit_apparent_is_passed_well_below_95_in_moist_air() -> None:
    # 30 CFR part 7 subpart L limits the apparent temperature to 95 degF (read at second hand).
    temperatures = np.linspace(70.0, 100.0, 3001)
    kelvin = (temperatures - 32.0) / 1.8 + 273.15
    index = (apparent_temperature_k(kelvin, np.full_like(kelvin, 0.9)) - 273.15) * 1.8 + 32.0
    passed = temperatures[np.argmax(index > 95.0)]
    assert 82.0 < passed < 85.0
