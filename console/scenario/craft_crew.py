"""The ``crew`` of craft.yaml: how many people, and what each takes and gives by activity."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from console.craft.model import Activity, PersonRates
from console.physics.metabolism import DEFAULT_PERSON_RATES, person_rates_for, respiratory_quotient
from console.scenario.fields import Fields, Node, describe
from console.scenario.quantities import read_quantity
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
_LEAST_QUOTIENT, _MOST_QUOTIENT = 0.65, 1.25
"""Moles of carbon dioxide for each of oxygen: 0.7 to 1.0 over hours, above 1 for minutes of hard work (common
practice, no source), and some room for what was measured."""
_SIZES = {"body_mass": (Dimension.MASS, 35.0, 160.0, "kg"), "height": (Dimension.LENGTH, 1.2, 2.2, "m")}
_SECONDS_PER_DAY = 86400.0


def read_crew(node: Node) -> tuple[int | None, Mapping[Activity, PersonRates]]:
    """How many people, and what each takes and gives by activity."""
    fields = node.fields(("count", *_SIZES, "rates"), _EXPECTED)
    if fields is None:
        return None, DEFAULT_PERSON_RATES
    count = fields.need("count").whole("write how many people, a whole number above zero", least=1)
    rates = dict(_read_default_rates(fields))
    activities = [activity.value for activity in Activity]
    expected = "write rates by activity, as {nominal: {oxygen: 0.84 kg/day}}"
    by_activity = fields.may("rates").fields(activities, expected)
    if by_activity is not None:
        for activity in Activity:
            rates[activity] = _read_rates(by_activity.may(activity.value), activity, rates[activity])
    return count, MappingProxyType(rates)


def _read_default_rates(fields: Fields) -> Mapping[Activity, PersonRates]:
    """The rates that hold where none are written: by the size of the people where that is said."""
    sizes = {key: _read_size(fields.may(key), key) for key in _SIZES}
    if fields.may("height").is_given and not fields.may("body_mass").is_given:
        fields.may("height").refuse("height without body_mass", "write body_mass as well")
    if sizes["body_mass"] is None or (sizes["height"] is None and fields.may("height").is_given):
        return DEFAULT_PERSON_RATES
    return person_rates_for(sizes["body_mass"], sizes["height"])


def _read_size(node: Node, key: str) -> float | None:
    dimension, least, most, unit = _SIZES[key]
    value = read_quantity(node, dimension)
    if value is not None and not least <= value <= most:
        node.refuse_value(
            f"write the {key.replace('_', ' ')} of one person, from {least:g} to {most:g} {unit}"
        )
        return None
    return value


def _read_rates(node: Node, activity: Activity, default: PersonRates) -> PersonRates:
    """The rates of one activity; what is not named keeps its published value."""
    fields = node.fields(tuple(_RATES), "write rates of one person, as {oxygen: 0.84 kg/day}")
    if fields is None:
        return default
    own: dict[str, float] = {}
    for key, dimension in _RATES.items():
        rate = read_quantity(fields.may(key), dimension)
        if rate is not None and _is_human(fields.may(key), key, rate, activity):
            own[_FIELD_OF[key]] = rate
    rates = replace(default, **own)
    gases = [fields.may(key) for key in ("oxygen", "carbon_dioxide")]
    if all(_FIELD_OF[key] in own or not fields.may(key).is_given for key in ("oxygen", "carbon_dioxide")):
        _check_quotient(node, gases, rates)
    return rates


def _check_quotient(node: Node, gases: list[Node], rates: PersonRates) -> None:
    """Nobody gives off that little or that much carbon dioxide for the oxygen used."""
    if not any(gas.is_given for gas in gases):
        return
    quotient = respiratory_quotient(rates)
    if _LEAST_QUOTIENT <= quotient <= _MOST_QUOTIENT:
        return
    published = (rates.oxygen_kg_per_s * _SECONDS_PER_DAY, rates.carbon_dioxide_kg_per_s * _SECONDS_PER_DAY)
    oxygen, carbon_dioxide = (
        describe(gas.value) if gas.is_given else f"the default of {default:.3g} kg/day"
        for gas, default in zip(gases, published, strict=True)
    )
    node.refuse(
        f"oxygen {oxygen} beside carbon dioxide {carbon_dioxide}, a respiratory quotient of {quotient:.2f}",
        f"write both so that their moles have a quotient from {_LEAST_QUOTIENT:g} to {_MOST_QUOTIENT:g}",
    )


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
