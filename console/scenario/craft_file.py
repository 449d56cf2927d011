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

from console.craft.model import Craft
from console.scenario.craft_bands import CABIN, read_bands
from console.scenario.craft_cabin import CabinReading, read_cabin
from console.scenario.craft_channels import read_channels
from console.scenario.craft_crew import read_crew
from console.scenario.craft_levels import read_levels
from console.scenario.craft_lines import read_lines
from console.scenario.craft_loads import read_loads
from console.scenario.craft_propulsion import read_propulsion
from console.scenario.craft_supplies import SupplyReading, read_supplies
from console.scenario.craft_uses import read_uses
from console.scenario.fields import Fields, Node
from console.scenario.outline import CraftOutline, StoreOutline
from console.scenario.quantities import read_epoch, read_fraction
from console.units import UnitSystem

_KEYS = (
    *(
        "format",
        "units",
        "craft",
        "crew",
        "cabin",
        "propulsion",
        "supplies",
        "loads",
        "load_spread",
        "levels",
    ),
    *("uses", "bands", "channels", "lines"),
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
    shown_in = fields.may("units").choice(UnitSystem)
    bands = read_bands(fields.need("bands"), _peek_names(fields.may("supplies")))
    supplies = read_supplies(fields.need("supplies"), channels, bands)
    loads = read_loads(fields.may("loads"), supplies)
    levels, level_names = read_levels(fields.may("levels"), loads)
    cabin = read_cabin(
        fields.may("cabin"), channels, supplies, loads, None if bands is None else bands.limits_of(CABIN)
    )
    _check_limits_are_there(fields, supplies, cabin)
    uses = read_uses(fields.may("uses"), supplies, cabin.gauged)
    load_spread = read_fraction(fields.may("load_spread"))
    propulsion = read_propulsion(fields.may("propulsion"), supplies, _stores_of(supplies), loads)
    lines = read_lines(fields.may("lines"), _stores_of(supplies))
    outline = CraftOutline(
        epoch=epoch,
        crew_count=crew_count,
        supplies=None if supplies is None else {key: each.dimension for key, each in supplies.items()},
        stores=_stores_of(supplies),
        loads=loads,
        levels=level_names,
        gases=None if supplies is None else {key: each.gas for key, each in supplies.items()},
        cabin=cabin.outline,
        has_propulsion=propulsion.is_there,
        modules=propulsion.modules,
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
        cabin=cabin.cabin,
        propulsion=propulsion.propulsion,
        lines=lines,
        shown_in=shown_in or UnitSystem.AS_WRITTEN,
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


def _check_limits_are_there(
    fields: Fields, supplies: Mapping[str, SupplyReading] | None, cabin: CabinReading
) -> None:
    """Without limits of the cabin there must be a supply, and bands of the cabin would be of nothing."""
    if cabin.has_limits is not False:
        return
    if supplies is not None and not supplies:
        expected = "write at least one, or cabin.limits for a sealed space without stores"
        fields.need("supplies").refuse("no supply", expected)
    bands = fields.need("bands")
    if isinstance(bands.value, dict) and CABIN in bands.value:
        bands.below(CABIN).refuse("bands of a cabin without limits", "write cabin.limits as well")


def _stores_of(supplies: Mapping[str, SupplyReading] | None) -> Mapping[str, StoreOutline] | None:
    """All stores; None where those of even one supply could not be read."""
    if supplies is None or any(each.stores is None for each in supplies.values()):
        return None
    return {name: store for each in supplies.values() for name, store in (each.stores or {}).items()}
