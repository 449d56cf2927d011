"""What the loads of the simulated craft truly draw: as commanded, wandering, cycling by their duty.

The truth, which no instrument reads exactly. It must not use anything of the engine's forecast.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from console.craft.model import Craft, LoadState
from console.feed.simulated_draws import Floats, Streams
from console.feed.wander import Wander
from console.units import Dimension

SHORTEST_CYCLE_S = 480.0
LONGEST_CYCLE_S = 1500.0
"""How long a thermostat takes for one round of on and off (common practice, no source)."""
WANDER_TAU_S = 1800.0
SHORTEST_LOOK_S = 0.01
"""Over less, the share of a cycle that is on would be lost in the last digits of the time."""


class TrueLoads:
    """The loads as they truly are.

    Each is off the craft's figure by a factor that stays: half of the variance of the craft's load spread is
    common to all of them, half is its own.

    Args:
        craft: the craft.
        wander_fraction: how far each strays from its mean.
        streams: for the factors, the wandering and the cycles.
    """

    def __init__(self, craft: Craft, wander_fraction: float, streams: Streams) -> None:
        self._loads = tuple(craft.loads.values())
        names = tuple(craft.loads)
        count = len(names)
        draws = streams.normals([f"load/{name}/wander" for name in names])
        self._wander = Wander(count, wander_fraction, WANDER_TAU_S, draws)
        self.factors = _off_figures(craft.load_spread_fraction, names, streams)
        """By load, how many times the craft's figure it takes."""
        self._off_figures: Floats = np.array(list(self.factors.values()))
        cycles = [streams.named(f"load/{name}/cycle").uniform(size=2) for name in names]
        share, phase = np.array(cycles).reshape(count, 2).T
        self._period_s: Floats = SHORTEST_CYCLE_S + (LONGEST_CYCLE_S - SHORTEST_CYCLE_S) * share
        self._phase: Floats = phase
        self._base: Floats = np.zeros(count)
        self._duty: Floats = np.ones(count)
        self._of_supply = {
            name: np.array([load.supply == name for load in self._loads], dtype=np.float64)
            for name, supply in craft.supplies.items()
            if supply.is_electrical
        }
        self._heat_w_per_rate = {
            name: np.array([load.heat_fraction * _watts(craft, load.supply) for load in self._loads]) * mask
            for name, mask in self._of_supply.items()
        }

    def switch(self, states: Mapping[str, LoadState], times: Mapping[str, float]) -> None:
        """Put every load into its state, and let some take so many times what they would."""
        is_on = [states[load.name] is LoadState.ON for load in self._loads]
        self._base = np.array(
            [
                (load.on_si_per_s if on else load.draw_si_per_s(states[load.name]))
                * times.get(load.name, 1.0)
                for load, on in zip(self._loads, is_on, strict=True)
            ],
            dtype=np.float64,
        )
        self._base *= self._off_figures
        self._duty = np.array(
            [load.duty_fraction if on else 1.0 for load, on in zip(self._loads, is_on, strict=True)],
            dtype=np.float64,
        )

    def step(self, dt_s: float) -> None:
        """Let them wander for some seconds."""
        self._wander.step(dt_s)

    def draws_si_per_s(self, at_s: float, dt_s: float) -> Floats:
        """What each draws on average from a moment on for some seconds."""
        until_s = at_s + max(dt_s, SHORTEST_LOOK_S)
        cycles, later = at_s / self._period_s + self._phase, until_s / self._period_s + self._phase
        on_fraction = (self._cycles_on(later) - self._cycles_on(cycles)) / (later - cycles)
        draws: Floats = self._base * self._wander.factors * on_fraction
        return draws

    def _cycles_on(self, cycles: Floats) -> Floats:
        """How many cycles' worth of being on lie before a moment: each begins on and ends off."""
        whole = np.floor(cycles)
        on: Floats = whole * self._duty + np.minimum(cycles - whole, self._duty)
        return on

    def demand_si_per_s(self, draws: Floats) -> dict[str, float]:
        """By electrical supply, what the loads ask of it."""
        return {name: float(draws @ mask) for name, mask in self._of_supply.items()}

    def heat_w(self, draws: Floats, served: Mapping[str, float]) -> float:
        """Heat for the cooling to carry away, from the loads that are served."""
        return sum(float(draws @ heat) * served[name] for name, heat in self._heat_w_per_rate.items())


def _watts(craft: Craft, supply_name: str) -> float:
    """Watts for each unit of a supply's rate: the bus voltage where it is in amps."""
    supply = craft.supplies[supply_name]
    return (supply.bus_voltage_v or 0.0) if supply.dimension is Dimension.CHARGE else 1.0


def _off_figures(spread_fraction: float, names: Sequence[str], streams: Streams) -> dict[str, float]:
    """By load, exp(s (z + z_own) / sqrt(2) - s²/2): 1 on average, with z common to all."""
    common = streams.normal("loads/spread")
    own = {name: streams.normal(f"load/{name}/spread") for name in names}
    return {
        name: math.exp(spread_fraction * (common + each) / math.sqrt(2.0) - 0.5 * spread_fraction**2)
        for name, each in own.items()
    }
