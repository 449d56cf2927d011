"""The present rate of a supply without meters, by its gauges alone: what the model expects is not asked.

Only what clearly falls is a rate; of anything else bounds are told and the model's rate stands.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from console.craft.model import Craft, Supply
from console.craft.plan import Event
from console.display import rate_text
from console.engine.configuration import Configuration
from console.engine.evidence.evidence import Evidence, steps_s
from console.engine.evidence.observed import LevelRows, fed_since, level_rows
from console.engine.planned_use import PlannedUse, SupplyUse
from console.engine.rates.choice import Rate, rate_of
from console.engine.rates.gauge import Gauge
from console.engine.rates.segments import Jump
from console.engine.rates.student import NORMAL_95
from console.engine.series import Series

KNOT_SHARE = 0.02
"""Where the model's use changes by so much of itself, the line through the readings may bend."""
LONGEST_GAP_S = 1800.0
"""After so long without a row the line says nothing of now."""


@dataclass(frozen=True, kw_only=True, slots=True)
class GaugeRate:
    """What gauges say of a supply's present rate."""

    cost_si_per_s: float | None
    """What leaves the stores; None where the gauges do not clearly fall."""
    sd_si_per_s: float
    why: str
    """How it was told, or why it was not."""


def gauge_rates(
    craft: Craft,
    configuration: Configuration,
    events: tuple[Event, ...],
    past: PlannedUse,
    history: Mapping[str, Series],
    at_s: float,
    believed_until_s: Mapping[str, float],
    evidence: Evidence | None = None,
) -> dict[str, GaugeRate]:
    """By supply with gauges and without meters, what the gauges say of its rate now.

    Args:
        craft: the craft.
        configuration: what was switched how, and when.
        events: those of the plan; what they took is read.
        past: the model's uses up to now: where they change, the line may bend.
        history: by channel, its good readings.
        at_s: the moment.
        believed_until_s: by channel whose newest readings are not to be believed, until when they are.
        evidence: what the same readings say of the model; where it has a change that nobody logged, a line
            would lag behind it and flatter, and the rate is that with the change as it is now.
    """
    begin_s = float(past.starts_s[0])
    found = {}
    for supply in craft.supplies.values():
        stores = fed_since(supply, configuration, begin_s, at_s)
        if supply.rate is not None or any(store.current is not None for store in stores):
            continue
        level = level_rows(supply, stores, craft, history, at_s, believed_until_s)
        if level is None:
            continue
        jumps = steps_s(supply, events, craft, begin_s, at_s)
        between = level.between_events(jumps)
        if between is None or at_s - float(between.times_s[-1]) > LONGEST_GAP_S:
            continue
        if (changed := _with_change(supply, evidence)) is not None:
            found[supply.name] = changed
            continue
        knots = _knots_s(past.supplies[supply.name], past, at_s)
        rate = rate_of(_gauge(between), knots, at_s, tuple(Jump(at_s=moment) for moment in jumps))
        if rate is not None:
            found[supply.name] = _told(rate, supply)
    return found


def _with_change(supply: Supply, evidence: Evidence | None) -> GaugeRate | None:
    """The present rate where something was changed that nobody logged; None where nothing was."""
    one = None if evidence is None else evidence.supplies.get(supply.name)
    if one is None or not one.ways[0].changes or one.rate_si_per_s <= 0.0:
        return None
    return GaugeRate(
        cost_si_per_s=one.rate_si_per_s,
        sd_si_per_s=one.rate_sd_si_per_s,
        why="rate by gauge, with the change that nobody logged as it is now",
    )


def _gauge(level: LevelRows) -> Gauge:
    """The sum of the stores as one gauge."""
    return Gauge(
        times_s=level.times_s,
        values_si=level.amounts_si,
        counts=level.counts,
        step_si=level.step_si,
        noise_sd_si=math.sqrt(float(level.store_noise_var.sum())),
        bias_sd_si=math.sqrt(sum(sd**2 for sd in level.biases_sd.values())),
    )


def _knots_s(use: SupplyUse, past: PlannedUse, at_s: float) -> tuple[float, ...]:
    """When the model's use changed."""
    totals = use.rates_si_per_s.sum(axis=0)
    changed = np.abs(np.diff(totals)) > KNOT_SHARE * np.maximum(np.abs(totals[:-1]), np.abs(totals[1:]))
    return tuple(moment for moment in past.starts_s[1:][changed].tolist() if moment < at_s)


def _told(rate: Rate, supply: Supply) -> GaugeRate:
    low, high = rate.low_si_per_s, rate.high_si_per_s
    over = f"over {rate.window_s / 3600.0:.1f} h"
    if rate.slope_si_per_s is not None and low is not None and high is not None and high < 0.0:
        return GaugeRate(
            cost_si_per_s=-rate.slope_si_per_s,
            # Of few readings Student's interval is wider than its spread tells.
            sd_si_per_s=(high - low) / (2.0 * NORMAL_95),
            why=f"rate by gauge: {rate.method.value}, {over}",
        )
    most = "" if low is None or low >= 0.0 else f", at most {rate_text(-low, supply.rate_unit)}"
    return GaugeRate(
        cost_si_per_s=None,
        sd_si_per_s=0.0,
        why=f"rate by the model: by its gauge it does not clearly fall {over}{most}",
    )
