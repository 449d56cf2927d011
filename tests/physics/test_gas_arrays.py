"""Many states of a gas at once: the same masses as one by one."""

from __future__ import annotations

import numpy as np
import pytest

from console.craft.model import Fluid
from console.physics.gas import GasRangeError, mass_kg, masses_kg


@pytest.mark.parametrize("fluid", list(Fluid))
def test_many_states_at_once_give_what_each_gives_alone(fluid: Fluid) -> None:
    random = np.random.default_rng(3)
    pressures = np.concatenate(([0.0, 1.0, 30e6], random.uniform(0.0, 30e6, 300)))
    temperatures = np.concatenate(([300.0, 230.0, 230.0], random.uniform(230.0, 350.0, 300)))
    alone = [
        mass_kg(fluid, pressure, warm, 0.062)
        for pressure, warm in zip(pressures.tolist(), temperatures.tolist(), strict=True)
    ]
    assert masses_kg(fluid, pressures, temperatures, 0.062) == pytest.approx(alone, rel=1e-11)


def test_a_state_out_of_range_is_not_a_number_and_the_others_stay() -> None:
    masses = masses_kg(Fluid.OXYGEN, np.array([1e6, -1.0, 31e6, 1e6]), np.array([300.0, 300, 300, 400]), 1.0)
    assert np.isnan(masses).tolist() == [False, True, True, True]
    assert masses[0] == pytest.approx(mass_kg(Fluid.OXYGEN, 1e6, 300.0, 1.0), rel=1e-11)


def test_a_volume_must_be_above_nothing() -> None:
    with pytest.raises(GasRangeError):
        masses_kg(Fluid.OXYGEN, np.array([1e6]), np.array([300.0]), 0.0)
