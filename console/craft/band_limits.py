"""Where the bands of a margin begin and how they are left again. Frozen, in SI."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class BandLimits:
    """Margins below which each band begins, and how a band is left again. All in seconds."""

    advisory_s: float
    caution_s: float
    warning_s: float
    deadband_s: float = 0.0
    """How far above its limit a margin must climb before a band is left."""
    on_delay_s: float = 0.0
    """How long a margin must stay below a limit before the worse band is shown."""
    off_delay_s: float = 0.0
    """How long a margin must stay above limit and deadband before the better band is shown."""
