"""The air that the crew of a simulated craft breathes when the simulation starts, and how it is read."""

from __future__ import annotations

from dataclasses import dataclass

from console.craft.cabin import Cabin
from console.craft.channels import Measured
from console.craft.model import Craft
from console.physics.constants import STANDARD_ATMOSPHERE_PA
from console.scenario.fields import Fields, Node
from console.scenario.quantities import read_fraction, read_quantity
from console.units import Dimension

_CABIN_KEYS = ("pressure", "oxygen", "carbon_dioxide", "temperature", "humidity")

DEFAULT_OXYGEN_PA = 20_000.0
"""150 mmHg, within the target of 145 to 155 mmHg of NASA-STD-3001 vol 2 (read at second hand)."""
DEFAULT_CARBON_DIOXIDE_PA = 400.0
"""3 mmHg, the one-hour limit of NASA-STD-3001 vol 2 [V2 6004] (read at second hand)."""
DEFAULT_HUMIDITY_FRACTION = 0.5
"""Of saturation (invented)."""


@dataclass(frozen=True, kw_only=True, slots=True)
class InitialCabin:
    """The air that the crew breathes when the simulation starts."""

    pressure_pa: float
    oxygen_pa: float
    carbon_dioxide_pa: float
    temperature_k: float
    humidity_fraction: float
    outside_k: float
    """Temperature on the other side of the hull."""


def read_initial_cabin(
    node: Node, craft: Craft, temperature_k: float, outside_k: float | None
) -> InitialCabin | None:
    """The key ``cabin`` of simulation.yaml.

    Args:
        node: its value.
        craft: for what it says of its cabin as constants.
        temperature_k: where neither gives one.
        outside_k: of what lies outside; None for the craft's constant, else that of ``temperature_k``.
    """
    fields = None
    if node.is_given:
        fields = node.fields(_CABIN_KEYS, "write the cabin's air, as {pressure: 70 kPa}")
        if fields is None:
            return None
    pressure_pa = _of_cabin(fields, "pressure", craft, _usual_pressure_pa(craft))
    oxygen_pa = _of_cabin(fields, "oxygen", craft, min(DEFAULT_OXYGEN_PA, 0.9 * pressure_pa))
    carbon_dioxide_pa = _of_cabin(
        fields, "carbon_dioxide", craft, min(DEFAULT_CARBON_DIOXIDE_PA, 0.05 * pressure_pa)
    )
    if oxygen_pa + carbon_dioxide_pa > pressure_pa:
        node.refuse(
            f"oxygen and carbon dioxide of together {oxygen_pa + carbon_dioxide_pa:.0f} Pa",
            f"write partial pressures that are not more than the whole, {pressure_pa:.0f} Pa",
        )
    humidity = None if fields is None else read_fraction(fields.may("humidity"))
    return InitialCabin(
        humidity_fraction=_usual_humidity(craft.cabin) if humidity is None else humidity,
        outside_k=_outside_k(craft.cabin, temperature_k) if outside_k is None else outside_k,
        pressure_pa=pressure_pa,
        oxygen_pa=oxygen_pa,
        carbon_dioxide_pa=carbon_dioxide_pa,
        temperature_k=_of_cabin(fields, "temperature", craft, temperature_k),
    )


def _of_cabin(fields: Fields | None, key: str, craft: Craft, usual_si: float) -> float:
    """One property of the cabin's air: as written, else the craft's constant, else what is usual."""
    dimension = Dimension.TEMPERATURE if key == "temperature" else Dimension.PRESSURE
    written_si = None if fields is None else read_quantity(fields.may(key), dimension, is_positive=True)
    if written_si is not None:
        return written_si
    constant_si = _constant_of(craft.cabin, key)
    return usual_si if constant_si is None else constant_si


def _constant_of(cabin: Cabin | None, key: str) -> float | None:
    if cabin is None:
        return None
    measured: dict[str, Measured | None] = {
        "pressure": cabin.pressure,
        "oxygen": None if cabin.oxygen_is_share else cabin.oxygen,
        "carbon_dioxide": None if cabin.carbon_dioxide_is_share else cabin.carbon_dioxide,
        "temperature": cabin.temperature,
    }
    return _constant_si(measured[key])


def _constant_si(measured: Measured | None) -> float | None:
    return None if measured is None else measured.constant_si


def _usual_humidity(cabin: Cabin | None) -> float:
    constant = None if cabin is None else _constant_si(cabin.humidity)
    return DEFAULT_HUMIDITY_FRACTION if constant is None else constant


def _outside_k(cabin: Cabin | None, usual_k: float) -> float:
    thermal = None if cabin is None else cabin.thermal
    constant_k = None if thermal is None else _constant_si(thermal.outside)
    return usual_k if constant_k is None else constant_k


def _usual_pressure_pa(craft: Craft) -> float:
    """The pressure at which the craft's leak was rated, else that of the sea's surface."""
    rated_pa = (use.at_pressure_pa for use in craft.uses if use.at_pressure_pa is not None)
    return next(rated_pa, STANDARD_ATMOSPHERE_PA)
