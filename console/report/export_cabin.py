"""The cabin and the modules of a Snapshot as JSON."""

from __future__ import annotations

from typing import Any

from console.craft.shown import limit_unit
from console.display import mass_unit, velocity_unit
from console.engine.reading import CabinReading
from console.engine.snapshot import CabinClock, Drop, Snapshot
from console.report.cabin import reading_unit
from console.report.json_values import hours, interval, maybe
from console.units import UnitSystem


def reading_document(reading: CabinReading, system: UnitSystem) -> dict[str, Any]:
    """One property of the cabin; in Pa, K and fractions where figures are read as written."""
    value = reading.value_si
    if system is UnitSystem.AS_WRITTEN:
        unit = "1" if reading.is_share or reading.name == "humidity" else "Pa"
        unit = "K" if reading.name.endswith("temperature") else unit
    else:
        shown = reading_unit(reading, system)
        value, unit = maybe(shown.from_si)(value), shown.text
    return {
        "value": value,
        "unit": unit,
        "quality": reading.quality.value,
        "age_s": reading.age_s,
        "why": reading.why,
    }


def clock_document(clock: CabinClock, system: UnitSystem) -> dict[str, Any]:
    """When one limit is reached on one supposition."""
    limit = clock.limit
    unit = limit_unit(limit, system)
    return {
        "limit": limit.name,
        "of": limit.of.value,
        "side": limit.side.value,
        "at": unit.from_si(limit.at_si),
        "unit": unit.text,
        "share": limit.is_share,
        "average": limit.is_average,
        "source": limit.source,
        "supposition": clock.supposition.value,
        "state": clock.state.value,
        "now": maybe(unit.from_si)(clock.now_si),
        "reached_in_h": interval(clock.reached_in_s, hours),
        "margin_h": interval(clock.margin_s, hours),
        "band": None if clock.band is None else clock.band.value,
        "quality": clock.quality.value,
        "why": clock.why,
    }


def module_document(snapshot: Snapshot, drop: Drop) -> dict[str, Any]:
    """What one module weighs, and the delta-v with and without it."""
    mass, velocity = mass_unit(snapshot.shown_in), velocity_unit(snapshot.shown_in)
    with_it = None if drop.is_dropped else snapshot.need.delta_v_left_m_per_s
    return {
        "mass": mass.from_si(drop.mass_kg),
        "mass_unit": mass.text,
        "dropped": drop.is_dropped,
        "delta_v_left_with": maybe(velocity.from_si)(with_it),
        "delta_v_left_without": maybe(velocity.from_si)(drop.delta_v_left_m_per_s),
        "delta_v_unit": velocity.text,
    }
