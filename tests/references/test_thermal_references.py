"""The lumped node against a numerical integration, and by a pencil."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from console.physics.first_order import after, time_to_reach_s
from console.physics.thermal import equilibrium_k, loss_per_s, warming_k_per_s


@pytest.mark.parametrize("conductance", [0.0, 15.0, 60.0])
@pytest.mark.parametrize("heat", [0.0, 400.0, 1500.0])
def test_the_node_agrees_with_a_numerical_integration(heat: float, conductance: float) -> None:
    capacity, outside = 900e3, 255.0

    def balance(_: float, now: np.ndarray) -> list[float]:  # type: ignore[type-arg]  # any numbers
        return [(heat - conductance * (now[0] - outside)) / capacity]

    times = np.linspace(0.0, 48 * 3600.0, 25)
    expected = solve_ivp(balance, (0.0, times[-1]), [293.15], t_eval=times, rtol=1e-10, atol=1e-9).y[0]
    found = after(
        293.15,
        warming_k_per_s(heat, capacity, conductance, outside),
        loss_per_s(capacity, conductance),
        times,
    )
    assert found == pytest.approx(expected, rel=1e-8)


def test_after_one_time_constant_63_percent_of_the_way_is_gone() -> None:
    # Common practice, no source: 1 - 1/e = 0.63212; 900 kJ/K over 40 W/K is 22,500 s.
    assert 1.0 / loss_per_s(900e3, 40.0) == pytest.approx(22_500.0, rel=1e-12)
    steady = equilibrium_k(800.0, 40.0, 270.0)
    gain = warming_k_per_s(800.0, 900e3, 40.0, 270.0)
    reached = float(after(280.0, gain, loss_per_s(900e3, 40.0), 22_500.0))
    assert (reached - 280.0) / (steady - 280.0) == pytest.approx(0.63212, abs=1e-5)


def test_a_hull_that_loses_nothing_warms_by_heat_over_capacity() -> None:
    # By hand: 1 kW into 1 MJ/K is 3.6 K an hour, so 5 K take 5000 s.
    assert float(time_to_reach_s(290.0, warming_k_per_s(1000.0, 1e6, 0.0, 250.0), 0.0, 295.0)) == 5000.0
