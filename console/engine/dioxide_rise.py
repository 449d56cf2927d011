"""How fast CO2 rises in the cabin when nothing removes it, for a sum by hand. Central case, people as now.

The cabin's leak takes a little of it and is left out. The clocks of the cabin reckon with that, and with who
sleeps and who works later, so they can be earlier or later than this sum; who uses both goes by the earlier.
"""

from __future__ import annotations

from dataclasses import dataclass

from console.craft.cabin import CabinProperty
from console.craft.plan import phase_at
from console.engine.ahead import Ahead
from console.engine.cabin.gauges import cabin_gauges
from console.engine.known import Known
from console.engine.snapshot import CabinClock, Snapshot, Supposition
from console.physics.cabin_air import pressure_per_kg_pa
from console.physics.constants import CARBON_DIOXIDE_KG_PER_MOL
from console.physics.metabolism import crew_rates

ASSUMED_TEMPERATURE_K = 293.15
"""Of a cabin whose temperature is not read, as for its clocks."""


@dataclass(frozen=True, kw_only=True, slots=True)
class DioxideRise:
    """What people breathe out now, and what that does to a cabin without removal."""

    exhaled_kg_per_s: float
    rise_pa_per_s: float
    now_pa: float
    limits: tuple[DioxideLimit, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class DioxideLimit:
    """One limit on CO2 and the engine's clock to it without removal."""

    clock: CabinClock
    at_pa: float
    """As a partial pressure at the cabin's pressure of now."""
    in_s: float
    """By the rise alone, at most zero where it is passed."""


def dioxide_rise(known: Known, ahead: Ahead, snapshot: Snapshot) -> DioxideRise | None:
    """The rise and every limit ahead; None where the cabin's CO2 is not known."""
    cabin = known.craft.cabin
    if cabin is None:
        return None
    gauges = cabin_gauges(known.craft, cabin, known.feed, known.at_s)
    now = gauges.carbon_dioxide
    if now is None or now.value_si is None:
        return None
    roster = phase_at(ahead.phases, known.at_s).crew
    exhaled = crew_rates(roster, known.craft.person_rates).carbon_dioxide_kg_per_s
    warmth = gauges.temperature
    kelvin = ASSUMED_TEMPERATURE_K if warmth is None or warmth.value_si is None else warmth.value_si
    rise = exhaled * float(pressure_per_kg_pa(CARBON_DIOXIDE_KG_PER_MOL, kelvin, cabin.volume_m3))
    whole = None if gauges.pressure is None else gauges.pressure.value_si
    limits = []
    for clock in snapshot.clocks:
        limit = clock.limit
        is_meant = limit.of is CabinProperty.CARBON_DIOXIDE and clock.supposition is Supposition.NO_REMOVAL
        at_pa = limit.at_si if not limit.is_share else None if whole is None else limit.at_si * whole
        if is_meant and at_pa is not None and rise > 0.0:
            limits.append(DioxideLimit(clock=clock, at_pa=at_pa, in_s=(at_pa - now.value_si) / rise))
    return DioxideRise(
        exhaled_kg_per_s=exhaled, rise_pa_per_s=rise, now_pa=now.value_si, limits=tuple(limits)
    )
