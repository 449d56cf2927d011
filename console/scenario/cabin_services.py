"""What holds the ``cabin``'s air and warmth: CO2 removal, oxygen feed, drying, hull and cooling."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from console.craft.cabin import Drying, OxygenFeed, Regulated, Removal, Thermal
from console.scenario.craft_supplies import SupplyReading, names_of
from console.scenario.faults import shown
from console.scenario.fields import Fields, Node
from console.scenario.quantities import ChannelUnits, read_fraction, read_quantity
from console.scenario.temperatures import OF_CABIN, OF_OUTSIDE, read_measured_temperature, read_temperature_k
from console.units import Dimension

_NEEDS = "write the loads without which it does not work, as [air-blower]"
_THERMAL_KEYS = (
    *("heat_capacity", "conductance", "outside"),
    *("cooled_to", "cooling_needs", "cooling_supply"),
)


def read_removal(node: Node, loads: Collection[str] | None) -> Removal | None:
    """The stream of air through the absorbent."""
    fields = node.fields(("flow", "efficiency", "needs"), "write {flow: 0.5 m^3/min, efficiency: 90 %}")
    if fields is None:
        return None
    flow = read_quantity(fields.need("flow"), Dimension.VOLUME_RATE, is_positive=True)
    efficiency = read_fraction(fields.need("efficiency"), is_positive=True)
    needs = read_needs(fields.may("needs"), loads)
    if flow is None or efficiency is None:
        return None
    return Removal(flow_m3_per_s=flow, efficiency_fraction=efficiency, needs=needs)


def read_oxygen_feed(node: Node, loads: Collection[str] | None, cabin: Fields) -> OxygenFeed | None:
    """What makes up the cabin's oxygen; an empty mapping holds the pressure and needs no load."""
    fields = node.fields(("holds", "needs"), "write {holds: pressure, needs: [air-valves]}, or {}")
    if fields is None:
        return None
    holds = fields.may("holds").choice(Regulated)
    if holds is not None and not cabin.may(holds.value).is_given:
        found = f"{holds.value} in a cabin that says nothing of cabin.{holds.value}"
        fields.may("holds").refuse(found, f"write cabin.{holds.value} as well")
    return OxygenFeed(holds=holds or Regulated.PRESSURE, needs=read_needs(fields.may("needs"), loads))


def read_drying(node: Node, loads: Collection[str] | None) -> Drying | None:
    """What takes vapour out of the air."""
    fields = node.fields(("humidity", "needs"), "write {humidity: 55 %}")
    if fields is None:
        return None
    humidity = read_fraction(fields.need("humidity"), is_positive=True)
    needs = read_needs(fields.may("needs"), loads)
    return None if humidity is None else Drying(humidity_fraction=humidity, needs=needs)


def read_thermal(
    node: Node,
    channels: ChannelUnits | None,
    supplies: Mapping[str, SupplyReading] | None,
    loads: Collection[str] | None,
) -> Thermal | None:
    """The cabin as one lumped node."""
    expected = "write {heat_capacity: 900 kJ/K, conductance: 40 W/K, outside: 250 K}"
    fields = node.fields(_THERMAL_KEYS, expected)
    if fields is None:
        return None
    capacity = read_quantity(fields.need("heat_capacity"), Dimension.HEAT_CAPACITY, is_positive=True)
    conductance = read_quantity(fields.need("conductance"), Dimension.CONDUCTANCE)
    outside = read_measured_temperature(fields.need("outside"), channels, OF_OUTSIDE)
    cooled_to_k = read_temperature_k(fields.may("cooled_to"), OF_CABIN)
    needs = read_needs(fields.may("cooling_needs"), loads)
    supply = _read_cooling_supply(fields.may("cooling_supply"), supplies)
    _refuse_without_cooling(fields)
    if capacity is None or conductance is None or outside is None:
        return None
    return Thermal(
        heat_capacity_j_per_k=capacity,
        conductance_w_per_k=conductance,
        outside=outside,
        cooled_to_k=cooled_to_k,
        cooling_needs=needs,
        cooling_supply=supply,
    )


def _read_cooling_supply(node: Node, supplies: Mapping[str, SupplyReading] | None) -> str | None:
    """The supply that cooling evaporates."""
    name = node.reference(names_of(supplies), "a supply")
    dimension = None if name is None or supplies is None else supplies[name].dimension
    if dimension in (Dimension.MASS, Dimension.VOLUME, None):
        return name
    node.refuse(
        f"{shown(name or '')}, a supply that measures {dimension.word}", "name the supply it evaporates"
    )
    return None


def _refuse_without_cooling(fields: Fields) -> None:
    for key in ("cooling_needs", "cooling_supply"):
        if fields.may(key).is_given and not fields.may("cooled_to").is_given:
            fields.may(key).refuse(
                f"{key} without cooled_to", "write the temperature that cooling holds as well"
            )


def read_needs(node: Node, loads: Collection[str] | None) -> tuple[str, ...]:
    """The loads without which something does not work."""
    items = node.listed(_NEEDS)
    if items is None:
        return ()
    if not items:
        node.refuse("an empty list", f"{_NEEDS}, or leave the key out")
    needs: list[str] = []
    for item in items:
        load = item.reference(loads, "a load")
        if load in needs:
            item.refuse(f"{shown(load or '')} twice", "write it once")
        elif load is not None:
            needs.append(load)
    return tuple(needs)
