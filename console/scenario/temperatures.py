"""Temperatures out of a file, within what is sensible where they stand.

A number of degrees Celsius written as kelvin is a temperature that exists, so no unit gives it away: only
that nothing aboard is so cold. Which is why every constant temperature is read here and nowhere else.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from console.craft.channels import Measured
from console.errors import UnitsError
from console.physics.constants import ZERO_CELSIUS_K
from console.physics.cooling import HIGHEST_FEED_TEMPERATURE_K, LOWEST_FEED_TEMPERATURE_K
from console.physics.gas import HIGHEST_TEMPERATURE_K, LOWEST_TEMPERATURE_K
from console.scenario.faults import shown
from console.scenario.fields import Node
from console.scenario.quantities import (
    MOST_QUANTITY_LENGTH,
    ChannelUnits,
    read_measured,
    read_quantity,
)
from console.scenario.yaml_text import YamlMapping
from console.units import Dimension, Unit, quantity_to_si


@dataclass(frozen=True, kw_only=True, slots=True)
class Sensible:
    """Between which temperatures something can be."""

    low_k: float
    high_k: float
    what: str
    """What is that warm, with its article."""

    def holds(self, value_k: float) -> bool:
        """Whether a temperature lies between them, the ends too."""
        return self.low_k <= value_k <= self.high_k


OF_GAS = Sensible(
    low_k=LOWEST_TEMPERATURE_K, high_k=HIGHEST_TEMPERATURE_K, what="a gas, whose equation holds"
)
OF_BATTERY = Sensible(low_k=220.0, high_k=370.0, what="a battery")
OF_CABIN = Sensible(low_k=230.0, high_k=350.0, what="a cabin")
OF_OUTSIDE = Sensible(low_k=100.0, high_k=400.0, what="what lies outside")
OF_FEED_WATER = Sensible(
    low_k=LOWEST_FEED_TEMPERATURE_K, high_k=HIGHEST_FEED_TEMPERATURE_K, what="liquid water"
)
"""Those of batteries, cabins and what lies outside are common practice, no source: wider than any that can be
lived with, and yet above every Celsius figure that could have been meant."""


def read_temperature_k(node: Node, sensible: Sensible) -> float | None:
    """A constant temperature."""
    # Celsius written as kelvin can be below zero, which no kelvin is: that is looked at before the sign.
    if _refuse_senseless(node, sensible):
        return None
    return read_quantity(node, Dimension.TEMPERATURE)


def read_measured_temperature(
    node: Node, channels: ChannelUnits | None, sensible: Sensible
) -> Measured | None:
    """A temperature that a channel reads, or a constant one."""
    if not isinstance(node.value, YamlMapping) and _refuse_senseless(node, sensible):
        return None
    return read_measured(node, channels, Dimension.TEMPERATURE)


def _refuse_senseless(node: Node, sensible: Sensible) -> bool:
    """Tell a fault where there is a temperature and nothing there can be so cold or so hot."""
    if not isinstance(node.value, str) or len(node.value) > MOST_QUANTITY_LENGTH:
        return False
    try:
        value_k, unit = quantity_to_si(node.value, Dimension.TEMPERATURE)
    except UnitsError:
        return False  # told by who reads it
    if sensible.holds(value_k):
        return False
    low, high = (f"{unit.from_si(end_k):.5g}" for end_k in (sensible.low_k, sensible.high_k))
    expected = f"write the temperature of {sensible.what}, from {low} to {high} {unit.text}"
    node.refuse(shown(node.value), _meant(unit.from_si(value_k), unit, sensible) or expected)
    return True


def _meant(number: float, unit: Unit, sensible: Sensible) -> str:
    """The temperature that was meant where the number is one on the other scale; empty where it is not."""
    of_celsius_k = number + ZERO_CELSIUS_K
    if unit.offset == 0.0 and sensible.holds(of_celsius_k):
        return f"did you mean {number:g} degC ({of_celsius_k:.2f} K)?"
    if math.isclose(unit.offset, ZERO_CELSIUS_K) and sensible.holds(number):
        return f"did you mean {number:g} K ({number - ZERO_CELSIUS_K:.2f} degC)?"
    return ""
