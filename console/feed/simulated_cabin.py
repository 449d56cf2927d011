"""The air in the simulated craft: it stays as it is while the stores give, and changes when they do not."""

from __future__ import annotations

from console.craft.model import Craft, Metabolic, Use
from console.feed.simulation_cabin import InitialCabin
from console.physics.constants import (
    CARBON_DIOXIDE_KG_PER_MOL,
    GAS_CONSTANT_J_PER_MOL_K,
    OXYGEN_GAS_KG_PER_MOL,
)


class TrueCabin:
    """The cabin's air as it truly is.

    Its regulators hold the pressure as long as the supply feeds them. What is asked for and not given is
    missing from the air: oxygen that is breathed or leaks falls, carbon dioxide that nothing takes up rises.
    A leak is taken to carry off oxygen, since oxygen is what makes it up.
    """

    def __init__(self, craft: Craft, initial: InitialCabin) -> None:
        self._volume_m3 = None if craft.cabin is None else craft.cabin.volume_m3
        self.oxygen_pa = initial.oxygen_pa
        self.carbon_dioxide_pa = initial.carbon_dioxide_pa
        self._rest_pa = initial.pressure_pa - initial.oxygen_pa - initial.carbon_dioxide_pa
        self.start_temperature_k = initial.temperature_k
        self.temperature_k = initial.temperature_k

    @property
    def pressure_pa(self) -> float:
        """The whole pressure."""
        return self._rest_pa + self.oxygen_pa + self.carbon_dioxide_pa

    def miss(self, use: Use, missing_kg: float) -> None:
        """Change the air by what a use asked for and did not get."""
        if use.metabolic is Metabolic.CARBON_DIOXIDE:
            self.carbon_dioxide_pa += self._pressure_of_pa(missing_kg, CARBON_DIOXIDE_KG_PER_MOL)
        elif use.metabolic is Metabolic.OXYGEN or use.leak_si_per_s is not None:
            lost_pa = self._pressure_of_pa(missing_kg, OXYGEN_GAS_KG_PER_MOL)
            self.oxygen_pa = max(self.oxygen_pa - lost_pa, 0.0)

    def _pressure_of_pa(self, gas_kg: float, kg_per_mol: float) -> float:
        """Of an ideal gas, p = m R T / (M V), which thin air is to 0.1 %."""
        if self._volume_m3 is None:
            return 0.0
        return gas_kg / kg_per_mol * GAS_CONSTANT_J_PER_MOL_K * self.temperature_k / self._volume_m3
