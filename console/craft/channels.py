"""What an instrument is, and a property that one reads or the config states. Frozen, in SI."""

from __future__ import annotations

from dataclasses import dataclass

from console.units import Unit


@dataclass(frozen=True, kw_only=True, slots=True)
class Channel:
    """One instrument: its unit, the range it can show, and after how long its last word is old."""

    name: str
    unit: Unit
    low_si: float | None = None
    """Lowest value the instrument can truly show; None where the config sets no range."""
    high_si: float | None = None
    accuracy_si: float = 0.0
    """Limit of error, taken as two standard deviations (common practice, no source)."""
    resolution_si: float = 0.0
    """Step of the display; adds step²/12 to the variance."""
    stale_after_s: float = 60.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Measured:
    """A property that a channel reads, or a constant from the config: exactly one of the two is set."""

    channel: str | None = None
    constant_si: float | None = None
