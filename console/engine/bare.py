"""Two Snapshots of one look, without and with changes that nobody has made: like is compared with like.

Their bands are those that the margins alone give, as at a first look.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from console.engine.assess import Assessment, assess
from console.engine.bands import next_bands
from console.engine.forecast import Draws
from console.engine.known import Situation, judged
from console.engine.memory import Memory
from console.engine.snapshot import CabinClock, Snapshot, SupplyStatus

if TYPE_CHECKING:
    from console.engine.whatif import Change


@dataclass(frozen=True, kw_only=True, slots=True)
class Look:
    """A situation and what the engine made of it."""

    situation: Situation
    memory: Memory
    """What it was given."""
    assessment: Assessment


def look_at(situation: Situation, memory: Memory, draws: Draws) -> Look:
    """Assess a situation, and keep what it was made from."""
    return Look(situation=situation, memory=memory, assessment=assess(situation, memory, draws))


def both_sides(look: Look, changes: Iterable[Change], draws: Draws) -> tuple[Snapshot, Snapshot]:
    """The Snapshots without and with changes; of all that is remembered, neither has the bands."""
    from console.engine.whatif import suppose  # only who asks pays for it

    bare = replace(look.memory, bands={}, clocks={})
    situation = judged(look.situation, look.assessment.known)
    after = assess(suppose(situation, changes), bare, draws).snapshot
    return without_band_memory(look.assessment), after


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
