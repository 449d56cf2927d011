"""What one assessment hands to the next: the engine forgets everything else. Frozen; the session keeps it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from console.engine.bands import BandMemory
from console.engine.charge import ChargeMemory
from console.engine.trend import TrendMemory


@dataclass(frozen=True, kw_only=True, slots=True)
class Memory:
    """The memory of an engine that has looked at least once; a new one remembers nothing."""

    bands: Mapping[str, BandMemory] = field(default_factory=dict)
    """By supply."""
    clocks: Mapping[str, BandMemory] = field(default_factory=dict)
    """The bands of the cabin's clocks, by ``CabinClock.key``."""
    trends: TrendMemory = field(default_factory=TrendMemory)
    """What the cabin's air did lately."""
    charges: Mapping[str, ChargeMemory] = field(default_factory=dict)
    """By battery whose counted charge and gauge are followed together."""
