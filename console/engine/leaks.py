"""What leaks out of the cabin and out of stores, by what their instruments say of pressure and temperature.

A reading that cannot be trusted never makes a leak smaller than a reference does. Pressures are held as read
for the whole forecast: a store that leaks falls in pressure and leaks ever less, so that is early.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from console.craft.channels import Channel, Measured
from console.craft.model import Craft, Store, Supply, Use
from console.engine.gas_amount import of_mass_si
from console.engine.quantity import read_value
from console.engine.reading import Quality, Reading
from console.physics.constants import STANDARD_ATMOSPHERE_PA
from console.physics.gas import HIGHEST_PRESSURE_PA, GasRangeError, mass_kg
from console.physics.leak import AIR, LEAKING_GASES, LeakingGas, hole_kg_per_s, leak_kg_per_s

COLDEST_K: Final = 230.0
"""At which a hole is reckoned where no temperature was ever read: the colder, the more gas passes."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Upstream:
    """The gas before a leak as its instruments last said."""

    pressure_pa: float | None = None
    """The last good reading; None where there is none."""
    temperature_k: float | None = None
    bound_pa: float = STANDARD_ATMOSPHERE_PA
    """What a hole is reckoned at, at least, where the pressure cannot be trusted."""
    is_good: bool = False
    """Whether the pressure can be trusted now."""
    why: str = ""
    """Why not, where a channel reads it."""
    held_kg: float | None = None
    """What a store holds by them; None for a cabin, which is fed, and where it is not known."""
    at_s: float | None = None
    """When that was read."""

    def empty_at_s(self, leak_kg_per_s: float) -> float:
        """When a store that keeps this leak is empty, at the latest; infinite where that is not known."""
        if not self.is_good or self.held_kg is None or self.at_s is None or leak_kg_per_s <= 0.0:
            return math.inf
        return self.at_s + self.held_kg / leak_kg_per_s

    def at_least_pa(self, reference_pa: float) -> float:
        """The pressure; what is not trusted counts at least as the reference."""
        if self.is_good and self.pressure_pa is not None:
            return self.pressure_pa
        return max(self.pressure_pa or 0.0, reference_pa)


@dataclass(frozen=True, kw_only=True, slots=True)
class CabinPressure:
    """The cabin's pressure as far as leaks go by it, and what lies before all other leaks."""

    value_pa: float | None = None
    """The last good reading; None where there is none."""
    is_good: bool = False
    """Whether it can be trusted now."""
    why: str = ""
    """Why not, where a channel reads it."""
    temperature_k: float | None = None
    """The cabin's, as last read."""
    bound_pa: float = STANDARD_ATMOSPHERE_PA
    """What a hole in the cabin is reckoned at, at least, where its pressure cannot be trusted."""
    stores: Mapping[str, Upstream] = field(default_factory=dict)
    """By store that leaks."""

    @property
    def cabin(self) -> Upstream:
        """What lies before the cabin's own leaks."""
        return Upstream(
            pressure_pa=self.value_pa,
            temperature_k=self.temperature_k,
            bound_pa=self.bound_pa,
            is_good=self.is_good,
            why=self.why,
        )

    def for_leak_pa(self, reference_pa: float) -> float:
        """What a leak is reckoned at: what is not trusted counts at least as the reference of the leak."""
        return self.cabin.at_least_pa(reference_pa)

    def before(self, use: Use) -> Upstream:
        """What lies before one leak."""
        return self.cabin if use.of_store is None else self.stores.get(use.of_store, Upstream())


def leak_pressures(
    craft: Craft, readings: Mapping[str, Reading], channels: Mapping[str, Channel]
) -> CabinPressure:
    """What lies before every leak of a craft, as its instruments last said."""
    names = dict.fromkeys(use.of_store for use in craft.uses if use.of_store is not None)
    stores = {}
    for name in names:
        _, store = craft.store(name)
        before = _upstream(store.pressure, store.temperature, HIGHEST_PRESSURE_PA, readings, channels)
        stores[name] = replace(before, held_kg=_held_kg(store, before))
    if craft.cabin is None:
        return CabinPressure(stores=stores)
    cabin = _upstream(
        craft.cabin.pressure, craft.cabin.temperature, STANDARD_ATMOSPHERE_PA, readings, channels
    )
    return CabinPressure(
        value_pa=cabin.pressure_pa,
        is_good=cabin.is_good,
        why=cabin.why,
        temperature_k=cabin.temperature_k,
        bound_pa=cabin.bound_pa,
        stores=stores,
    )


