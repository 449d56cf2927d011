"""What a battery holds, from its counted charge and its gauge together, remembered from look to look.

For a battery with a gauge and a meter of its current, or a counter of what was taken. A counter alone drifts
and a gauge alone jumps by its steps; ``physics.charge_filter`` weighs them and finds the meter's bias. Where
they disagree for good nothing is averaged: the lower one is used and it is said.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from console.craft.channels import Channel
from console.craft.model import Craft, Store
from console.display import Rounding, age_text, amount_text, rate_text
from console.engine.charge_sensors import (
    ChargeSensors,
    bias_sd_a,
    charge_sensors,
    gauge_sd,
    rated_a,
    volts_of,
)
from console.engine.quantity import AGREE_SD, ChargeEstimate
from console.engine.reading import Quality, Reading
from console.engine.value import worst
from console.physics import charge_filter
from console.physics.battery import effective_draw_a
from console.physics.charge_filter import ChargeState
from console.units import Unit, rate_unit_of

GAUGE_MEMORY_S = 3600.0
"""For so long a gauge's error is taken to be one and the same (our own choice)."""

BIAS_WANDERS_S = 10 * 86400.0
"""In this time a meter's bias may wander by as much as its accuracy says (our own choice)."""

STEPS_FOR_A_RATE = 5
"""A counter of what was taken is used when it has moved by so many of its steps, or after"""

LONGEST_COUNT_S = 600.0
"""so long."""

REPEATED = 3
"""So many gauge readings in a row beyond ``AGREE_SD`` are a disagreement; fewer are taken for spikes."""


@dataclass(frozen=True, kw_only=True, slots=True)
class ChargeMemory:
    """What is remembered of one battery. Charge in A·s, for a supply of energy at its bus voltage."""

    state: ChargeState
    at_s: float
    """The moment for which ``state`` holds: that of the meter's last word that was used, or, where nobody
    counts, of the gauge's."""
    counter: float | None
    """What the meter said then: A, or A·s taken so far; None before its first word."""
    current_a: float
    """The current by the meter, its bias not taken out."""
    gauge_a_s: float
    """What the gauge last said, whether it was let in or not."""
    gauge_at_s: float
    refused: int = 0
    """How many gauge readings in a row were too far from what was expected to be let in."""


def next_charges(
    before: Mapping[str, ChargeMemory], craft: Craft, readings: Mapping[str, Reading], at_s: float
) -> dict[str, ChargeMemory]:
    """The memory of every battery that can be followed so, by store.

    Args:
        before: what the look before this one returned; empty for the first.
        craft: the craft.
        readings: the feed's newest.
        at_s: the moment.
    """
    after = {}
    for supply in craft.supplies.values():
        volts = volts_of(supply)
        for store in supply.stores:
            memory = next_charge(before.get(store.name), store, readings, craft.channels, at_s, volts)
            if memory is not None:
                after[store.name] = memory
    return after


def charge_estimates(
    memories: Mapping[str, ChargeMemory], craft: Craft, readings: Mapping[str, Reading], at_s: float
) -> dict[str, ChargeEstimate]:
    """What the batteries that are followed hold, by store: ``store_quantity`` is given it as ``fused``."""
    return {
        store.name: charge_estimate(
            memories[store.name],
            store,
            supply.unit,
            readings,
            craft.channels,
            at_s,
            volts_of(supply),
        )
        for supply in craft.supplies.values()
        for store in supply.stores
        if store.name in memories
    }


def meter_biases_a(memories: Mapping[str, ChargeMemory], craft: Craft) -> dict[str, float]:
    """What meters of current show above the true current, by store, where that is clearly there.

    To be taken off a measured rate too, or a bias that was found would still stand in the present endurance.
    """
    return {
        store.name: memories[store.name].state.bias_a
        for supply in craft.supplies.values()
        for store in supply.stores
        if store.name in memories and store.current is not None and _is_biased(memories[store.name])
    }


def next_charge(
    memory: ChargeMemory | None,
    store: Store,
    readings: Mapping[str, Reading],
    channels: Mapping[str, Channel],
    at_s: float,
    volts: float = 1.0,
) -> ChargeMemory | None:
    """The memory of one battery after its newest readings; None for a store that is not followed so.

    Each reading moves the filter by its own time; one whose time does not increase is not used again, nor is
    one of the future. Without a memory it begins at the gauge, with a bias of which only the size is known.

    Args:
        memory: before; None at the first look.
        store: the battery.
        readings: the feed's newest.
        channels: the craft's.
        at_s: the moment.
        volts: of the bus for a supply of energy, 1 for one of charge.
    """
    sensors = charge_sensors(store, readings, channels, volts)
    if sensors is None:
        return None
    gauge, counter = sensors.gauge, sensors.counter
    if memory is None:
        if gauge.value_si is None or gauge.at_s is None or gauge.at_s > at_s:
            return None
        memory = _begun(store, sensors, gauge.value_si, gauge.at_s)
    words = [(counter, _counted), (gauge, _gauged)]
    # Stable: of two readings of one moment, what was counted until then comes before the gauge.
    for value, move in sorted(words, key=lambda word: word[0].at_s or 0.0):
        if value.value_si is not None and value.at_s is not None and value.at_s <= at_s:
            memory = move(memory, store, sensors, value.value_si, value.at_s)
    return memory


