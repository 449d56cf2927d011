"""The cabin's properties at this moment, as its readings say: for clocks and for showing."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from console.craft.cabin import CabinLimit, CabinProperty, LimitSide
from console.craft.channels import Measured
from console.craft.model import Craft
from console.engine.cabin.gauges import CabinGauges, Gauge, cabin_gauges
from console.engine.quantity import worst
from console.engine.reading import CabinReading, FeedState
from console.physics.cabin_air import inspired_oxygen_pa
from console.physics.humidity import apparent_temperature_k
from console.units import Unit


def property_now(limit: CabinLimit, gauges: CabinGauges) -> float | None:
    """The limited property by the last readings, in the limit's own kind; None where one is missing."""
    gauge = property_gauge(limit.of, limit.is_share, gauges)
    return None if gauge is None else gauge.value_si


def property_gauge(of: CabinProperty, is_share: bool, gauges: CabinGauges) -> Gauge | None:
    """A property as if an instrument read it; None where the config does not name what it rests on.

    Its error is that of small changes of what it rests on, taken as independent.
    """
    direct = {
        CabinProperty.PRESSURE: gauges.pressure,
        CabinProperty.OXYGEN: gauges.oxygen,
        CabinProperty.CARBON_DIOXIDE: gauges.carbon_dioxide,
        CabinProperty.HUMIDITY: gauges.humidity,
        CabinProperty.TEMPERATURE: gauges.temperature,
    }
    if of in direct and not is_share:
        return direct[of]
    if of is CabinProperty.APPARENT_TEMPERATURE:
        return _combined("apparent temperature", gauges.temperature, gauges.humidity, apparent_temperature_k)
    read = gauges.carbon_dioxide_share if of is CabinProperty.CARBON_DIOXIDE else gauges.oxygen_share
    if is_share and read is not None:
        return read
    gas = gauges.carbon_dioxide if of is CabinProperty.CARBON_DIOXIDE else gauges.oxygen
    if is_share:
        return _combined(
            f"share of {of.value}", gas, gauges.pressure, lambda one, whole: one / max(whole, 1.0)
        )
    return _combined(
        "inspired oxygen", gas, gauges.pressure, lambda one, whole: float(inspired_oxygen_pa(one, whole))
    )


def derived_readings(craft: Craft, feed: FeedState, at_s: float) -> tuple[CabinReading, ...]:
    """What follows from the cabin's readings, for showing beside them; nothing that cannot be reckoned.

    Oxygen and CO2 in the form in which they are not read (as a share where a pressure is read, and the other
    way round), inspired oxygen, apparent temperature.
    """
    cabin = craft.cabin
    if cabin is None:
        return ()
    gauges = cabin_gauges(craft, cabin, feed, at_s)
    gas = cabin.pressure if cabin.oxygen_is_share else cabin.oxygen
    asked = (
        (CabinProperty.OXYGEN, not cabin.oxygen_is_share, cabin.pressure),
        (CabinProperty.CARBON_DIOXIDE, not cabin.carbon_dioxide_is_share, cabin.pressure),
        (CabinProperty.INSPIRED_OXYGEN, False, gas),
        (CabinProperty.APPARENT_TEMPERATURE, False, cabin.temperature),
    )
    readings = []
    for of, is_share, shown_as in asked:
        gauge = property_gauge(of, is_share, gauges)
        if gauge is not None:
            readings.append(
                CabinReading(
                    name=of.value,
                    value_si=gauge.value_si,
                    quality=gauge.quality,
                    age_s=None if gauge.read_at_s is None else at_s - gauge.read_at_s,
                    why=gauge.why,
                    is_share=is_share,
                    unit=None if is_share else _unit(craft, shown_as),
                )
            )
    return tuple(readings)


def _unit(craft: Craft, measured: Measured | None) -> Unit | None:
    if measured is None or measured.channel is None:
        return None
    return craft.channels[measured.channel].unit


def is_beyond(limit: CabinLimit, value_si: float) -> bool:
    """Whether a value breaks a limit; one that is at it does not."""
    return value_si > limit.at_si if limit.side is LimitSide.ABOVE else value_si < limit.at_si


def _combined(
    name: str, one: Gauge | None, other: Gauge | None, of: Callable[[float, float], float]
) -> Gauge | None:
    """A property that rests on two readings."""
    if one is None or other is None:
        return None
    joined = replace(
        one,
        name=name,
        value_si=None,
        read_at_s=min(
            (moment for moment in (one.read_at_s, other.read_at_s) if moment is not None), default=None
        ),
        since_s=min(one.since_s, other.since_s),
        quality=worst(one.quality, other.quality),
        why="; ".join(dict.fromkeys(filter(None, (one.why, other.why)))),
    )
    if one.value_si is None or other.value_si is None:
        return joined
    value = of(one.value_si, other.value_si)

    def moved(by_one: float, by_other: float) -> float:
        first, second = one.value_si or 0.0, other.value_si or 0.0
        return math.hypot(of(first + by_one, second) - value, of(first, second + by_other) - value)

    return replace(
        joined,
        value_si=value,
        sd_si=moved(one.sd_si, other.sd_si),
        resolution_si=moved(one.resolution_si, other.resolution_si),
    )
