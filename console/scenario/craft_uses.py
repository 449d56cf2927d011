"""The ``uses`` of craft.yaml: everything that takes from a supply and is neither a load nor an event."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from console.craft.model import Fluid, HeatSource, Metabolic, Use
from console.scenario.craft_supplies import SupplyReading, names_of
from console.scenario.fields import Fields, Node
from console.scenario.quantities import STORED, read_fraction, read_quantity
from console.scenario.temperatures import OF_FEED_WATER, read_temperature_k
from console.scenario.use_leaks import LEAK_KEYS, read_leak
from console.units import Dimension

_WAYS = ("rate", "per_person", "metabolic", "leak", "hole", "evaporates_heat_of")
_KEYS = ("supply", *_WAYS, *LEAK_KEYS, "feed_temperature", "spread")
_FEED_TEMPERATURE_K = 293.15


def read_uses(
    node: Node, supplies: Mapping[str, SupplyReading] | None, gauged: Collection[str] | None
) -> tuple[Use, ...]:
    """Every use that could be read.

    Args:
        node: the uses.
        supplies: what could be read of the supplies; None where not even their names could.
        gauged: the properties that the cabin reads or states; None where that is not known.
    """
    nodes = node.named("write uses, each as NAME: {supply: water, per_person: 2.5 kg/day}") or {}
    uses = [_read_use(name, each, supplies, gauged) for name, each in nodes.items()]
    return tuple(use for use in uses if use is not None)


def _read_use(
    name: str, node: Node, supplies: Mapping[str, SupplyReading] | None, gauged: Collection[str] | None
) -> Use | None:
    fields = node.fields(_KEYS, "write the use, as {supply: water, per_person: 2.5 kg/day}")
    if fields is None:
        return None
    supply = fields.need("supply").reference(names_of(supplies), "a supply")
    reading = None if supply is None or supplies is None else supplies[supply]
    dimension = None if reading is None else reading.dimension
    rates = tuple(each.per_time for each in (STORED if dimension is None else (dimension,)))
    _check_ways(fields)
    rate = read_quantity(fields.may("rate"), *rates)
    per_person = read_quantity(fields.may("per_person"), *rates)
    metabolic = fields.may("metabolic").choice(Metabolic)
    _check_masses(fields, metabolic, reading)
    leak_rate = read_quantity(fields.may("leak"), *rates)
    leak = read_leak(fields, supply, supplies, gauged)
    sources = _read_heat_sources(fields.may("evaporates_heat_of"))
    feed_temperature_k = read_temperature_k(fields.may("feed_temperature"), OF_FEED_WATER)
    spread = read_fraction(fields.may("spread"))
    if supply is None:
        return None
    return Use(
        name=name,
        supply=supply,
        rate_si_per_s=rate,
        per_person_si_per_s=per_person,
        metabolic=metabolic,
        leak_si_per_s=leak_rate,
        at_pressure_pa=leak.at_pressure_pa,
        evaporates_heat_of=sources,
        hole_m2=leak.hole_m2,
        discharge_coefficient=leak.discharge_coefficient,
        outside_pa=leak.outside_pa,
        of_store=leak.of_store,
        feed_temperature_k=_FEED_TEMPERATURE_K if feed_temperature_k is None else feed_temperature_k,
        spread_fraction=spread or 0.0,
    )


def _check_ways(fields: Fields) -> None:
    """Exactly one way of reckoning, with nothing beside it that belongs to another."""
    given = [key for key in _WAYS if fields.may(key).is_given]
    if not given:
        fields.node.refuse("a use that says no amount", f"write one of {', '.join(_WAYS)}")
    elif len(given) > 1:
        fields.node.refuse(
            " and ".join(given) + " together", "write one of them, and another use for the other"
        )
    if fields.may("feed_temperature").is_given and "evaporates_heat_of" not in given:
        found = "feed_temperature without evaporates_heat_of"
        fields.may("feed_temperature").refuse(found, "write it beside evaporates_heat_of alone")


def _check_masses(fields: Fields, metabolic: Metabolic | None, reading: SupplyReading | None) -> None:
    """People and evaporators take masses; people may also breathe oxygen that is counted by its volume."""
    if reading is None or reading.unit is None or reading.unit.dimension is Dimension.MASS:
        return
    found = f"from a supply that measures {reading.unit.dimension.word}"
    if fields.may("evaporates_heat_of").is_given:
        fields.may("evaporates_heat_of").refuse(f"evaporates_heat_of {found}", "name a supply of mass")
    if not fields.may("metabolic").is_given:
        return
    if reading.by_volume is None:
        expected = "name a supply of mass, or of volume with volume_at"
        fields.may("metabolic").refuse(f"metabolic {found}", expected)
    elif metabolic is not None and not (
        metabolic is Metabolic.OXYGEN and reading.by_volume.fluid in (Fluid.OXYGEN, None)
    ):
        fluid = "gas" if reading.by_volume.fluid is None else reading.by_volume.fluid.value
        expected = "name a supply of mass, or draw oxygen from oxygen"
        fields.may("metabolic").refuse(f"{metabolic.value} from volumes of {fluid}", expected)


def _read_heat_sources(node: Node) -> tuple[HeatSource, ...]:
    expected = "write what gives the heat, as [loads, crew]"
    items = node.listed(expected)
    if items is None:
        return ()
    if not items:
        node.refuse("an empty list", expected)
    read = [(item, item.choice(HeatSource)) for item in items]
    sources: list[HeatSource] = []
    for item, source in read:
        if source in sources:
            item.refuse(f"{source.value!r} twice", "write it once")
        elif source is not None:
            sources.append(source)
    return tuple(sources)