def charge_estimate(
    memory: ChargeMemory,
    store: Store,
    unit: Unit,
    readings: Mapping[str, Reading],
    channels: Mapping[str, Channel],
    at_s: float,
    volts: float = 1.0,
) -> ChargeEstimate:
    """What a battery holds by its memory, with what a person must be told.

    The standard deviation is never below that of the gauge's accuracy: part of a gauge's error stays the same
    for ever, and no number of readings tells which part.
    """
    sensors = charge_sensors(store, readings, channels, volts)
    if sensors is None:
        raise ValueError(f"store {store.name} has not both a gauge and a meter")
    gauge, counter = sensors.gauge, sensors.counter
    level_a_s, as_of_s = _latest(memory, store, sensors, at_s)
    sd_a_s = max(memory.state.level_sd_a_s, sensors.gauge_accuracy_sd)
    whys = [gauge.why, counter.why]
    quality = worst(gauge.quality, counter.quality)
    if memory.refused >= REPEATED:
        quality = worst(quality, Quality.SUSPECT)
        whys.append(
            f"counted charge says {amount_text(level_a_s * volts, unit)}, quantity says "
            f"{amount_text(memory.gauge_a_s * volts, unit)}, again and again: the lower is used"
        )
        gauged_a_s = memory.gauge_a_s - _draw_a(memory, store) * max(as_of_s - memory.gauge_at_s, 0.0)
        if gauged_a_s < level_a_s:
            level_a_s, sd_a_s = gauged_a_s, gauge.sd_si
    elif gauge.is_old(at_s) and as_of_s > memory.gauge_at_s:
        whys.append(f"counted on since the gauge was read, {age_text(at_s - memory.gauge_at_s)} ago")
    whys.append(_bias_why(memory, unit, store, volts))
    return ChargeEstimate(
        level_si=level_a_s * volts,
        sd_si=sd_a_s * volts,
        at_s=as_of_s,
        is_old=at_s - as_of_s > min(gauge.stale_after_s, counter.stale_after_s),
        quality=quality,
        why="; ".join(filter(None, whys)),
    )


def _begun(store: Store, sensors: ChargeSensors, level_a_s: float, at_s: float) -> ChargeMemory:
    """A memory that begins at the gauge."""
    return ChargeMemory(
        state=charge_filter.started(level_a_s, gauge_sd(sensors), bias_sd_a(store, sensors)),
        at_s=at_s,
        counter=None,
        current_a=0.0,
        gauge_a_s=level_a_s,
        gauge_at_s=at_s,
    )


def _draw_a(memory: ChargeMemory, store: Store) -> float:
    """What the battery loses now, by the meter less its bias."""
    true_a = memory.current_a - memory.state.bias_a
    return effective_draw_a(true_a, store.rated_current_a or math.inf, store.peukert)


def _latest(memory: ChargeMemory, store: Store, sensors: ChargeSensors, at_s: float) -> tuple[float, float]:
    """The level with what a counter has moved since the state's own moment, and for when it holds."""
    said, said_at_s = sensors.counter.value_si, sensors.counter.at_s
    level_a_s = memory.state.level_a_s
    if sensors.counts_current or memory.counter is None or said is None or said_at_s is None:
        return level_a_s, memory.at_s
    if not memory.at_s < said_at_s <= at_s or said < memory.counter:
        return level_a_s, memory.at_s
    taken_a_s = said - memory.counter - memory.state.bias_a * (said_at_s - memory.at_s)
    ratio = _draw_a(memory, store) / (memory.current_a - memory.state.bias_a) if memory.current_a > 0 else 1.0
    return level_a_s - taken_a_s * max(ratio, 1.0), said_at_s


