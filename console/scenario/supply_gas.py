"""A supply that counts a gas by its volume: of which gas, and in what state that volume is stated.

Ten litres of oxygen say nothing without their pressure and temperature; with them they are a mass, so that
people may breathe from such a supply, it may leak, and its bottles may be gauged by pressure.
"""

from __future__ import annotations

from collections.abc import Collection

from console.craft.model import Fluid, Store, StoreKind
from console.physics.gas import density_kg_per_m3
from console.scenario.fields import Node
from console.scenario.outline import GasOutline
from console.scenario.quantities import read_quantity
from console.scenario.store_gas import GasVolume, refuse_pressure
from console.scenario.temperatures import OF_GAS, read_temperature_k
from console.units import Dimension, Unit

_EXPECTED = (
    "write the state of the stated volume, as {fluid: oxygen, pressure: 101.325 kPa, temperature: 15 degC}"
)


def read_volume_at(node: Node, unit: Unit | None) -> GasVolume | None:
    """What a supply's volumes mean; None where nothing is said."""
    if not node.is_given:
        return None
    fields = node.fields(("fluid", "pressure", "temperature"), _EXPECTED)
    if unit is not None and unit.dimension is not Dimension.VOLUME:
        node.refuse(f"volume_at of a supply that measures {unit.dimension.word}", "leave it out")
    if fields is None:
        return GasVolume()
    fluid = fields.need("fluid").choice(Fluid)
    pressure_pa = read_gas_pressure_pa(fields.need("pressure"), is_positive=True)
    temperature_k = read_temperature_k(fields.need("temperature"), OF_GAS)
    if fluid is None or pressure_pa is None or temperature_k is None:
        return GasVolume(fluid=fluid)
    return GasVolume(fluid=fluid, density_kg_per_m3=density_kg_per_m3(fluid, pressure_pa, temperature_k))


def read_gas_pressure_pa(node: Node, *, is_positive: bool = False) -> float | None:
    """A pressure at which a gas's density is known."""
    pressure_pa = read_quantity(node, Dimension.PRESSURE, is_positive=is_positive)
    return None if refuse_pressure(node, pressure_pa) else pressure_pa


def gas_outline(
    unit: Unit | None, stores: Collection[Store | None] | None, by_volume: GasVolume | None
) -> GasOutline | None:
    """What a plan has to know of a supply to fill a space from it; None where that is not known."""
    if unit is None or stores is None or None in stores:
        return None
    if by_volume is not None:
        if by_volume.fluid is None or by_volume.density_kg_per_m3 is None:
            return None
        return GasOutline(is_gas=True, fluid=by_volume.fluid, density_kg_per_m3=by_volume.density_kg_per_m3)
    gases = [store for store in stores if store is not None and store.kind is StoreKind.GAS]
    fluids = [store.fluid for store in gases if store.fluid is not None]
    is_gas = bool(gases) and unit.dimension is Dimension.MASS
    return GasOutline(is_gas=is_gas, fluid=fluids[0] if fluids else Fluid.OXYGEN)
