"""What one instrument last said, when, and how far it can be trusted.

Feeds make these, the engine reads them; they stand below both. A reading's value is the newest that passed
every check, with its own time, and is kept however old it grows; its quality is that of the newest word.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum
from typing import TYPE_CHECKING

from console.units import Unit

if TYPE_CHECKING:
    from console.engine.series import Arrived


class Quality(Enum):
    """How far a reading or a feed can be trusted."""

    GOOD = "good"
    SUSPECT = "suspect"
    STALE = "stale"
    MISSING = "missing"


@dataclass(frozen=True, kw_only=True, slots=True)
class Reading:
    """One channel at one moment."""

    channel: str
    quality: Quality
    why: str = ""
    """Why it is not good: what was found and what was due. Empty when it is good."""
    value_si: float | None = None
    """The last good value; None where there never was one."""
    at_s: float | None = None
    """When that value was measured, seconds since the epoch; None with ``value_si``."""

    def age_s(self, now_s: float) -> float | None:
        """Age of the last good value."""
        return None if self.at_s is None else now_s - self.at_s


@dataclass(frozen=True, kw_only=True, slots=True)
class FeedState:
    """All that a source knows at one moment."""

    source: str
    """What it is, as a person would call it: ``state file tern.json``, ``simulated craft``."""
    at_s: float | None
    """The newest time the source itself gave for its readings; None before the first."""
    quality: Quality
    """Of the source as a whole: good, suspect (its last word could not be used), stale, missing."""
    faults: tuple[str, ...]
    """What is wrong with the source or in its last word, one sentence each, in a fixed order."""
    readings: Mapping[str, Reading]
    """One for every channel of the craft, in the craft's order."""
    is_simulated: bool = False
    """Whether the craft it reads exists only here: a board must never be taken for the real one."""
    arrived: Mapping[str, Arrived] = field(default_factory=dict)
    """By channel, every good reading since the last poll, where the source can tell more than the newest."""

    def age_s(self, now_s: float) -> float | None:
        """Age of the newest readings."""
        return None if self.at_s is None else now_s - self.at_s


@dataclass(frozen=True, kw_only=True, slots=True)
class CabinReading:
    """One measured property of the cabin, for showing."""

    name: str
    """A value of CabinProperty: pressure, oxygen, carbon_dioxide, humidity or temperature."""
    value_si: float | None
    """Pa, K, or a fraction: of saturation for humidity, of the whole pressure where ``is_share`` is set."""
    quality: Quality
    age_s: float | None
    """None for a constant of the config."""
    why: str = ""
    """Why it is not good."""
    is_share: bool = False
    """Whether a gas is read as its share of the whole pressure instead of by its own."""
    unit: Unit | None = None
    """Its channel's, for showing it so; None for a constant of the config."""


def cabin_keys(readings: Sequence[CabinReading]) -> tuple[str, ...]:
    """The key of each reading of the cabin: its name; of a gas in two forms, the second by its form.

    So ``oxygen`` is what the instrument says, ``oxygen_share`` or ``oxygen_partial`` what follows from it.
    """
    keys: list[str] = []
    for reading in readings:
        form = "share" if reading.is_share else "partial"
        keys.append(f"{reading.name}_{form}" if reading.name in keys else reading.name)
    return tuple(keys)
