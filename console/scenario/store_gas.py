"""What must hold of a store of gas: a pressure that its equation knows, no more than its vessel can hold."""

from __future__ import annotations

from dataclasses import dataclass

from console.craft.channels import Measured
from console.craft.model import Fluid, Store
from console.physics.gas import HIGHEST_PRESSURE_PA, mass_kg
from console.scenario.fields import Fields, Node
from console.units import Dimension

_FILLED_AT_K = 290.0
"""A usual temperature, at which what a vessel holds at most is reckoned."""
_HIGHEST_MPA = HIGHEST_PRESSURE_PA / 1e6


@dataclass(frozen=True, kw_only=True, slots=True)
class GasVolume:
    """What the amounts of a supply mean that counts gas by its volume."""

    fluid: Fluid | None = None
    """None where it could not be read."""
    density_kg_per_m3: float | None = None
    """In the state at which the volume is stated; None where it is not known."""


def check_gas(store: Store, fields: Fields, dimension: Dimension | None, by_volume: GasVolume | None) -> None:
    """Tell every fault that lies between the properties of a gas store and of its supply."""
    by_pressure = next((key for key in ("pressure", "residual_pressure") if fields.may(key).is_given), None)
    if by_pressure is not None and dimension not in (Dimension.MASS, None) and by_volume is None:
        expected = "give the supply a unit of mass, such as kg, or of volume with volume_at"
        fields.may(by_pressure).refuse("a pressure where amounts are not masses", expected)
    if fields.may("residual").is_given and fields.may("residual_pressure").is_given:
        fields.may("residual").refuse("residual beside residual_pressure", "write one of the two")
    _check_fluid(store, fields, by_volume)
    refuse_pressure(fields.may("pressure"), _constant(store.pressure))
    refuse_pressure(fields.may("residual_pressure"), store.residual_pressure_pa)
    _check_vessel(store, fields, dimension, by_volume)


def refuse_pressure(node: Node, pressure_pa: float | None) -> bool:
    """Whether a pressure is above all that the equation knows; tells the fault."""
    if pressure_pa is None or pressure_pa <= HIGHEST_PRESSURE_PA:
        return False
    node.refuse_value(f"write at most {_HIGHEST_MPA:g} MPa: the equation of the gas knows no more")
    return True


def _constant(measured: Measured | None) -> float | None:
    return None if measured is None else measured.constant_si


def _check_fluid(store: Store, fields: Fields, by_volume: GasVolume | None) -> None:
    """One supply that counts volumes counts those of one gas."""
    if by_volume is None or by_volume.fluid is None or store.fluid in (None, by_volume.fluid):
        return
    gas = by_volume.fluid.value
    fields.may("fluid").refuse_value(f"write {gas}, as volume_at of the supply says, or another supply")


def _check_vessel(
    store: Store, fields: Fields, dimension: Dimension | None, by_volume: GasVolume | None
) -> None:
    """No vessel holds more than its volume at the highest pressure."""
    scale = 1.0 if dimension is Dimension.MASS else None if by_volume is None else by_volume.density_kg_per_m3
    if store.volume_m3 is None or scale is None:
        return
    fluid = store.fluid or (by_volume.fluid if by_volume is not None else None) or Fluid.OXYGEN
    most_kg = mass_kg(fluid, HIGHEST_PRESSURE_PA, _FILLED_AT_K, store.volume_m3)
    quantity_si = None if store.quantity_is_share else _constant(store.quantity)
    if store.capacity_si is not None and store.capacity_si * scale > most_kg:
        _refuse_mass(fields.may("capacity"), store.volume_m3, most_kg, fluid)
    elif quantity_si is not None and quantity_si * scale > most_kg:
        _refuse_mass(fields.may("quantity"), store.volume_m3, most_kg, fluid)


def _refuse_mass(node: Node, volume_m3: float, most_kg: float, fluid: Fluid) -> None:
    node.refuse_value(
        f"write at most {most_kg:.4g} kg: {volume_m3:g} m^3 hold no more {fluid.value} "
        f"at {_HIGHEST_MPA:g} MPa and {_FILLED_AT_K:g} K"
    )