def leak_si_per_s(use: Use, supply: Supply, pressures: CabinPressure) -> float:
    """What one leak takes from its supply, in that supply's own rate.

    Raises:
        ValueError: the use is no leak.
    """
    before = pressures.before(use)
    if use.hole_m2 is not None:
        return of_mass_si(supply, _through_hole_kg_per_s(use, supply, before))
    if use.leak_si_per_s is None:
        raise ValueError(f"use {use.name} has no way of being reckoned")
    if use.at_pressure_pa is None:
        return use.leak_si_per_s
    return leak_kg_per_s(use.leak_si_per_s, before.at_least_pa(use.at_pressure_pa), use.at_pressure_pa)


def leak_ends_s(use: Use, supply: Supply, pressures: CabinPressure) -> float:
    """When a leak has let out all that its store holds; infinite for the cabin's, and where not known."""
    if use.of_store is None or not is_leak(use):
        return math.inf
    lost_kg_per_s = leak_si_per_s(use, supply, pressures) / of_mass_si(supply, 1.0)
    return pressures.before(use).empty_at_s(lost_kg_per_s)


def is_leak(use: Use) -> bool:
    """Whether a use is a leak of some kind."""
    return use.leak_si_per_s is not None or use.hole_m2 is not None


def leak_remarks(craft: Craft, supply: Supply, pressures: CabinPressure) -> tuple[str, ...]:
    """What must be said beside a supply whose leaks are not reckoned by a trusted pressure."""
    said: dict[str, None] = {}
    for use in craft.uses:
        goes_by_pressure = use.hole_m2 is not None or use.at_pressure_pa is not None
        if use.supply != supply.name or not is_leak(use) or not goes_by_pressure:
            continue
        before = pressures.before(use)
        if not before.is_good:
            leak = "the leak" if use.of_store is None else f"the leak of {use.of_store}"
            said[
                f"{leak} is reckoned at its reference pressure at least, because "
                f"{before.why or 'none is read'}"
            ] = None
    return tuple(said)


def _upstream(
    pressure: Measured | None,
    temperature: Measured | None,
    bound_pa: float,
    readings: Mapping[str, Reading],
    channels: Mapping[str, Channel],
) -> Upstream:
    warmth_k = None if temperature is None else read_value(temperature, readings, channels).value_si
    if pressure is None:
        return Upstream(temperature_k=warmth_k, bound_pa=bound_pa)
    value = read_value(pressure, readings, channels)
    channel = None if pressure.channel is None else channels[pressure.channel]
    return Upstream(
        pressure_pa=value.value_si,
        temperature_k=warmth_k,
        bound_pa=_bound_pa(value.value_si, channel, bound_pa),
        is_good=value.quality is Quality.GOOD,
        why=value.why,
        at_s=value.at_s,
    )


def _held_kg(store: Store, before: Upstream) -> float | None:
    if store.fluid is None or store.volume_m3 is None:
        return None
    if before.pressure_pa is None or before.temperature_k is None:
        return None
    try:
        return mass_kg(store.fluid, before.pressure_pa, before.temperature_k, store.volume_m3)
    except GasRangeError:
        return None


def _bound_pa(last_pa: float | None, channel: Channel | None, fallback_pa: float) -> float:
    """What a pressure that cannot be trusted is taken for, at least.

    The last good one where there was one. Where there never was, the most that its instrument can show, or
    what such a vessel may hold at the most: the standard atmosphere for a cabin, 30 MPa for a bottle.
    """
    if last_pa is not None:
        return last_pa
    return fallback_pa if channel is None or channel.high_si is None else channel.high_si


def _through_hole_kg_per_s(use: Use, supply: Supply, before: Upstream) -> float:
    temperature_k = before.temperature_k if before.temperature_k is not None else COLDEST_K
    return hole_kg_per_s(
        _gas_of(use, supply),
        use.hole_m2 or 0.0,
        max(before.at_least_pa(before.bound_pa), 0.0),
        max(temperature_k, 1.0),
        use.outside_pa,
        use.discharge_coefficient,
    )


def _gas_of(use: Use, supply: Supply) -> LeakingGas:
    """A leaking store's own gas; the cabin's air for the cabin."""
    if use.of_store is not None:
        fluids = [store.fluid for store in supply.stores if store.name == use.of_store]
        if fluids and fluids[0] is not None:
            return LEAKING_GASES[fluids[0]]
    return AIR
