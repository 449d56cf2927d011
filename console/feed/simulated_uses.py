"""What crew, leaks and cooling of the simulated craft truly take from the supplies, other than loads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from console.craft.model import Activity, Craft, HeatSource, Metabolic, PersonRates, Use
from console.feed.wander import Wander
from console.physics.cooling import water_for_heat_kg_per_s
from console.physics.leak import leak_kg_per_s
from console.physics.metabolism import crew_rates

WANDER_TAU_S = 3600.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Circumstances:
    """What uses depend on, in one step."""

    crew: Mapping[Activity, int]
    load_heat_w: float
    cabin_pressure_pa: float


class TrueUses:
    """The uses as they truly are.

    Args:
        craft: the craft.
        wander_fraction: how far people and steady uses stray from their mean.
        random: for the straying, and for how far each use is off the craft's figure.
    """

    def __init__(self, craft: Craft, wander_fraction: float, random: np.random.Generator) -> None:
        self._uses = craft.uses
        self._person_rates = craft.person_rates
        spreads = np.array([use.spread_fraction for use in craft.uses])
        draws = random.standard_normal(len(craft.uses))
        self._off_figures = np.exp(spreads * draws - 0.5 * spreads**2).tolist()
        self._people = Wander(1, wander_fraction, WANDER_TAU_S, random)
        self._steady = Wander(len(craft.uses), wander_fraction, WANDER_TAU_S, random)

    def step(self, dt_s: float) -> None:
        """Let people and uses stray for some seconds."""
        self._people.step(dt_s)
        self._steady.step(dt_s)

    def demand_si_per_s(self, now: Circumstances) -> list[tuple[Use, float]]:
        """Every use with what it asks of its supply."""
        people = float(self._people.factors[0])
        crew = crew_rates(now.crew, self._person_rates)
        steady = self._steady.factors.tolist()
        return [
            (use, off_figure * self._mean_si_per_s(use, now, crew, people, stray))
            for use, off_figure, stray in zip(self._uses, self._off_figures, steady, strict=True)
        ]

    def _mean_si_per_s(
        self, use: Use, now: Circumstances, crew: PersonRates, people: float, stray: float
    ) -> float:
        if use.rate_si_per_s is not None:
            return use.rate_si_per_s * stray
        if use.per_person_si_per_s is not None:
            return use.per_person_si_per_s * sum(now.crew.values()) * people
        if use.metabolic is not None:
            return _metabolic_kg_per_s(use.metabolic, crew) * people
        if use.leak_si_per_s is not None:
            if use.at_pressure_pa is None:
                return use.leak_si_per_s
            return leak_kg_per_s(use.leak_si_per_s, now.cabin_pressure_pa, use.at_pressure_pa)
        from_loads_w = now.load_heat_w if HeatSource.LOADS in use.evaporates_heat_of else 0.0
        from_crew_w = crew.heat_w * people if HeatSource.CREW in use.evaporates_heat_of else 0.0
        return water_for_heat_kg_per_s(from_loads_w + from_crew_w, use.feed_temperature_k)


def _metabolic_kg_per_s(metabolic: Metabolic, crew: PersonRates) -> float:
    return {
        Metabolic.OXYGEN: crew.oxygen_kg_per_s,
        Metabolic.CARBON_DIOXIDE: crew.carbon_dioxide_kg_per_s,
        Metabolic.WATER_VAPOUR: crew.water_vapour_kg_per_s,
    }[metabolic]
