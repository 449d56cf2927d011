"""Density of oxygen and nitrogen against the reference equations of state.

Computed with CoolProp 8.0.0, to the digits given: oxygen by Schmidt and Wagner, Fluid Phase Equilib. 19
(1985); nitrogen by Span et al., J. Phys. Chem. Ref. Data 29 (2000).
"""

from __future__ import annotations

import CoolProp.CoolProp as coolprop  # noqa: N813
import pytest

from console.craft.model import Fluid
from console.physics.gas import density_kg_per_m3, repressurisation_kg

WITHIN = 0.0075
"""Allowed error of our equation: on a grid of 2 K by 0.1 MPa over the whole range the worst was 0.71 %."""

OXYGEN = [
    (250.0, 5e6, 82.344),
    (250.0, 10e6, 174.538),
    (250.0, 20e6, 363.064),
    (250.0, 30e6, 508.867),
    (300.0, 5e6, 65.969),
    (300.0, 10e6, 134.574),
    (300.0, 15e6, 203.582),
    (300.0, 20e6, 270.330),
    (300.0, 30e6, 389.053),
    (350.0, 10e6, 111.352),
    (350.0, 30e6, 317.860),
]
NITROGEN = [
    (250.0, 5e6, 69.544),
    (250.0, 10e6, 140.592),
    (250.0, 20e6, 268.096),
    (250.0, 30e6, 362.758),
    (300.0, 5e6, 56.344),
    (300.0, 10e6, 111.725),
    (300.0, 15e6, 164.239),
    (300.0, 20e6, 212.537),
    (300.0, 30e6, 294.781),
    (350.0, 10e6, 93.741),
    (350.0, 30e6, 249.680),
]


@pytest.mark.parametrize(("temperature_k", "pressure_pa", "density"), OXYGEN)
def test_oxygen_is_as_dense_as_the_equation_of_schmidt_and_wagner_says(
    temperature_k: float, pressure_pa: float, density: float
) -> None:
    assert density_kg_per_m3(Fluid.OXYGEN, pressure_pa, temperature_k) == pytest.approx(density, rel=WITHIN)


@pytest.mark.parametrize(("temperature_k", "pressure_pa", "density"), NITROGEN)
def test_nitrogen_is_as_dense_as_the_equation_of_span_and_others_says(
    temperature_k: float, pressure_pa: float, density: float
) -> None:
    assert density_kg_per_m3(Fluid.NITROGEN, pressure_pa, temperature_k) == pytest.approx(density, rel=WITHIN)


@pytest.mark.parametrize(
    ("temperature_k", "pressure_pa", "density"),
    [point for point in NITROGEN if point[0] <= 300.0 and point[1] <= 15e6],
)
def test_nitrogen_of_usual_bottles_is_closer_still(
    temperature_k: float, pressure_pa: float, density: float
) -> None:
    # Up to 300 K and 15 MPa the points differ by at most 0.17 %.
    assert density_kg_per_m3(Fluid.NITROGEN, pressure_pa, temperature_k) == pytest.approx(density, rel=2e-3)


def test_oxygen_is_never_reckoned_more_than_a_thousandth_too_dense() -> None:
    # The error that would hurt: more oxygen on the board than in the bottle. Worst on the grid: 0.02 %.
    for temperature_k, pressure_pa, density in OXYGEN:
        assert density_kg_per_m3(Fluid.OXYGEN, pressure_pa, temperature_k) < 1.001 * density


def test_the_ideal_gas_would_not_do() -> None:
    # Oxygen at 250 K and 20 MPa: the ideal-gas law is 15 % short of the reference.
    ideal = 20e6 * 31.998e-3 / (8.31446261815324 * 250.0)
    assert ideal / 363.064 == pytest.approx(0.848, abs=0.001)
    assert density_kg_per_m3(Fluid.OXYGEN, 20e6, 250.0) == pytest.approx(363.064, rel=WITHIN)


@pytest.mark.parametrize("fluid", [Fluid.OXYGEN, Fluid.NITROGEN])
@pytest.mark.parametrize(
    ("from_pa", "to_pa", "temperature_k"),
    [(0.0, 38e3, 290.0), (20e3, 101_325.0, 293.15), (101_325.0, 600e3, 300.0), (1e6, 20e6, 280.0)],
)
def test_a_repressurisation_takes_what_the_reference_equation_says(
    fluid: Fluid, from_pa: float, to_pa: float, temperature_k: float
) -> None:
    def density(pressure_pa: float) -> float:
        name = fluid.value.capitalize()
        # The reference has no state at no pressure: no gas there.
        return coolprop.PropsSI("D", "P", pressure_pa, "T", temperature_k, name) if pressure_pa else 0.0

    due_kg = (density(to_pa) - density(from_pa)) * 7.0
    assert repressurisation_kg(fluid, 7.0, from_pa, to_pa, temperature_k) == pytest.approx(due_kg, rel=WITHIN)


def test_a_cabin_for_three_takes_about_6_6_lb() -> None:
    # Common practice, no source: a full repressurisation of a small craft takes about 6.6 lb of oxygen. By
    # hand with an ideal gas: 5 psi (34.47 kPa) in 6.6 m3 at 293 K is 34470 x 6.6 / (259.84 x 293) = 2.99 kg.
    oxygen_kg = repressurisation_kg(Fluid.OXYGEN, 6.6, 0.0, 34_474.0, 293.0)
    assert oxygen_kg / 0.45359237 == pytest.approx(6.6, abs=0.05)
