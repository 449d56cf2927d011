"""Latent heat and cooling water against published figures."""

from __future__ import annotations

import pytest

from console.physics.cooling import latent_heat_j_per_kg, water_for_heat_kg_per_s

KG_PER_LB = 0.45359237


@pytest.mark.parametrize(
    ("celsius", "kilojoules_per_kg"),
    [
        # Computed from IAPWS-95. Points of our own table first, then points that it does not hold.
        (0.01, 2500.91),
        (5.0, 2489.04),
        (25.0, 2441.68),
        (100.0, 2256.40),
        (15.0, 2465.35),
        (40.0, 2405.98),
        (60.0, 2357.65),
        (75.0, 2320.57),
        (90.0, 2282.49),
    ],
)
def test_latent_heat_agrees_with_iapws_95(celsius: float, kilojoules_per_kg: float) -> None:
    # The straight line between the points of the table lies at most 0.061 % under the equation.
    latent = latent_heat_j_per_kg(celsius + 273.15)
    assert kilojoules_per_kg * 1e3 * (1.0 - 0.00065) < latent < kilojoules_per_kg * 1e3 * 1.00001


@pytest.mark.parametrize(("water_lb_per_h", "heat_w"), [(2.6, 816.0), (6.3, 1977.0)])
def test_water_of_a_flown_contingency_agrees_with_its_heat(water_lb_per_h: float, heat_w: float) -> None:
    # NASA MSC-02680 section 6.7, read in the primary text: 2.6 to 6.3 lb/h. The heat is computed from it at
    # 2.49 MJ/kg, the latent heat at 5 °C, and is rounded to 1 W.
    water_kg_per_s = water_for_heat_kg_per_s(heat_w, 278.15)
    assert water_kg_per_s * 3600 / KG_PER_LB == pytest.approx(water_lb_per_h, rel=1.5e-3)
