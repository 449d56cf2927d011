"""The two instruments of a battery that is counted and gauged: what they say and how far off they may be."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from console.craft.channels import Channel
from console.craft.model import Store, StoreKind, Supply
from console.engine.reading import Reading
from console.engine.value import Value, gauge_value, read_value
from console.units import Dimension

UNSTATED_BIAS_FRACTION = 0.05
"""Of the rated current: one standard deviation of the bias of a meter of unstated accuracy (our own)."""

UNSTATED_GAUGE_FRACTION = 0.005
"""Of the capacity: one standard deviation of a gauge whose accuracy nobody states (our own)."""


@dataclass(frozen=True, kw_only=True, slots=True)
class ChargeSensors:
    """What a battery's two instruments say now, charge in A·s."""

    gauge: Value
    gauge_accuracy_sd: float
    """The part of the gauge's error that may be the same for ever."""
    counter: Value
    """A, or A·s taken so far."""
    counter_step: float
    full_a_s: float
    """About what it holds when full: its capacity, else what the gauge says."""
    counts_current: bool
    """Whether it is a meter of the current; else a counter of what was taken."""


def charge_sensors(
    store: Store, readings: Mapping[str, Reading], channels: Mapping[str, Channel], volts: float
) -> ChargeSensors | None:
    """The two instruments of a battery; None for a store that has not both."""
    meter = store.current if store.current is not None else store.used
    if store.kind is not StoreKind.BATTERY or meter is None or meter.channel is None:
        return None
    if store.quantity is None or store.quantity.channel is None:
        return None
    if store.quantity_is_share and store.capacity_si is None:
        return None
    scale = (store.capacity_si or 0.0) if store.quantity_is_share else 1.0
    counts_current = store.current is not None
    per_count = 1.0 if counts_current else volts
    gauge = _scaled(gauge_value(store, readings, channels), volts)
    full_a_s = store.capacity_si / volts if store.capacity_si else gauge.value_si or 0.0
    return ChargeSensors(
        gauge=gauge,
        gauge_accuracy_sd=scale * channels[store.quantity.channel].accuracy_si / 2.0 / volts,
        counter=_scaled(read_value(meter, readings, channels), per_count),
        full_a_s=max(full_a_s, 1.0),
        counter_step=channels[meter.channel].resolution_si / per_count,
        counts_current=counts_current,
    )


def _scaled(value: Value, divisor: float) -> Value:
    said = value.value_si
    return replace(value, value_si=None if said is None else said / divisor, sd_si=value.sd_si / divisor)


def volts_of(supply: Supply) -> float:
    """What turns the amounts of an electrical supply into charge: its bus voltage, or 1 for one of charge."""
    return supply.bus_voltage_v or 1.0 if supply.dimension is Dimension.ENERGY else 1.0


def rated_a(store: Store, sensors: ChargeSensors) -> float:
    """About the current at which the battery is meant to be emptied: its rated one, else in 20 h."""
    return store.rated_current_a or sensors.full_a_s / (20.0 * 3600.0)


def bias_sd_a(store: Store, sensors: ChargeSensors) -> float:
    """How large the meter's bias may be: its accuracy over two, or our own guess where none is stated."""
    stated = sensors.counter.sd_si if sensors.counts_current else 0.0
    return stated or UNSTATED_BIAS_FRACTION * rated_a(store, sensors)


def gauge_sd(sensors: ChargeSensors) -> float:
    """The gauge's error, with what the step of a counter adds to a comparison with it."""
    own = sensors.gauge.sd_si or UNSTATED_GAUGE_FRACTION * sensors.full_a_s
    return own if sensors.counts_current else math.hypot(own, sensors.counter_step / math.sqrt(6.0))
