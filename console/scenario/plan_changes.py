"""What events and steps can do beside plain uses: fill a space, change cartridges, leave parts behind."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from console.craft.model import StoreKind, StoreState
from console.physics.gas import repressurisation_kg
from console.scenario.faults import shown
from console.scenario.fields import Node
from console.scenario.outline import CraftOutline
from console.scenario.quantities import read_quantity
from console.scenario.supply_gas import read_gas_pressure_pa
from console.scenario.temperatures import OF_GAS, read_temperature_k
from console.scenario.yaml_text import YamlList
from console.units import Dimension

_FILL_KEYS = ("supply", "volume", "from", "to", "temperature")
_FILL = "write {supply: oxygen, volume: 7 m^3, from: 0 kPa, to: 38 kPa}"
_CHANGE = "write {out: cart-2, in: cart-4}, each a name or a list of names"
_FILLED_AT_K = 293.15


def read_repressurisation(node: Node, craft: CraftOutline) -> tuple[str, float] | None:
    """The supply that fills a space, and what that takes of it, in the supply's own unit."""
    fields = node.fields(_FILL_KEYS, _FILL)
    if fields is None:
        return None
    supply = fields.need("supply").reference(craft.supplies, "a supply")
    volume = fields.need("volume") if craft.cabin.is_there is False else fields.may("volume")
    volume_m3 = read_quantity(volume, Dimension.VOLUME, is_positive=True)
    if not volume.is_given:
        volume_m3 = craft.cabin.volume_m3
    from_pa = read_gas_pressure_pa(fields.may("from"))
    to_pa = read_gas_pressure_pa(fields.need("to"), is_positive=True)
    temperature_k = read_temperature_k(fields.may("temperature"), OF_GAS)
    if fields.may("from").is_given and from_pa is None:
        return None
    if to_pa is not None and to_pa <= (from_pa or 0.0):
        fields.need("to").refuse_value("write a pressure above the one from which it is filled")
        return None
    gas = None if supply is None else craft.gas_of_supply(supply)
    if supply is not None and gas is not None and not gas.is_gas:
        found = f"{shown(supply)}, of whose gas no mass is known"
        fields.need("supply").refuse(found, "name a supply of gas by mass, or by volume with volume_at")
        return None
    if supply is None or gas is None or volume_m3 is None or to_pa is None:
        return None
    at_k = _FILLED_AT_K if temperature_k is None else temperature_k
    filled_kg = repressurisation_kg(gas.fluid, volume_m3, from_pa or 0.0, to_pa, at_k)
    return supply, filled_kg / (gas.density_kg_per_m3 or 1.0)


def read_change_out(node: Node, craft: CraftOutline) -> dict[str, StoreState]:
    """The cartridges that are taken out and put in, by their new states."""
    fields = node.fields(("out", "in"), _CHANGE)
    if fields is None:
        return {}
    states: dict[str, StoreState] = {}
    for key, state in (("out", StoreState.ISOLATED), ("in", StoreState.FEEDING)):
        for each, store in read_names(fields.need(key), craft.stores, "a store", _CHANGE):
            if craft.kind_of_store(store) not in (StoreKind.ABSORBENT, None):
                each.refuse(
                    f"{shown(store)}, a store that holds no absorbent", "name a cartridge of absorbent"
                )
            elif store in states:
                each.refuse(f"{shown(store)}, which is taken out already", "name another one")
            else:
                states[store] = state
    return states


def read_drops(node: Node, craft: CraftOutline) -> list[tuple[Node, str]]:
    """The modules that are left behind, each with its place."""
    return read_names(
        node, craft.modules, "a module of propulsion.modules", "write a module's name, or a list of them"
    )


def read_names(node: Node, known: Collection[str] | None, what: str, expected: str) -> list[tuple[Node, str]]:
    """One name or a list of names, each once, with its place."""
    nodes = node.listed(expected) if isinstance(node.value, YamlList) else [node]
    if nodes == []:
        node.refuse("an empty list", expected)
    names: list[tuple[Node, str]] = []
    for each in nodes or ():
        name = each.reference(known, what)
        if name is not None and name in (earlier for _, earlier in names):
            each.refuse(f"{shown(name)} twice", "write it once")
        elif name is not None:
            names.append((each, name))
    return names


def merge_states(
    node: Node, states: Mapping[str, StoreState], changed: Mapping[str, StoreState]
) -> dict[str, StoreState]:
    """The states of stores from both; one store may be moved once at one moment."""
    for store in changed:
        if store in states:
            node.refuse(f"{shown(store)}, which is put into a state beside it", "move each store once")
    return {**states, **changed}


def refuse_spare(node: Node, store: str, state: StoreState | None, craft: CraftOutline) -> None:
    """Tell a fault where a store is to be kept spare that is not a cartridge."""
    if state is StoreState.SPARE and craft.kind_of_store(store) not in (StoreKind.ABSORBENT, None):
        others = ", ".join(each.value for each in StoreState if each is not StoreState.SPARE)
        node.refuse(f"spare, for {shown(store)}", f"write one of {others}: only an absorbent is spare")
