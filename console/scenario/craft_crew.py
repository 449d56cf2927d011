"""The ``crew`` and ``cabin`` of craft.yaml: the people, what each takes and gives, their space."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from console.craft.cabin import Cabin
from console.craft.model import Activity, PersonRates
from console.physics.metabolism import DEFAULT_PERSON_RATES
from console.scenario.fields import Node
from console.scenario.quantities import ChannelUnits, read_measured, read_quantity
from console.units import Dimension

_EXPECTED = "write the people aboard, as {count: 4}"
_RATES = {
    "oxygen": Dimension.MASS_RATE,
    "carbon_dioxide": Dimension.MASS_RATE,
    "water_vapour": Dimension.MASS_RATE,
    "heat": Dimension.POWER,
}
_FIELD_OF = {
    "oxygen": "oxygen_kg_per_s",
    "carbon_dioxide": "carbon_dioxide_kg_per_s",
    "water_vapour": "water_vapour_kg_per_s",
    "heat": "heat_w",
}
_FROM_SLEEP = 1.0 / 3.0
_FROM_DEFAULT = 3.0
"""A rate per person outside a third of the published one asleep and three times the published one for its
activity is a slip: of the whole crew for one person, of an hour for a day (common practice, no source)."""


def read_crew(node: Node) -> tuple[int | None, Mapping[Activity, PersonRates]]:
    """How many people, and what each takes and gives by activity."""
    fields = node.fields(("count", "rates"), _EXPECTED)
    if fields is None:
        return None, DEFAULT_PERSON_RATES
    count = fields.need("count").whole("write how many people, a whole number above zero", least=1)
    rates = dict(DEFAULT_PERSON_RATES)
    activities = [activity.value for activity in Activity]
    expected = "write rates by activity, as {nominal: {oxygen: 0.84 kg/day}}"
    by_activity = fields.may("rates").fields(activities, expected)
    if by_activity is not None:
        for activity in Activity:
            rates[activity] = _read_rates(by_activity.may(activity.value), activity)
    return count, MappingProxyType(rates)


def _read_rates(node: Node, activity: Activity) -> PersonRates:
    """The rates of one activity; what is not named keeps its published value."""
    default = DEFAULT_PERSON_RATES[activity]
    fields = node.fields(tuple(_RATES), "write rates of one person, as {oxygen: 0.84 kg/day}")
    if fields is None:
        return default
    own: dict[str, float] = {}
    for key, dimension in _RATES.items():
        rate = read_quantity(fields.may(key), dimension)
        if rate is not None and _is_human(fields.may(key), key, rate, activity):
            own[_FIELD_OF[key]] = rate
    return replace(default, **own)


def _is_human(node: Node, key: str, rate: float, activity: Activity) -> bool:
    """Whether one person can have this rate; water vapour has no lower bound, as a dry suit may hold it."""
    field = _FIELD_OF[key]
    low = (
        0.0 if key == "water_vapour" else getattr(DEFAULT_PERSON_RATES[Activity.ASLEEP], field) * _FROM_SLEEP
    )
    high = getattr(DEFAULT_PERSON_RATES[activity], field) * _FROM_DEFAULT
    if low <= rate <= high:
        return True
    scale, unit = (1.0, "W") if key == "heat" else (86400.0, "kg/day")
    node.refuse_value(
        f"write the rate of one person, from {low * scale:.2g} to {high * scale:.2g} {unit} when "
        f"{activity.value} (per person, not per crew; per day or per hour as meant)"
    )
    return False


def read_cabin(node: Node, channels: ChannelUnits | None) -> Cabin | None:
    """The space the crew breathes in."""
    keys = ("volume", "pressure", "oxygen", "carbon_dioxide", "temperature")
    fields = node.fields(keys, "write the cabin, as {volume: 16 m^3, pressure: {channel: cabin.pressure}}")
    if fields is None:
        return None
    volume_m3 = read_quantity(fields.need("volume"), Dimension.VOLUME, is_positive=True)
    pressure = read_measured(fields.may("pressure"), channels, Dimension.PRESSURE, is_positive=True)
    oxygen, carbon_dioxide = (
        read_measured(fields.may(gas), channels, Dimension.PRESSURE) for gas in ("oxygen", "carbon_dioxide")
    )
    temperature = read_measured(fields.may("temperature"), channels, Dimension.TEMPERATURE, is_positive=True)
    if volume_m3 is None:
        return None
    return Cabin(
        volume_m3=volume_m3,
        pressure=pressure,
        oxygen=oxygen,
        carbon_dioxide=carbon_dioxide,
        temperature=temperature,
    )
