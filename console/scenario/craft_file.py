"""craft.yaml to a frozen Craft: the whole of the file, put together from the readers of its parts.

Every fault is collected; what could be read in spite of them stays known, so that plan and procedures can be
checked in the same pass.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType
from typing import TypeVar

from console.craft.model import Craft, Propulsion
from console.scenario.craft_bands import read_bands
from console.scenario.craft_channels import read_channels
from console.scenario.craft_crew import read_cabin, read_crew
from console.scenario.craft_levels import read_levels
from console.scenario.craft_loads import read_loads
from console.scenario.craft_supplies import SupplyReading, names_of, read_supplies
from console.scenario.craft_uses import read_uses
from console.scenario.fields import Node
from console.scenario.outline import CraftOutline, StoreOutline
from console.scenario.quantities import read_epoch, read_fraction, read_quantity
from console.units import Dimension

_KEYS = (
    *("format", "craft", "crew", "cabin", "propulsion", "supplies", "loads", "load_spread", "levels"),
    *("uses", "bands", "channels"),
)

_T = TypeVar("_T")


def read_craft(node: Node) -> tuple[Craft | None, CraftOutline]:
    """The craft as far as it could be read, and what of it is known at all.

    The craft may be used only if no fault was told.
    """
    fields = node.fields(_KEYS, "write the keys of a craft, as format: 1")
    if fields is None:
        return None, CraftOutline()
    fields.check_format()
    name, epoch = _read_identity(fields.need("craft"))
    crew_count, person_rates = read_crew(fields.need("crew"))
    channel_readings = read_channels(fields.may("channels"))
    channels = (
        None if channel_readings is None else {key: unit for key, (unit, _) in channel_readings.items()}
    )
    cabin = read_cabin(fields.may("cabin"), channels)
    bands = read_bands(fields.need("bands"), _peek_names(fields.may("supplies")))
    supplies = read_supplies(fields.need("supplies"), channels, bands)
    loads = read_loads(fields.may("loads"), supplies)
    levels, level_names = read_levels(fields.may("levels"), loads)
    uses = read_uses(
        fields.may("uses"), supplies, has_cabin_pressure=_has_cabin_pressure(fields.may("cabin"))
    )
    load_spread = read_fraction(fields.may("load_spread"))
    propulsion = _read_propulsion(fields.may("propulsion"), supplies)
    outline = CraftOutline(
        epoch=epoch,
        crew_count=crew_count,
        supplies=None if supplies is None else {key: each.dimension for key, each in supplies.items()},
        stores=_stores_of(supplies),
        loads=loads,
        levels=level_names,
    )
    if name is None or epoch is None or crew_count is None or None in (channel_readings, supplies, loads):
        return None, outline
    craft = Craft(
        name=name,
        epoch=epoch,
        crew_count=crew_count,
        person_rates=person_rates,
        supplies=_built({key: each.supply for key, each in (supplies or {}).items()}),
        loads=_built(loads or {}),
        load_spread_fraction=load_spread or 0.0,
        levels=MappingProxyType(levels),
        uses=uses,
        channels=_built({key: channel for key, (_, channel) in (channel_readings or {}).items()}),
        cabin=cabin,
        propulsion=propulsion,
    )
    return craft, outline


def _built(parts: Mapping[str, _T | None]) -> Mapping[str, _T]:
    """Those that could be built, read-only and in the file's order."""
    return MappingProxyType({name: part for name, part in parts.items() if part is not None})


def slug_of(name: str) -> str:
    """A craft's name in lower case with hyphens, of plain letters and digits; empty where it has none.

    >>> slug_of("Tern  Two")
    'tern-two'
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode("ascii")
    return "-".join(re.findall(r"[a-z0-9]+", plain.lower()))


def _read_identity(node: Node) -> tuple[str | None, datetime | None]:
    fields = node.fields(("name", "epoch"), 'write who it is, as {name: Tern, epoch: "2041-06-02T03:10:00Z"}')
    if fields is None:
        return None, None
    name = fields.need("name").name()
    if name is not None and not slug_of(name):
        fields.need("name").refuse_value("write a name with at least one letter from a to z or a digit")
    return name, read_epoch(fields.need("epoch"))


def _peek_names(node: Node) -> tuple[str, ...] | None:
    """The names of the supplies, before the supplies themselves are read."""
    return tuple(node.value) if isinstance(node.value, dict) else None


def _has_cabin_pressure(node: Node) -> bool | None:
    """Whether the cabin's pressure is said; None where the cabin could not be read."""
    if not node.is_given:
        return False
    if not isinstance(node.value, dict):
        return None
    return "pressure" in node.value


def _stores_of(supplies: Mapping[str, SupplyReading] | None) -> Mapping[str, StoreOutline] | None:
    """All stores; None where those of even one supply could not be read."""
    if supplies is None or any(each.stores is None for each in supplies.values()):
        return None
    return {name: store for each in supplies.values() for name, store in (each.stores or {}).items()}


def _read_propulsion(node: Node, supplies: Mapping[str, SupplyReading] | None) -> Propulsion | None:
    keys = ("supply", "dry_mass", "exhaust_velocity")
    expected = "write {supply: propellant, dry_mass: 4000 kg, exhaust_velocity: 3000 m/s}"
    fields = node.fields(keys, expected)
    if fields is None:
        return None
    supply_node = fields.need("supply")
    supply = supply_node.reference(names_of(supplies), "a supply")
    dimension = None if supply is None or supplies is None else supplies[supply].dimension
    if dimension not in (Dimension.MASS, None):
        supply_node.refuse_value("name a supply of mass")
    dry_mass_kg = read_quantity(fields.need("dry_mass"), Dimension.MASS, is_positive=True)
    velocity = read_quantity(fields.need("exhaust_velocity"), Dimension.VELOCITY, is_positive=True)
    if supply is None or dry_mass_kg is None or velocity is None:
        return None
    return Propulsion(supply=supply, dry_mass_kg=dry_mass_kg, exhaust_velocity_m_per_s=velocity)
