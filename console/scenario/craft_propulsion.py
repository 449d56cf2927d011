"""The ``propulsion`` of craft.yaml: what burns, what the craft weighs, which parts of it can be dropped."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from console.craft.model import Module, Propulsion
from console.scenario.craft_supplies import SupplyReading, names_of
from console.scenario.faults import shown
from console.scenario.fields import Node
from console.scenario.quantities import read_quantity
from console.units import Dimension

_KEYS = ("supply", "dry_mass", "exhaust_velocity", "modules")
_EXPECTED = "write {supply: propellant, dry_mass: 4000 kg, exhaust_velocity: 3000 m/s}"
_MODULE = "write the part, as {mass: 2100 kg, stores: [o2-walk], loads: [s-radio]}"
_LISTS = {"stores": "a store", "loads": "a load"}


@dataclass(frozen=True, kw_only=True, slots=True)
class PropulsionReading:
    """As much of the propulsion as could be read."""

    propulsion: Propulsion | None = None
    is_there: bool = False
    modules: Collection[str] | None = None
    """The names of the parts that can be dropped; None where they are not known."""


def read_propulsion(
    node: Node,
    supplies: Mapping[str, SupplyReading] | None,
    stores: Collection[str] | None,
    loads: Collection[str] | None,
) -> PropulsionReading:
    """What turns propellant into a change of velocity."""
    fields = node.fields(_KEYS, _EXPECTED)
    if fields is None:
        return PropulsionReading(is_there=node.is_given, modules=None if node.is_given else ())
    supply_node = fields.need("supply")
    supply = supply_node.reference(names_of(supplies), "a supply")
    dimension = None if supply is None or supplies is None else supplies[supply].dimension
    if dimension not in (Dimension.MASS, None):
        supply_node.refuse_value("name a supply of mass")
    dry_mass_kg = read_quantity(fields.need("dry_mass"), Dimension.MASS, is_positive=True)
    velocity = read_quantity(fields.need("exhaust_velocity"), Dimension.VELOCITY, is_positive=True)
    names, modules = _read_modules(fields.may("modules"), dry_mass_kg, {"stores": stores, "loads": loads})
    if supply is None or dry_mass_kg is None or velocity is None:
        return PropulsionReading(is_there=True, modules=names)
    propulsion = Propulsion(
        supply=supply, dry_mass_kg=dry_mass_kg, exhaust_velocity_m_per_s=velocity, modules=modules
    )
    return PropulsionReading(propulsion=propulsion, is_there=True, modules=names)


def _read_modules(
    node: Node, dry_mass_kg: float | None, known: Mapping[str, Collection[str] | None]
) -> tuple[Collection[str] | None, tuple[Module, ...]]:
    """The names of all parts, None where not known, and those parts that could be read."""
    if not node.is_given:
        return (), ()
    nodes = node.named("write the parts that can be dropped, each as NAME: {mass: 2100 kg}")
    if nodes is None:
        return None, ()
    owners: dict[tuple[str, str], str] = {}
    read = [_read_module(name, each, known, owners) for name, each in nodes.items()]
    modules = tuple(module for module in read if module is not None)
    whole_kg = sum(module.mass_kg for module in modules)
    if dry_mass_kg is not None and whole_kg >= dry_mass_kg:
        found = f"parts of {whole_kg:g} kg together in a craft of {dry_mass_kg:g} kg"
        node.refuse(found, "write masses that sum to less than dry_mass, which is of the whole craft")
    return tuple(nodes), modules


def _read_module(
    name: str,
    node: Node,
    known: Mapping[str, Collection[str] | None],
    owners: dict[tuple[str, str], str],
) -> Module | None:
    """One part; ``owners`` holds whose each store and load is so far, and is given this one's."""
    fields = node.fields(("mass", *_LISTS), _MODULE)
    if fields is None:
        return None
    mass_kg = read_quantity(fields.need("mass"), Dimension.MASS, is_positive=True)
    held = {key: _read_held(fields.may(key), key, name, known[key], owners) for key in _LISTS}
    if mass_kg is None:
        return None
    return Module(name=name, mass_kg=mass_kg, stores=held["stores"], loads=held["loads"])


def _read_held(
    node: Node, key: str, module: str, known: Collection[str] | None, owners: dict[tuple[str, str], str]
) -> tuple[str, ...]:
    """What is in a part and in no other."""
    held = []
    for item in node.listed(f"write names, as in {_MODULE.removeprefix('write the part, as ')}") or ():
        name = item.reference(known, _LISTS[key])
        if name is None:
            continue
        owner = owners.setdefault((key, name), module)
        if name in held:
            item.refuse(f"{shown(name)} twice", "write it once")
        elif owner != module:
            item.refuse(f"{shown(name)}, which {shown(owner)} has already", "write it in one part alone")
        else:
            held.append(name)
    return tuple(held)
