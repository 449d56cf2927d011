"""Flow through holes and blow-down against published coefficients, an integrator and a real-gas library."""

from __future__ import annotations

import CoolProp.CoolProp as coolprop  # noqa: N813
import numpy as np
import pytest
from scipy.integrate import solve_ivp

from console.craft.model import Fluid
from console.physics.blowdown import (
    isentropic_pressure_pa,
    isentropic_time_s,
    isothermal_pressure_pa,
    isothermal_time_s,
    time_constant_s,
)
from console.physics.leak import AIR, LEAKING_GASES, choked_factor, critical_ratio, hole_kg_per_s


def test_the_factor_of_choked_air_is_the_published_one() -> None:
    # 0.04042, Higgins (read in the primary text), with its own gas constant: 1.3e-4 above ours.
    assert choked_factor(AIR) == pytest.approx(0.04042, rel=2e-4)


def test_the_factor_of_choked_oxygen() -> None:
    # 0.042479 by the same equation, 7/5 and 31.999 g/mol (computed by others of us): 3e-5 above ours.
    assert choked_factor(LEAKING_GASES[Fluid.OXYGEN]) == pytest.approx(0.042479, rel=5e-5)


def test_the_critical_ratio_of_air_is_0_5283() -> None:
    # NACA Report 1135, table II, Mach 1, ratio of heat capacities 7/5 (from memory).
    assert critical_ratio(1.4) == pytest.approx(0.5283, abs=5e-5)


def test_a_square_centimetre_from_one_atmosphere() -> None:
    # 0.02392 kg/s at 101,325 Pa and 293.15 K, computed independently.
    assert hole_kg_per_s(AIR, 1e-4, 101_325.0, 293.15) == pytest.approx(0.02392, abs=5e-6)


def test_ten_cubic_metres_through_a_square_centimetre() -> None:
    # Computed independently: time constant 503.5 s; half the pressure after 349.0 s at constant temperature
    # and 262.0 s without heat.
    constant = time_constant_s(AIR, 10.0, 1e-4, 293.15)
    assert constant == pytest.approx(503.5, abs=0.1)
    assert isothermal_time_s(2.0, 1.0, constant) == pytest.approx(349.0, abs=0.1)
    assert isentropic_time_s(2.0, 1.0, constant, 1.4) == pytest.approx(262.0, abs=0.1)


def test_the_closed_forms_are_what_an_integrator_finds_step_by_step() -> None:
    gas, volume, area, first_pa, first_k = LEAKING_GASES[Fluid.OXYGEN], 0.08, 2e-9, 15e6, 290.0
    constant = time_constant_s(gas, volume, area, first_k)

    def slope(_: float, state: np.ndarray) -> list[float]:
        warm_pa, cold_pa = state
        cold_k = first_k * (cold_pa / first_pa) ** (0.4 / 1.4)
        warm = -hole_kg_per_s(gas, area, warm_pa, first_k) * gas.gas_constant_j_per_kg_k * first_k / volume
        cold = (
            -1.4 * hole_kg_per_s(gas, area, cold_pa, cold_k) * gas.gas_constant_j_per_kg_k * cold_k / volume
        )
        return [warm, cold]

    end_s = 2.0 * constant
    run = solve_ivp(slope, (0.0, end_s), [first_pa, first_pa], rtol=1e-10, atol=1e-3)
    assert run.y[0, -1] == pytest.approx(isothermal_pressure_pa(first_pa, end_s, constant), rel=1e-7)
    assert run.y[1, -1] == pytest.approx(isentropic_pressure_pa(first_pa, end_s, constant, 1.4), rel=1e-7)


@pytest.mark.parametrize(
    ("fluid", "temperature_k", "pressure_pa", "excess"),
    [
        (Fluid.OXYGEN, 300.0, 1e6, 0.004),
        (Fluid.OXYGEN, 300.0, 15e6, 0.075),
        (Fluid.OXYGEN, 300.0, 30e6, 0.129),
        (Fluid.OXYGEN, 250.0, 30e6, 0.266),
        (Fluid.NITROGEN, 300.0, 15e6, 0.045),
        (Fluid.NITROGEN, 300.0, 30e6, 0.061),
    ],
)
def test_how_much_more_a_compressed_real_gas_lets_through(
    fluid: Fluid, temperature_k: float, pressure_pa: float, excess: float
) -> None:
    # The largest rho w along the isentrope of the reference equation of state (CoolProp 8.0.0): what our
    # ideal gas leaves out, as the docstring of the function says.
    name = fluid.value.capitalize()
    start = coolprop.PropsSI("H", "P", pressure_pa, "T", temperature_k, name)
    entropy = coolprop.PropsSI("S", "P", pressure_pa, "T", temperature_k, name)
    most = 0.0
    for ratio in np.linspace(0.35, 0.7, 71):
        at = ("P", ratio * pressure_pa, "S", entropy, name)
        drop = start - coolprop.PropsSI("H", *at)
        most = max(most, coolprop.PropsSI("D", *at) * (2.0 * drop) ** 0.5)
    ideal = hole_kg_per_s(LEAKING_GASES[fluid], 1.0, pressure_pa, temperature_k)
    assert most / ideal - 1.0 == pytest.approx(excess, abs=0.002)
