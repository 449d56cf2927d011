"""The cabin's readings with their errors, in each sample: where a course starts."""

from __future__ import annotations

from typing import Final

import numpy as np

from console.engine.cabin.course import Readings
from console.engine.cabin.gauges import CabinGauges, Gauge
from console.engine.draws import Floats
from console.engine.forecast import Draws
from console.physics.constants import STANDARD_ATMOSPHERE_PA

ASSUMED_TEMPERATURE_K: Final = 293.15
"""Where the cabin's is not read; 10 K of error move a gas's clock by 3.4 %."""
ASSUMED_OXYGEN_FRACTION: Final = 0.21
"""Where oxygen is not read and only counts as a part of the whole."""

# Errors of readings are cut to what can be: no sample may have a negative pressure or freeze a thermometer.
_LEAST_TEMPERATURE_K: Final = 200.0


def sampled(gauge: Gauge | None, assumed: float, draws: Draws, rows: int) -> Floats:
    """A reading with its error in each sample, shape (rows,); what is assumed where it is not read."""
    if gauge is None or gauge.value_si is None:
        return np.full(rows, assumed)
    return gauge.value_si + draws.error(f"cabin {gauge.name}", gauge.sd_si)[:rows]


def readings_of(gauges: CabinGauges, draws: Draws, rows: int) -> Readings:
    """The readings with their errors, in each sample; what is not read is assumed and only counts beside."""
    temperature = np.maximum(
        sampled(gauges.temperature, ASSUMED_TEMPERATURE_K, draws, rows), _LEAST_TEMPERATURE_K
    )
    pressure = np.maximum(sampled(gauges.pressure, STANDARD_ATMOSPHERE_PA, draws, rows), 0.0)
    oxygen_assumed = ASSUMED_OXYGEN_FRACTION * float(pressure[0])
    named = {
        "oxygen_pa": gauges.oxygen,
        "carbon_dioxide_pa": gauges.carbon_dioxide,
        "pressure_pa": gauges.pressure,
        "humidity": gauges.humidity,
        "temperature_k": gauges.temperature,
    }
    return Readings(
        oxygen_pa=np.maximum(sampled(gauges.oxygen, oxygen_assumed, draws, rows), 0.0),
        carbon_dioxide_pa=np.maximum(sampled(gauges.carbon_dioxide, 0.0, draws, rows), 0.0),
        pressure_pa=pressure,
        humidity=np.clip(sampled(gauges.humidity, 0.0, draws, rows), 0.0, 1.0),
        temperature_k=temperature,
        since_s={
            name: gauges.at_s if gauge is None or gauge.value_si is None else gauge.since_s
            for name, gauge in named.items()
        },
    )
