"""The ``loads`` of craft.yaml: each piece of equipment with its draw by state, in its supply's own rate."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from console.craft.model import Load
from console.scenario.cabin_services import read_needs
from console.scenario.craft_supplies import SupplyReading, names_of
from console.scenario.faults import one_of, shown
from console.scenario.fields import Fields, Node
from console.scenario.quantities import read_fraction, read_quantity_and_unit
from console.units import Dimension

_KEYS = ("on", "standby", "duty", "heat", "priority", "supply", "title", "stays", "needs")
_DEFAULT_PRIORITY = 5
LEVEL_KEY = "like"
"""The one key of a level that is not a load's name."""


def read_loads(node: Node, supplies: Mapping[str, SupplyReading] | None) -> dict[str, Load | None] | None:
    """Every load; None where even their names could not be read."""
    if not node.is_given:
        return {}
    nodes = node.named("write loads, each as NAME: {on: 2.4 A}")
    if nodes is None:
        return None
    loads = {name: _read_load(name, each, supplies, nodes) for name, each in nodes.items()}
    for supply in {load.supply: None for load in loads.values() if load is not None}:
        if supplies is not None:
            _need_bus_voltage(supply, supplies[supply])
    return loads


def _need_bus_voltage(name: str, reading: SupplyReading) -> None:
    if reading.bus_voltage is not None and not reading.bus_voltage.is_given:
        found = f"no bus_voltage, though loads draw from {shown(name)}"
        reading.node.refuse(found, "write bus_voltage, such as 28 V")


def _read_load(
    name: str, node: Node, supplies: Mapping[str, SupplyReading] | None, loads: Collection[str]
) -> Load | None:
    if name == LEVEL_KEY:
        node.refuse(f"a load of the name {shown(name)}", "write another name: levels use this word")
    fields = node.fields(_KEYS, "write what it draws, as {on: 2.4 A, standby: 0.3 A}")
    if fields is None:
        return None
    supply = _read_supply(fields, supplies)
    reading = None if supply is None or supplies is None else supplies[supply]
    on = _read_draw(fields.need("on"), reading)
    standby = _read_draw(fields.may("standby"), reading)
    duty = read_fraction(fields.may("duty"), is_positive=True)
    heat = _read_heat(fields.may("heat"))
    priority = fields.may("priority").whole("write a whole number from 1 (last to go) to 9", least=1, most=9)
    title = fields.may("title").text()
    stays = fields.may("stays").boolean()
    needs = read_needs(fields.may("needs"), loads)
    if name in needs:
        fields.may("needs").refuse(
            f"{shown(name)}, the load itself", "name other loads, without which it is of no use"
        )
    if supply is None:
        return None
    return Load(
        name=name,
        supply=supply,
        on_si_per_s=on or 0.0,
        standby_si_per_s=standby or 0.0,
        duty_fraction=1.0 if duty is None else duty,
        heat_fraction=1.0 if heat is None else heat,
        priority=_DEFAULT_PRIORITY if priority is None else priority,
        title=title or "",
        stays=stays or False,
        needs=needs,
    )


def _read_supply(fields: Fields, supplies: Mapping[str, SupplyReading] | None) -> str | None:
    """The supply it draws from: the one it names, or the only electrical one."""
    node = fields.may("supply")
    if node.is_given:
        return _read_named_supply(node, supplies)
    if supplies is None:
        return None
    electrical = [name for name, reading in supplies.items() if reading.may_be_electrical]
    if len(electrical) == 1:
        return electrical[0]
    if all(reading.unit is not None for reading in supplies.values()):
        found = (
            f"{len(electrical)} electrical supplies and none named" if electrical else "no electrical supply"
        )
        expected = (
            f"write supply: {one_of(electrical)}" if electrical else "declare one whose unit is such as A*h"
        )
        fields.node.refuse(found, expected)
    return None


def _read_named_supply(node: Node, supplies: Mapping[str, SupplyReading] | None) -> str | None:
    name = node.reference(names_of(supplies), "a supply")
    if name is None or supplies is None:
        return None
    unit = supplies[name].unit
    if supplies[name].may_be_electrical or unit is None:
        return name
    node.refuse(
        f"{shown(name)}, a supply that measures {unit.dimension.word}", "name a supply of charge or energy"
    )
    return None


def _read_draw(node: Node, reading: SupplyReading | None) -> float | None:
    """A draw in amps or watts, as the rate of its supply."""
    written = read_quantity_and_unit(node, Dimension.CURRENT, Dimension.POWER)
    if written is None or reading is None or reading.unit is None:
        return None
    value_si, unit = written
    if unit.dimension is reading.unit.dimension.per_time:
        return value_si
    if reading.bus_voltage_v is None:
        return None  # told once at the supply, not at each of its loads
    is_power = unit.dimension is Dimension.POWER
    return value_si / reading.bus_voltage_v if is_power else value_si * reading.bus_voltage_v


def _read_heat(node: Node) -> float | None:
    """The share of its power that ends as heat inside."""
    return 0.0 if node.value == "none" else read_fraction(node)
