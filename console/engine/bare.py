"""A Snapshot with the bands that its margins alone give, as at a first look: to compare like with like."""

from __future__ import annotations

import math
from dataclasses import replace

from console.engine.assess import Assessment
from console.engine.bands import next_bands
from console.engine.snapshot import CabinClock, Snapshot, SupplyStatus


def without_band_memory(assessment: Assessment) -> Snapshot:
    """The Snapshot of an assessment as it would be had no band been remembered; every other figure stands."""
    snapshot, craft = assessment.snapshot, assessment.known.craft

    def bare_supply(supply: SupplyStatus) -> SupplyStatus:
        margin_s = assessment.ahead.supplies[supply.name].outlook.band_margin_s
        if margin_s is None:
            return supply
        band = next_bands(craft.supplies[supply.name].bands, None, margin_s, snapshot.at_s).band
        return replace(supply, band=band)

    def bare_clock(clock: CabinClock) -> CabinClock:
        limits = None if craft.cabin is None else craft.cabin.bands
        if limits is None or clock.margin_s is None or clock.band is None:
            return clock
        low_s = math.inf if clock.margin_s.p05 is None else clock.margin_s.p05
        return replace(clock, band=next_bands(limits, None, low_s, snapshot.at_s).band)

    return replace(
        snapshot,
        supplies={name: bare_supply(supply) for name, supply in snapshot.supplies.items()},
        clocks=tuple(bare_clock(clock) for clock in snapshot.clocks),
    )
