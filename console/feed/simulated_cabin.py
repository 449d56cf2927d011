"""The air and the warmth in the simulated craft, gas by gas: what is breathed, fed, taken up, leaked, lost.

The truth, stepped in small steps and by nothing else; it must not use anything of the engine's forecast. What
the craft file leaves out (a stream through the absorbent, a feed, a hull) stays as it is while stores give.
"""

from __future__ import annotations

import math

from console.craft.cabin import Cabin, Regulated, Thermal
from console.craft.model import Craft, Metabolic, PersonRates, Use
from console.feed.simulation_cabin import InitialCabin
from console.physics.constants import (
    CARBON_DIOXIDE_KG_PER_MOL,
    GAS_CONSTANT_J_PER_MOL_K,
    NITROGEN_GAS_KG_PER_MOL,
    OXYGEN_GAS_KG_PER_MOL,
    WATER_KG_PER_MOL,
)
from console.physics.humidity import saturation_pressure_pa

MOST_FEED_PA_PER_S = 2.0
"""How fast a regulator that was shut brings the oxygen back: a tenth of an atmosphere in 1.4 h (invented)."""


class TrueCabin:
    """The cabin's air as it truly is.

    Its regulators hold the pressure as long as the supply feeds them. What is asked for and not given is
    missing from the air: oxygen that is breathed or leaks falls, carbon dioxide that nothing takes up rises.
    Gases are reckoned at the temperature of the start; 10 K would move their pressures by 3 %.

    Args:
        craft: the craft.
        initial: the air at the start.
    """

    def __init__(self, craft: Craft, initial: InitialCabin) -> None:
        cabin = craft.cabin
        self._cabin = cabin
        self._volume_m3 = None if cabin is None else cabin.volume_m3
        fed = {use.metabolic for use in craft.uses}
        self.breathes_air = self.is_fed or Metabolic.OXYGEN not in fed
        """Whether what is breathed is taken from the air, and not from the supply by its use."""
        self.fouls_air = self.has_stream or Metabolic.CARBON_DIOXIDE not in fed
        """Whether what is exhaled goes into the air, and not into the absorbent by its use."""
        self.oxygen_pa = initial.oxygen_pa
        self.carbon_dioxide_pa = initial.carbon_dioxide_pa
        self.start_temperature_k = initial.temperature_k
        self.temperature_k = initial.temperature_k
        self.outside_k = initial.outside_k
        self._water_pa = 0.0
        if self.has_vapour:
            self._water_pa = initial.humidity_fraction * saturation_pressure_pa(initial.temperature_k)
        self._rest_pa = initial.pressure_pa - initial.oxygen_pa - initial.carbon_dioxide_pa - self._vapour_pa
        self._set_oxygen_pa, self._set_pressure_pa = initial.oxygen_pa, initial.pressure_pa

    @property
    def is_fed(self) -> bool:
        """Whether a regulator of the cabin makes up its oxygen."""
        return self._cabin is not None and self._cabin.oxygen_feed is not None

    @property
    def has_stream(self) -> bool:
        """Whether the craft says what stream of air goes through the absorbent."""
        return self._cabin is not None and self._cabin.removal is not None

    @property
    def has_vapour(self) -> bool:
        """Whether the cabin's humidity is known to anybody; else all vapour counts to the rest."""
        return self._cabin is not None and self._cabin.humidity is not None

    @property
    def thermal(self) -> Thermal | None:
        """What the cabin's warmth goes by; None where it only drifts."""
        return None if self._cabin is None else self._cabin.thermal

    @property
    def pressure_pa(self) -> float:
        """The whole pressure."""
        return self._rest_pa + self.oxygen_pa + self.carbon_dioxide_pa + self._vapour_pa

    @property
    def humidity_fraction(self) -> float:
        """Vapour over what the air can hold."""
        return self._vapour_pa / saturation_pressure_pa(self.temperature_k)

    @property
    def air_kg(self) -> float:
        """Mass of all of it; the rest counts as nitrogen."""
        gases = (
            (self.oxygen_pa, OXYGEN_GAS_KG_PER_MOL),
            (self.carbon_dioxide_pa, CARBON_DIOXIDE_KG_PER_MOL),
            (self._rest_pa, NITROGEN_GAS_KG_PER_MOL),
            (self._vapour_pa, WATER_KG_PER_MOL),
        )
        return sum(self._kg_of(pressure_pa, kg_per_mol) for pressure_pa, kg_per_mol in gases)

    @property
    def _vapour_pa(self) -> float:
        """Of the water, what the air can hold; more of it hangs on the walls and comes back."""
        if not self.has_vapour:
            return 0.0
        return min(self._water_pa, saturation_pressure_pa(self.temperature_k))

    def miss(self, use: Use, missing_kg: float) -> None:
        """Change the air by what a use asked for and did not get from its supply."""
        if use.metabolic is Metabolic.CARBON_DIOXIDE and not self.fouls_air:
            self.carbon_dioxide_pa += self._pressure_of_pa(missing_kg, CARBON_DIOXIDE_KG_PER_MOL)
        elif self.breathes_air:
            return
        elif use.metabolic is Metabolic.OXYGEN or _leaks_cabin(use):
            # A leak is taken to carry off oxygen, since oxygen is what makes it up.
            self._lose_oxygen(missing_kg)

    def live(self, people: PersonRates, dt_s: float) -> None:
        """Let people breathe the air for some seconds, where it is not the supplies that serve them."""
        if self.breathes_air:
            self._lose_oxygen(people.oxygen_kg_per_s * dt_s)
        if self.fouls_air:
            exhaled_kg = people.carbon_dioxide_kg_per_s * dt_s
            self.carbon_dioxide_pa += self._pressure_of_pa(exhaled_kg, CARBON_DIOXIDE_KG_PER_MOL)
        if self.has_vapour:
            self._water_pa += self._pressure_of_pa(people.water_vapour_kg_per_s * dt_s, WATER_KG_PER_MOL)

    def leak(self, leak_kg: float) -> None:
        """Lose some air, each gas by the same share."""
        air_kg = self.air_kg
        if not self.breathes_air or air_kg <= 0.0:
            return
        kept = math.exp(-leak_kg / air_kg)
        self.oxygen_pa *= kept
        self.carbon_dioxide_pa *= kept
        self._rest_pa *= kept
        self._water_pa *= kept

    def stream_kg(self, dt_s: float) -> float:
        """Carbon dioxide that the stream brings to the absorbent, and leaves there, in some seconds."""
        if self._cabin is None or self._cabin.removal is None:
            return 0.0
        removal = self._cabin.removal
        passes = removal.flow_m3_per_s * removal.efficiency_fraction * dt_s / self._cabin.volume_m3
        return self._kg_of(self.carbon_dioxide_pa, CARBON_DIOXIDE_KG_PER_MOL) * -math.expm1(-passes)

    def bind(self, bound_kg: float, water_kg: float) -> None:
        """Lose carbon dioxide to the absorbent, which gives off water for it."""
        bound_pa = self._pressure_of_pa(bound_kg, CARBON_DIOXIDE_KG_PER_MOL)
        self.carbon_dioxide_pa = max(self.carbon_dioxide_pa - bound_pa, 0.0)
        if self.has_vapour:
            self._water_pa += self._pressure_of_pa(water_kg, WATER_KG_PER_MOL)

    def wants_oxygen_kg(self, dt_s: float) -> float:
        """What the regulator would let in during some seconds."""
        if self._cabin is None or self._cabin.oxygen_feed is None:
            return 0.0
        missing_pa = self._set_oxygen_pa - self.oxygen_pa
        if self._cabin.oxygen_feed.holds is Regulated.PRESSURE:
            missing_pa = self._set_pressure_pa - self.pressure_pa
        return self._kg_of(min(max(missing_pa, 0.0), MOST_FEED_PA_PER_S * dt_s), OXYGEN_GAS_KG_PER_MOL)

    def feed(self, oxygen_kg: float) -> None:
        """Let oxygen in."""
        self.oxygen_pa += self._pressure_of_pa(oxygen_kg, OXYGEN_GAS_KG_PER_MOL)

    def dry(self, works: bool) -> None:
        """Take water away that is beyond what the dryer leaves in the air."""
        drying = None if self._cabin is None else self._cabin.drying
        if drying is not None and works and self.has_vapour:
            most_pa = drying.humidity_fraction * saturation_pressure_pa(self.temperature_k)
            self._water_pa = min(self._water_pa, most_pa)

    def warm(self, heat_w: float, dt_s: float, cools: bool) -> None:
        """Let heat in and let the hull lose it, as one lumped node."""
        thermal = self.thermal
        if thermal is None:
            return
        lost_w = thermal.conductance_w_per_k * (self.temperature_k - self.outside_k)
        warmer_k = self.temperature_k + (heat_w - lost_w) * dt_s / thermal.heat_capacity_j_per_k
        if cools and thermal.cooled_to_k is not None:
            # Cooling takes what people and loads give off and no more: what is warm already stays so.
            warmer_k = min(warmer_k, max(thermal.cooled_to_k, self.temperature_k))
        self.temperature_k = warmer_k

    def _lose_oxygen(self, lost_kg: float) -> None:
        lost_pa = self._pressure_of_pa(lost_kg, OXYGEN_GAS_KG_PER_MOL)
        self.oxygen_pa = max(self.oxygen_pa - lost_pa, 0.0)

    def _pressure_of_pa(self, gas_kg: float, kg_per_mol: float) -> float:
        """Of an ideal gas, p = m R T / (M V), which thin air is to 0.1 %."""
        if self._volume_m3 is None:
            return 0.0
        return gas_kg / kg_per_mol * GAS_CONSTANT_J_PER_MOL_K * self.start_temperature_k / self._volume_m3

    def _kg_of(self, pressure_pa: float, kg_per_mol: float) -> float:
        """The mass that makes a partial pressure: ``_pressure_of_pa`` turned round."""
        if self._volume_m3 is None:
            return 0.0
        return (
            pressure_pa * self._volume_m3 * kg_per_mol / (GAS_CONSTANT_J_PER_MOL_K * self.start_temperature_k)
        )


def _leaks_cabin(use: Use) -> bool:
    return use.of_store is None and (use.leak_si_per_s is not None or use.hole_m2 is not None)


def services_of(cabin: Cabin | None) -> dict[str, tuple[str, ...]]:
    """By service of the cabin, the loads without which it does not work."""
    if cabin is None:
        return {}
    thermal = cabin.thermal
    return {
        "removal": () if cabin.removal is None else cabin.removal.needs,
        "feed": () if cabin.oxygen_feed is None else cabin.oxygen_feed.needs,
        "drying": () if cabin.drying is None else cabin.drying.needs,
        "cooling": () if thermal is None else thermal.cooling_needs,
    }