def _counted(
    memory: ChargeMemory, store: Store, sensors: ChargeSensors, said: float, said_at_s: float
) -> ChargeMemory:
    """The memory after a word of the meter."""
    if memory.counter is None or (not sensors.counts_current and said < memory.counter):
        return _first_counted(memory, store, sensors, said, said_at_s)
    span_s = said_at_s - memory.at_s
    if span_s <= 0.0:
        return memory
    if sensors.counts_current:
        mean_a, current_a = 0.5 * (memory.counter + said), said
        # A change at any moment between the two readings is as likely as at any other.
        sd_a = abs(said - memory.counter) / math.sqrt(12.0)
        is_gap = span_s > sensors.counter.stale_after_s
    else:
        taken_a_s = said - memory.counter
        if taken_a_s < STEPS_FOR_A_RATE * sensors.counter_step and span_s < LONGEST_COUNT_S:
            return memory  # a rate from so few steps would be far off, and with it the rate effect
        mean_a = current_a = taken_a_s / span_s
        sd_a, is_gap = 0.0, False
    state = _predicted(memory, store, sensors, mean_a, sd_a, span_s)
    if is_gap:
        state = charge_filter.inflated(state, max(memory.counter, said, 0.0) * span_s)
    return replace(memory, state=state, at_s=said_at_s, counter=said, current_a=current_a)


def _first_counted(
    memory: ChargeMemory, store: Store, sensors: ChargeSensors, said: float, said_at_s: float
) -> ChargeMemory:
    """The memory after a first word of the meter, or the first since it was set back."""
    away_s = said_at_s - memory.at_s
    if away_s < -sensors.counter.stale_after_s:
        return memory  # the last word of a meter that has fallen silent: it tells nothing of now
    current_a = said if sensors.counts_current else memory.current_a
    state = memory.state
    if away_s > 0.0:
        state = _predicted(memory, store, sensors, current_a, 0.0, away_s)
    # Nobody counted between the two; a current as the battery is rated for is about what it may have been.
    unsure_a = max(abs(current_a), rated_a(store, sensors))
    is_known = sensors.counts_current and abs(away_s) <= sensors.counter.stale_after_s
    if not is_known:
        state = charge_filter.inflated(state, unsure_a * abs(away_s))
    return replace(memory, state=state, at_s=max(said_at_s, memory.at_s), counter=said, current_a=current_a)


def _predicted(
    memory: ChargeMemory, store: Store, sensors: ChargeSensors, current_a: float, sd_a: float, dt_s: float
) -> ChargeState:
    prior_a = bias_sd_a(store, sensors)
    return charge_filter.predicted(
        memory.state,
        current_a,
        dt_s,
        sd_a,
        bias_drift_a2_per_s=prior_a**2 / BIAS_WANDERS_S,
        rated_current_a=store.rated_current_a or math.inf,
        peukert=store.peukert,
    )


def _gauged(
    memory: ChargeMemory, store: Store, sensors: ChargeSensors, said_a_s: float, said_at_s: float
) -> ChargeMemory:
    """The memory after a word of the gauge, which is carried to the moment of the state."""
    if said_at_s <= memory.gauge_at_s:
        return memory
    since_s = said_at_s - memory.gauge_at_s
    sd = gauge_sd(sensors)
    seen = replace(memory, gauge_a_s=said_a_s, gauge_at_s=said_at_s)
    counter_at_s = sensors.counter.at_s
    if counter_at_s is None or said_at_s - counter_at_s > sensors.counter.stale_after_s:
        # Nobody has counted: the gauge alone is what is known, and of the bias what was known before.
        state = charge_filter.started(said_a_s, sd, memory.state.bias_sd_a)
        state = replace(state, bias_a=memory.state.bias_a)
        return replace(seen, state=state, at_s=said_at_s, counter=None, refused=0)
    now_a_s = said_a_s + _draw_a(seen, store) * (said_at_s - seen.at_s)
    found = charge_filter.innovation(seen.state, now_a_s, sd)
    if abs(found.in_sd) > AGREE_SD:
        return replace(seen, refused=memory.refused + 1)
    # Readings that share one error are together worth one reading.
    worth_sd = sd * math.sqrt(max(1.0, GAUGE_MEMORY_S / since_s))
    return replace(seen, state=charge_filter.updated(seen.state, now_a_s, worth_sd), refused=0)


def _is_biased(memory: ChargeMemory) -> bool:
    """Whether the meter's bias is clearly different from zero."""
    return abs(memory.state.bias_a) > AGREE_SD * memory.state.bias_sd_a


def _bias_why(memory: ChargeMemory, unit: Unit, store: Store, volts: float) -> str:
    """A sentence on a bias that is clearly there."""
    if not _is_biased(memory):
        return ""
    bias_a = memory.state.bias_a
    word = "too much" if bias_a > 0.0 else "too little"
    rate = rate_text(abs(bias_a) * volts, rate_unit_of(unit), Rounding.NEAREST)
    meter = "current meter" if store.current is not None else "counter of what was used"
    return f"against the gauge the {meter} shows {rate} {word}, which is taken out"
