"""A mass of gas in the unit of the supply it belongs to: supplies of gas can be kept in volumes."""

from __future__ import annotations

from console.craft.model import Supply
from console.units import Dimension


def of_mass_si(supply: Supply, mass_kg: float) -> float:
    """A mass, or a rate of it, in the supply's own unit: the volume it fills as that supply states it."""
    if supply.dimension is Dimension.VOLUME and supply.gas_density_kg_per_m3 is not None:
        return mass_kg / supply.gas_density_kg_per_m3
    return mass_kg
