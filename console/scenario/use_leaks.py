"""The leaks among the ``uses``: at a rate or through a hole, out of the cabin or out of a store."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from console.craft.model import StoreKind
from console.scenario.craft_supplies import SupplyReading
from console.scenario.faults import shown
from console.scenario.fields import Fields, Node
from console.scenario.quantities import read_fraction, read_quantity
from console.units import Dimension

LEAK_KEYS = ("at_pressure", "discharge", "outside", "of_store")
_BESIDE = {
    "at_pressure": ("leak",),
    "discharge": ("hole",),
    "outside": ("hole",),
    "of_store": ("leak", "hole"),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Leak:
    """What could be read of a leak beside its rate; the defaults where nothing is said."""

    at_pressure_pa: float | None = None
    hole_m2: float | None = None
    discharge_coefficient: float = 1.0
    outside_pa: float = 0.0
    of_store: str | None = None


def read_leak(
    fields: Fields,
    supply: str | None,
    supplies: Mapping[str, SupplyReading] | None,
    gauged: Collection[str] | None,
) -> Leak:
    """The keys of a leak, with every fault that lies between them.

    Args:
        fields: those of the use.
        supply: the one it takes from; None where it is not known.
        supplies: what could be read of all.
        gauged: the properties that the cabin reads or states; None where that is not known.
    """
    at_pressure_pa = read_quantity(fields.may("at_pressure"), Dimension.PRESSURE, is_positive=True)
    hole_m2 = read_quantity(fields.may("hole"), Dimension.AREA, is_positive=True)
    discharge = read_fraction(fields.may("discharge"), is_positive=True)
    outside_pa = read_quantity(fields.may("outside"), Dimension.PRESSURE)
    _refuse_alone(fields)
    reading = None if supply is None or supplies is None else supplies[supply]
    if fields.may("hole").is_given and reading is not None:
        _check_is_gas(fields.may("hole"), reading)
    of_store = fields.may("of_store")
    name = None
    if of_store.is_given:
        name = _read_store(of_store, supply, reading)
        if fields.may("leak").is_given and not fields.may("at_pressure").is_given:
            fields.node.refuse(
                "a leak of a store without at_pressure", "write the pressure at which it is rated"
            )
    else:
        _check_cabin(fields, gauged)
    return Leak(
        at_pressure_pa=at_pressure_pa,
        hole_m2=hole_m2,
        discharge_coefficient=1.0 if discharge is None else discharge,
        outside_pa=outside_pa or 0.0,
        of_store=name,
    )


def _refuse_alone(fields: Fields) -> None:
    """Each key stands beside that of which it says something."""
    for key, ways in _BESIDE.items():
        if fields.may(key).is_given and not any(fields.may(way).is_given for way in ways):
            words = " or ".join(ways)
            fields.may(key).refuse(f"{key} without {words}", f"write it beside {words} alone")


def _check_is_gas(node: Node, reading: SupplyReading) -> None:
    """What flows through a hole is a mass of gas."""
    unit = reading.unit
    if unit is None or unit.dimension is Dimension.MASS or reading.by_volume is not None:
        return
    found = f"a hole in a supply that measures {unit.dimension.word}"
    node.refuse(found, "name a supply of mass, or of volume with volume_at")


def _read_store(node: Node, supply: str | None, reading: SupplyReading | None) -> str | None:
    """The store that leaks: one of its own supply, whose pressure and temperature are known."""
    known = None if reading is None or reading.stores is None else reading.stores.keys()
    name = node.reference(known, f"a store of {shown(supply or '')}" if supply else "a store")
    store = None if name is None or reading is None else reading.built.get(name)
    if store is None or reading is None:
        return name
    at = reading.store_nodes[store.name]
    if store.kind is not StoreKind.GAS:
        node.refuse(f"{shown(store.name)}, a store of kind {store.kind.value}", "name a store of gas")
    elif any(isinstance(at.value, dict) and key not in at.value for key in ("pressure", "temperature")):
        found = f"{shown(store.name)}, a store without pressure and temperature"
        node.refuse(found, "write both for that store as well: its leak goes by them")
    return name


def _check_cabin(fields: Fields, gauged: Collection[str] | None) -> None:
    """A leak of the cabin goes by what the cabin says."""
    if gauged is None:
        return
    if fields.may("at_pressure").is_given and fields.may("leak").is_given and "pressure" not in gauged:
        expected = "write cabin.pressure as well, or leave at_pressure out"
        fields.may("at_pressure").refuse(
            "a leak that follows a cabin's pressure which is not given", expected
        )
    missing = [f"cabin.{key}" for key in ("pressure", "temperature") if key not in gauged]
    if fields.may("hole").is_given and missing:
        names = " and ".join(missing)
        fields.may("hole").refuse(
            f"a hole in a cabin that says nothing of {names}", f"write {names} as well, or of_store"
        )
