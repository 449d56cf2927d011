"""A craft and its limits in the units that people read. What is read from files stays as it was declared."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from console.craft.cabin import CabinLimit
from console.craft.model import Craft, Supply
from console.display import cabin_unit
from console.units import Unit, UnitSystem, parse_unit, shown_unit


def craft_shown_in(craft: Craft, system: UnitSystem) -> Craft:
    """The same craft, its supplies read in a system of units.

    Channels keep their unit: a bare number in a state file is in the declared one, whoever looks on.

    Args:
        craft: as its file wrote it, since what was written is not kept beside what is shown.
        system: in which units people read its figures.
    """
    if system is UnitSystem.AS_WRITTEN:
        return replace(craft, shown_in=system)
    supplies = {name: _supply_shown_in(supply, system) for name, supply in craft.supplies.items()}
    return replace(craft, supplies=MappingProxyType(supplies), shown_in=system)


def limit_unit(limit: CabinLimit, system: UnitSystem) -> Unit:
    """The unit in which a limit of the cabin, and its property against it, are read."""
    return cabin_unit(limit.of.value, system, written=limit.unit, is_share=limit.is_share)


def _supply_shown_in(supply: Supply, system: UnitSystem) -> Supply:
    unit, rate_unit = supply.unit, supply.rate_unit
    if supply.gas_density_kg_per_m3 is not None and system is UnitSystem.US:
        # Nobody counts a gas in gallons, which is what litres of a liquid become.
        unit, rate_unit = parse_unit("m^3"), parse_unit("m^3/h")
    return replace(supply, unit=shown_unit(unit, system), rate_unit=shown_unit(rate_unit, system))
