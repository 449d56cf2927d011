"""The ``supplies`` and ``bands`` of craft.yaml."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from console.craft.channels import Measured
from console.craft.model import Store, Supply
from console.errors import UnitsError
from console.scenario.craft_bands import Bands
from console.scenario.craft_stores import StoreSurroundings, read_store
from console.scenario.faults import shown
from console.scenario.fields import Fields, Node
from console.scenario.outline import StoreOutline
from console.scenario.quantities import STORED, ChannelUnits, read_measured, read_quantity, read_unit
from console.units import Dimension, Unit, rate_unit_of

_KEYS = ("unit", "stores", "reserve", "bus_voltage", "rate")
_ELECTRICAL = (Dimension.CHARGE, Dimension.ENERGY)


@dataclass(frozen=True, kw_only=True, slots=True)
class SupplyReading:
    """As much of a supply as could be read."""

    node: Node
    unit: Unit | None = None
    bus_voltage: Node | None = None
    """Its place in the file, given or not; None where the supply itself could not be read."""
    bus_voltage_v: float | None = None
    stores: Mapping[str, StoreOutline] | None = None
    """None where the names of its stores could not be read."""
    store_nodes: Mapping[str, Node] = field(default_factory=dict)
    supply: Supply | None = None
    """None where a fault keeps it from being built."""

    @property
    def dimension(self) -> Dimension | None:
        """What its amounts measure."""
        return None if self.unit is None else self.unit.dimension

    @property
    def may_be_electrical(self) -> bool:
        """Whether loads can draw from it, as far as is known."""
        return self.unit is None or self.unit.dimension in _ELECTRICAL


def read_supplies(
    node: Node, channels: ChannelUnits | None, bands: Bands | None
) -> dict[str, SupplyReading] | None:
    """Every supply; None where even their names could not be read."""
    nodes = node.named("write the supplies, each as NAME: {unit: kg, stores: {...}}")
    if nodes is None:
        return None
    if not nodes:
        node.refuse("no supply", "write at least one")
    readings = {name: _read_supply(name, each, channels, bands) for name, each in nodes.items()}
    _refuse_shared_names(readings)
    _refuse_shared_gauges(readings)
    return readings


def _read_supply(name: str, node: Node, channels: ChannelUnits | None, bands: Bands | None) -> SupplyReading:
    if name == "default":
        node.refuse("a supply of the name 'default'", "write another name: bands use this one")
    fields = node.fields(_KEYS, "write the supply, as {unit: kg, stores: {...}}")
    if fields is None:
        return SupplyReading(node=node)
    unit = read_unit(fields.need("unit"), *STORED)
    around = StoreSurroundings(dimension=None if unit is None else unit.dimension, channels=channels)
    bus_voltage_v = _read_bus_voltage(fields, unit)
    reserve_si = read_quantity(fields.may("reserve"), *around.dimensions)
    rate = _read_meter(fields.may("rate"), around)
    store_nodes = _store_nodes(fields.need("stores"))
    stores = {store: read_store(store, each, around) for store, each in (store_nodes or {}).items()}
    _refuse_current_without_voltage(fields, unit, stores)
    rate_unit = None if unit is None else _rate_unit(fields.need("unit"), unit)
    limits = None if bands is None else bands.limits_of(name)
    supply = None
    if unit is not None and rate_unit is not None and limits is not None:
        supply = Supply(
            name=name,
            unit=unit,
            rate_unit=rate_unit,
            stores=tuple(store for store in stores.values() if store is not None),
            bands=limits,
            reserve_si=reserve_si or 0.0,
            bus_voltage_v=bus_voltage_v,
            rate=rate,
        )
    return SupplyReading(
        node=node,
        unit=unit,
        bus_voltage=fields.may("bus_voltage"),
        bus_voltage_v=bus_voltage_v,
        stores=None if store_nodes is None else _outlines(name, stores),
        store_nodes=store_nodes or {},
        supply=supply,
    )


def _outlines(supply: str, stores: Mapping[str, Store | None]) -> dict[str, StoreOutline]:
    return {
        name: StoreOutline(supply=supply, capacity_si=None if store is None else store.capacity_si)
        for name, store in stores.items()
    }


def _store_nodes(node: Node) -> dict[str, Node] | None:
    nodes = node.named("write its stores, each as NAME: {kind: liquid, capacity: 40 kg}")
    if nodes is not None and not nodes:
        node.refuse("no store", "write at least one")
    return nodes


def _read_bus_voltage(fields: Fields, unit: Unit | None) -> float | None:
    node = fields.may("bus_voltage")
    if unit is not None and unit.dimension not in _ELECTRICAL and node.is_given:
        node.refuse(f"bus_voltage of a supply that measures {unit.dimension.word}", "leave it out")
        return None
    return read_quantity(node, Dimension.VOLTAGE, is_positive=True)


def _read_meter(node: Node, around: StoreSurroundings) -> Measured | None:
    """A meter of what is taken from the whole supply."""
    rates = [dimension.per_time for dimension in around.dimensions]
    return read_measured(node, around.channels, *rates)


def _rate_unit(node: Node, unit: Unit) -> Unit | None:
    try:
        return rate_unit_of(unit)
    except UnitsError:  # such as one that is too long once '/h' stands behind it
        node.refuse_value("write a simpler unit, such as kg or A*h")
        return None


def _refuse_current_without_voltage(
    fields: Fields, unit: Unit | None, stores: Mapping[str, Store | None]
) -> None:
    """A counted current is charge: where amounts are energy it says nothing without a voltage."""
    if unit is None or unit.dimension is not Dimension.ENERGY or fields.may("bus_voltage").is_given:
        return
    counting = [name for name, store in stores.items() if store is not None and store.current is not None]
    if counting:
        found = f"no bus_voltage, though {shown(counting[0])} is gauged by its current"
        fields.node.refuse(found, "write bus_voltage, such as 28 V")


def _refuse_shared_names(readings: Mapping[str, SupplyReading]) -> None:
    """One store has one name, and what is logged or planned for it is meant for no other."""
    seen: dict[str, str] = {}
    for supply, reading in readings.items():
        for name, node in reading.store_nodes.items():
            if name in seen:
                node.refuse(f"a store {shown(name)}, which {seen[name]} has already", "write another name")
            else:
                seen[name] = supply


def _refuse_shared_gauges(readings: Mapping[str, SupplyReading]) -> None:
    """One gauge of contents is of one store: read for two, what it says would be counted twice.

    A pressure or a temperature may well be shared, by bottles on one manifold or in one bay.
    """
    seen: dict[str, str] = {}
    for reading in readings.values():
        for store in reading.supply.stores if reading.supply is not None else ():
            for key, gauge in (
                ("quantity", store.quantity),
                ("used", store.used),
                ("current", store.current),
            ):
                if gauge is None or gauge.channel is None:
                    continue
                owner = seen.setdefault(gauge.channel, store.name)
                if owner != store.name:
                    found = f"{key} from channel {shown(gauge.channel)}, which gauges {shown(owner)} already"
                    reading.store_nodes[store.name].refuse(found, "name the channel of this store")


def names_of(supplies: Mapping[str, SupplyReading] | None) -> Collection[str] | None:
    """The names of the supplies as far as they are known."""
    return None if supplies is None else supplies.keys()
