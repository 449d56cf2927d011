"""The ``supplies`` and ``bands`` of craft.yaml."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from console.craft.channels import Measured
from console.craft.model import BusSharing, Store, Supply
from console.errors import UnitsError
from console.scenario.craft_bands import CABIN, Bands
from console.scenario.craft_stores import StoreSurroundings, read_store
from console.scenario.faults import shown
from console.scenario.fields import Fields, Node
from console.scenario.outline import GasOutline, StoreOutline
from console.scenario.quantities import STORED, ChannelUnits, read_measured, read_quantity, read_unit
from console.scenario.store_gas import GasVolume
from console.scenario.supply_gas import gas_outline, read_volume_at
from console.scenario.yaml_text import YamlMapping
from console.units import Dimension, Unit, rate_unit_of

_FOR_ELECTRICAL_ALONE = ("bus_voltage", "current_limit", "sharing")
_KEYS = ("unit", "stores", "reserve", *_FOR_ELECTRICAL_ALONE, "volume_at", "rate")
_ELECTRICAL = (Dimension.CHARGE, Dimension.ENERGY)
_TAKEN = {"default": "bands use this one", CABIN: "bands use this one for the cabin's clocks"}
"""Names that no supply can have, and why."""


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
    built: Mapping[str, Store | None] = field(default_factory=dict)
    """Its stores; None for one that a fault keeps from being built."""
    gas: GasOutline | None = None
    """What gas it gives; None where that is not known."""
    by_volume: GasVolume | None = None
    """What gas its unit counts the volume of; None where it does not."""
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
    """Every supply; None where even their names could not be read.

    That there is none is no fault here: a sealed space with limits may have no stores.
    """
    nodes = node.named("write the supplies, each as NAME: {unit: kg, stores: {...}}")
    if nodes is None:
        return None
    readings = {name: _read_supply(name, each, channels, bands) for name, each in nodes.items()}
    _refuse_shared_names(readings)
    _refuse_shared_gauges(readings)
    return readings


def _read_supply(name: str, node: Node, channels: ChannelUnits | None, bands: Bands | None) -> SupplyReading:
    if name in _TAKEN:
        node.refuse(f"a supply of the name {name!r}", f"write another name: {_TAKEN[name]}")
    fields = node.fields(_KEYS, "write the supply, as {unit: kg, stores: {...}}")
    if fields is None:
        return SupplyReading(node=node)
    unit = read_unit(fields.need("unit"), *STORED)
    by_volume = read_volume_at(fields.may("volume_at"), unit)
    around = StoreSurroundings(
        dimension=None if unit is None else unit.dimension, channels=channels, by_volume=by_volume
    )
    bus_voltage_v, current_limit_a, sharing = _read_electrical(fields, unit)
    reserve_si, reserve_note = _read_reserve(fields.may("reserve"), around)
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
            reserve_note=reserve_note,
            bus_voltage_v=bus_voltage_v,
            current_limit_a=current_limit_a,
            sharing=sharing,
            gas_density_kg_per_m3=None if by_volume is None else by_volume.density_kg_per_m3,
            rate=rate,
        )
    return SupplyReading(
        node=node,
        unit=unit,
        bus_voltage=fields.may("bus_voltage"),
        bus_voltage_v=bus_voltage_v,
        stores=None if store_nodes is None else _outlines(name, stores),
        store_nodes=store_nodes or {},
        built=stores,
        gas=gas_outline(unit, None if store_nodes is None else stores.values(), by_volume),
        by_volume=by_volume,
        supply=supply,
    )


def _outlines(supply: str, stores: Mapping[str, Store | None]) -> dict[str, StoreOutline]:
    return {
        name: StoreOutline(
            supply=supply,
            capacity_si=None if store is None else store.capacity_si,
            kind=None if store is None else store.kind,
        )
        for name, store in stores.items()
    }


def _store_nodes(node: Node) -> dict[str, Node] | None:
    nodes = node.named("write its stores, each as NAME: {kind: liquid, capacity: 40 kg}")
    if nodes is not None and not nodes:
        node.refuse("no store", "write at least one")
    return nodes


def _read_electrical(fields: Fields, unit: Unit | None) -> tuple[float | None, float | None, BusSharing]:
    """Voltage, current limit and sharing of a bus; a fault for each where nothing electrical is counted."""
    if unit is not None and unit.dimension not in _ELECTRICAL:
        for key in _FOR_ELECTRICAL_ALONE:
            if fields.may(key).is_given:
                found = f"{key} of a supply that measures {unit.dimension.word}"
                fields.may(key).refuse(found, "leave it out")
        return None, None, BusSharing.CAPACITY
    voltage_v = read_quantity(fields.may("bus_voltage"), Dimension.VOLTAGE, is_positive=True)
    limit_a = read_quantity(fields.may("current_limit"), Dimension.CURRENT, is_positive=True)
    return voltage_v, limit_a, fields.may("sharing").choice(BusSharing) or BusSharing.CAPACITY


def _read_reserve(node: Node, around: StoreSurroundings) -> tuple[float | None, str]:
    """What is kept, and what for where that is said."""
    if not isinstance(node.value, YamlMapping):
        return read_quantity(node, *around.dimensions), ""
    fields = node.fields(("amount", "for"), 'write {amount: 6 kg, for: "one day of drinking"}')
    if fields is None:
        return None, ""
    note = fields.may("for").text("write what it is kept for") or ""
    return read_quantity(fields.need("amount"), *around.dimensions), note


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
