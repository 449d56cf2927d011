"""The rate at which a supply is being used now: by its meters, else by its gauges, else by the model."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from console.craft.channels import Channel, Measured
from console.craft.model import Store, Supply
from console.engine.bus import shares_of
from console.engine.planned_rate import draw_of_cost_si_per_s, effective_draw_si_per_s
from console.engine.quantity import read_value
from console.engine.reading import Quality, Reading
from console.engine.snapshot import RateSource
from console.units import Dimension

if TYPE_CHECKING:
    from console.engine.gauge_rate import GaugeRate


@dataclass(frozen=True, kw_only=True, slots=True)
class RateNow:
    """A supply's present rate."""

    rate_si_per_s: float
    """What is taken."""
    effective_si_per_s: float
    """What that costs the stores, rate effect included."""
    sd_si_per_s: float
    source: RateSource
    why: str = ""
    """Why it is not measured, where a meter is fitted and cannot be used; or how gauges told it."""
    by_gauge: bool = False
    """Whether gauges told it, and no meter."""


def rate_now(
    supply: Supply,
    feeding: tuple[Store, ...],
    readings: Mapping[str, Reading],
    channels: Mapping[str, Channel],
    model_si_per_s: float,
    model_effective_si_per_s: float,
    biases_a: Mapping[str, float],
    gauged: GaugeRate | None = None,
) -> RateNow:
    """The measured rate if every meter that it needs is fitted and good, else the gauges', else the model's.

    ``biases_a`` is, by store, what is known to be wrong of its current meter; ``gauged`` what the gauges of a
    supply without meters say.
    """
    meters, scale = _meters(supply, feeding)
    refused = ""
    if meters:
        values = [read_value(meter, readings, channels) for meter in meters]
        refused = "; ".join(value.why for value in values if value.quality is not Quality.GOOD)
        amounts = [value.value_si for value in values if value.value_si is not None]
        if not refused and len(amounts) == len(values):
            biases = [biases_a.get(each.name, 0.0) for each in feeding]
            wrong_a = 0.0 if supply.rate is not None else sum(biases)
            rate = scale * (sum(amounts) - wrong_a)
            shares = shares_of(supply, feeding, readings, channels).measured
            return RateNow(
                rate_si_per_s=rate,
                effective_si_per_s=effective_draw_si_per_s(supply, feeding, rate, shares),
                sd_si_per_s=scale * math.hypot(*(value.sd_si for value in values)),
                source=RateSource.MEASURED,
            )
    if not meters and gauged is not None and gauged.cost_si_per_s is not None:
        return RateNow(
            rate_si_per_s=draw_of_cost_si_per_s(supply, feeding, gauged.cost_si_per_s),
            effective_si_per_s=gauged.cost_si_per_s,
            sd_si_per_s=gauged.sd_si_per_s,
            source=RateSource.MEASURED,
            why=gauged.why,
            by_gauge=True,
        )
    why = "" if gauged is None else gauged.why
    return RateNow(
        rate_si_per_s=model_si_per_s,
        effective_si_per_s=model_effective_si_per_s,
        sd_si_per_s=0.0,
        source=RateSource.MODEL,
        why=f"rate by the model, because {refused}" if refused else why,
    )


def _meters(supply: Supply, feeding: tuple[Store, ...]) -> tuple[list[Measured], float]:
    """The meters whose sum is the rate, and what turns that sum into it; none where one is not fitted."""
    if supply.rate is not None:
        return [supply.rate], 1.0
    currents = [store.current for store in feeding]
    fitted = [current for current in currents if current is not None]
    if not fitted or len(fitted) < len(currents):
        return [], 1.0
    scale = (supply.bus_voltage_v or 0.0) if supply.dimension is Dimension.ENERGY else 1.0
    return fitted, scale
