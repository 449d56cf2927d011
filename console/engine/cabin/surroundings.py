"""What the cabin's clocks depend on, and what they hand back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from console.craft.model import Craft
from console.craft.plan import Option
from console.engine.bands import BandMemory
from console.engine.cabin.gauges import cabin_gauges
from console.engine.configuration import Segment
from console.engine.draws import Floats
from console.engine.reading import FeedState
from console.engine.snapshot import CabinClock
from console.engine.trend import TrendMemory


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CabinSurroundings:
    """All that the clocks of one moment depend on."""

    craft: Craft
    feed: FeedState
    segments: tuple[Segment, ...]
    """What is switched how and who does what, from ``cabin_from_s`` or earlier on, for ever."""
    option: Option
    """The way home that sets the need."""
    at_s: float
    ends_s: Mapping[str, Floats]
    """By supply, when it runs out under the plan, seconds since the epoch, infinite where it does not: row 0
    the central case, then the samples. A supply whose quantity is not known is not in it."""
    bands: Mapping[str, BandMemory] = field(default_factory=dict)
    """By ``CabinClock.key``."""
    trends: TrendMemory = field(default_factory=TrendMemory)


@dataclass(frozen=True, kw_only=True, slots=True)
class CabinOutlook:
    """The clocks, and what the next look must be given."""

    clocks: tuple[CabinClock, ...]
    """In the order of the craft's limits, and for each in that of ``Supposition``."""
    bands: Mapping[str, BandMemory]
    trends: TrendMemory


def cabin_from_s(craft: Craft, feed: FeedState, at_s: float) -> float:
    """From which moment on the segments must reach, so that old readings of the cabin can be carried."""
    if craft.cabin is None:
        return at_s
    return cabin_gauges(craft, craft.cabin, feed, at_s).from_s
