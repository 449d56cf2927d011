"""The ``uses`` of craft.yaml: everything that takes from a supply and is neither a load nor an event."""

from __future__ import annotations

from collections.abc import Mapping

from console.craft.model import HeatSource, Metabolic, Use
from console.physics.cooling import HIGHEST_FEED_TEMPERATURE_K, LOWEST_FEED_TEMPERATURE_K
from console.scenario.craft_supplies import SupplyReading, names_of
from console.scenario.fields import Fields, Node
from console.scenario.quantities import STORED, read_fraction, read_quantity
from console.units import Dimension

_WAYS = ("rate", "per_person", "metabolic", "leak", "evaporates_heat_of")
_KEYS = ("supply", *_WAYS, "at_pressure", "feed_temperature", "spread")
_FOR_MASS_ALONE = ("metabolic", "evaporates_heat_of")
_ONLY_BESIDE = {"at_pressure": "leak", "feed_temperature": "evaporates_heat_of"}
_FEED_TEMPERATURE_K = 293.15


def read_uses(
    node: Node, supplies: Mapping[str, SupplyReading] | None, *, has_cabin_pressure: bool | None
) -> tuple[Use, ...]:
    """Every use that could be read.

    Args:
        node: the uses.
        supplies: what could be read of the supplies; None where not even their names could.
        has_cabin_pressure: whether the cabin's pressure is measured; None where that is not known.
    """
    nodes = node.named("write uses, each as NAME: {supply: water, per_person: 2.5 kg/day}") or {}
    uses = [_read_use(name, each, supplies, has_cabin_pressure) for name, each in nodes.items()]
    return tuple(use for use in uses if use is not None)


def _read_use(
    name: str, node: Node, supplies: Mapping[str, SupplyReading] | None, has_cabin_pressure: bool | None
) -> Use | None:
    fields = node.fields(_KEYS, "write the use, as {supply: water, per_person: 2.5 kg/day}")
    if fields is None:
        return None
    supply = fields.need("supply").reference(names_of(supplies), "a supply")
    dimension = None if supply is None or supplies is None else supplies[supply].dimension
    rates = tuple(each.per_time for each in (STORED if dimension is None else (dimension,)))
    _check_ways(fields, dimension, has_cabin_pressure)
    rate = read_quantity(fields.may("rate"), *rates)
    per_person = read_quantity(fields.may("per_person"), *rates)
    metabolic = fields.may("metabolic").choice(Metabolic)
    leak = read_quantity(fields.may("leak"), *rates)
    at_pressure_pa = read_quantity(fields.may("at_pressure"), Dimension.PRESSURE, is_positive=True)
    sources = _read_heat_sources(fields.may("evaporates_heat_of"))
    feed_temperature_k = _read_feed_temperature(fields.may("feed_temperature"))
    spread = read_fraction(fields.may("spread"))
    if supply is None:
        return None
    return Use(
        name=name,
        supply=supply,
        rate_si_per_s=rate,
        per_person_si_per_s=per_person,
        metabolic=metabolic,
        leak_si_per_s=leak,
        at_pressure_pa=at_pressure_pa,
        evaporates_heat_of=sources,
        feed_temperature_k=_FEED_TEMPERATURE_K if feed_temperature_k is None else feed_temperature_k,
        spread_fraction=spread or 0.0,
    )


def _check_ways(fields: Fields, dimension: Dimension | None, has_cabin_pressure: bool | None) -> None:
    """Exactly one way of reckoning, with nothing beside it that belongs to another."""
    ways = [fields.may(way) for way in _WAYS]
    given = [key for key, way in zip(_WAYS, ways, strict=True) if way.is_given]
    if not given:
        fields.node.refuse("a use that says no amount", f"write one of {', '.join(_WAYS)}")
    elif len(given) > 1:
        fields.node.refuse(
            " and ".join(given) + " together", "write one of them, and another use for the other"
        )
    for key in _FOR_MASS_ALONE:
        if key in given and dimension not in (Dimension.MASS, None):
            word = dimension.word if dimension is not None else ""
            fields.may(key).refuse(f"{key} from a supply that measures {word}", "name a supply of mass")
    for key, way_key in _ONLY_BESIDE.items():
        if fields.may(key).is_given and way_key not in given:
            fields.may(key).refuse(f"{key} without {way_key}", f"write it beside {way_key} alone")
    if fields.may("at_pressure").is_given and "leak" in given and has_cabin_pressure is False:
        expected = "write cabin.pressure as well, or leave at_pressure out"
        fields.may("at_pressure").refuse(
            "a leak that follows a cabin's pressure which is not given", expected
        )


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


def _read_feed_temperature(node: Node) -> float | None:
    value_k = read_quantity(node, Dimension.TEMPERATURE)
    if value_k is not None and not LOWEST_FEED_TEMPERATURE_K <= value_k <= HIGHEST_FEED_TEMPERATURE_K:
        node.refuse_value("write a temperature of liquid water, such as 20 degC")
        return None
    return value_k
