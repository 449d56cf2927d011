"""The ``stores`` of a supply: what each holds, how that is known, and what it cannot give."""

from __future__ import annotations

from dataclasses import dataclass, replace

from console.craft.model import Fluid, Store, StoreKind, StoreState
from console.physics.absorbent import CEILING_KG_PER_KG
from console.scenario.craft_store_checks import check_store, kind_fits
from console.scenario.fields import Fields, Node
from console.scenario.quantities import (
    STORED,
    ChannelUnits,
    read_measured,
    read_measured_and_dimension,
    read_number,
    read_quantity,
    read_quantity_and_unit,
)
from console.scenario.store_battery import read_capacity_curve
from console.scenario.store_capacity import CAPACITY_KEYS, Capacity, read_capacity
from console.scenario.store_gas import GasVolume, check_gas
from console.scenario.temperatures import OF_BATTERY, OF_GAS, read_measured_temperature
from console.units import Dimension

_EVERY_KIND = ("kind", "state", "protected", "note")
_KEYS = {
    StoreKind.BATTERY: (
        *("capacity", "residual", "peukert", "rated_current", "current", "used", "quantity"),
        *("temperature", "capacity_at", "current_limit"),
    ),
    StoreKind.GAS: (
        *("fluid", "volume", "pressure", "temperature", "residual_pressure"),
        *("capacity", "residual", "quantity"),
    ),
    StoreKind.LIQUID: ("capacity", "quantity", "used", "residual"),
    StoreKind.ABSORBENT: (
        *(*CAPACITY_KEYS, "person_rate", "outlet"),
        *("used", "quantity", "residual", "sorbent", "sorbent_mass"),
    ),
}
_ALL_KEYS = tuple(dict.fromkeys((*_EVERY_KIND, *(key for keys in _KEYS.values() for key in keys))))
_MOST_PEUKERT = 2.0


@dataclass(frozen=True, kw_only=True, slots=True)
class StoreSurroundings:
    """What a store's reader has to know of the craft around it; None is what could not be read."""

    dimension: Dimension | None
    """What the supply's amounts measure."""
    channels: ChannelUnits | None
    by_volume: GasVolume | None = None
    """What gas the supply counts by its volume; None where it does not."""

    @property
    def dimensions(self) -> tuple[Dimension, ...]:
        """What an amount of this supply may measure: any that a supply can have where it is not known."""
        return STORED if self.dimension is None else (self.dimension,)


def read_store(name: str, node: Node, around: StoreSurroundings) -> Store | None:
    """One store; None where too little of it could be read to build one."""
    kind = _peek_kind(node)
    keys = _ALL_KEYS if kind is None else (*_EVERY_KIND, *_KEYS[kind])
    fields = node.fields(keys, "write what the store is, as {kind: liquid, capacity: 40 kg}")
    if fields is None:
        return None
    fields.need("kind").choice(StoreKind)  # tells the fault that the peek kept to itself
    if kind is not None and not kind_fits(kind, fields, around.dimension):
        around = replace(around, dimension=None)
    capacity = read_capacity(fields, kind, *around.dimensions)
    if kind is None:
        return None
    quantity, measures = read_measured_and_dimension(
        fields.may("quantity"), around.channels, *around.dimensions, Dimension.FRACTION
    )
    sensible = OF_BATTERY if kind is StoreKind.BATTERY else OF_GAS
    store = Store(
        name=name,
        kind=kind,
        state=_read_state(fields),
        capacity_si=capacity.value_si,
        residual_si=_read_residual(fields, around, capacity) or 0.0,
        quantity=quantity,
        quantity_is_share=measures is Dimension.FRACTION,
        used=read_measured(fields.may("used"), around.channels, *around.dimensions),
        current=read_measured(fields.may("current"), around.channels, Dimension.CURRENT),
        peukert=read_number(fields.may("peukert"), least=1.0, most=_MOST_PEUKERT) or 1.0,
        rated_current_a=read_quantity(fields.may("rated_current"), Dimension.CURRENT, is_positive=True),
        fluid=_gas_node(fields, "fluid").choice(Fluid),
        volume_m3=read_quantity(_gas_node(fields, "volume"), Dimension.VOLUME, is_positive=True),
        pressure=read_measured(fields.may("pressure"), around.channels, Dimension.PRESSURE, is_positive=True),
        temperature=read_measured_temperature(_gas_node(fields, "temperature"), around.channels, sensible),
        residual_pressure_pa=read_quantity(fields.may("residual_pressure"), Dimension.PRESSURE) or 0.0,
        capacity_at_temperature=read_capacity_curve(fields),
        current_limit_a=read_quantity(fields.may("current_limit"), Dimension.CURRENT, is_positive=True),
        sorbent=fields.may("sorbent").reference(CEILING_KG_PER_KG, "a sorbent"),
        outlet_pa=capacity.outlet_pa,
        note=fields.may("note").text() or "",
    )
    check_store(store, fields, capacity)
    if kind is StoreKind.GAS:
        check_gas(store, fields, around.dimension, around.by_volume)
    return store


def _peek_kind(node: Node) -> StoreKind | None:
    """The kind, without telling a fault: the keys that are known depend on it."""
    written = node.value.get("kind") if isinstance(node.value, dict) else None
    return next((kind for kind in StoreKind if kind.value == written), None)


def _read_state(fields: Fields) -> StoreState:
    state = fields.may("state").choice(StoreState)
    is_protected = fields.may("protected").boolean()
    if state is not None and is_protected is not None and is_protected != (state is StoreState.PROTECTED):
        fields.may("protected").refuse(
            f"protected: {str(is_protected).lower()} beside state: {state.value}", "write one of the two"
        )
    if is_protected:
        return StoreState.PROTECTED
    return StoreState.FEEDING if state is None else state


def _read_residual(fields: Fields, around: StoreSurroundings, capacity: Capacity) -> float | None:
    """What it cannot give, from a quantity or from a share of its capacity."""
    node = fields.may("residual")
    written = read_quantity_and_unit(node, *around.dimensions, Dimension.FRACTION)
    if written is None or written[1].dimension is not Dimension.FRACTION:
        return None if written is None else written[0]
    if not capacity.is_given:
        node.refuse_value("write a quantity, or the capacity of which this is a share")
    return None if capacity.value_si is None else written[0] * capacity.value_si


def _gas_node(fields: Fields, key: str) -> Node:
    """A property without which a pressure says nothing about an amount."""
    by_pressure = fields.may("pressure").is_given or fields.may("residual_pressure").is_given
    return fields.need(key) if by_pressure else fields.may(key)
