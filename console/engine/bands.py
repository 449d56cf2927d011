"""Which band a margin is in, with deadband and delays, so that a margin on a limit does not chatter.

Each limit is a latch of its own: it sets when the margin has stayed below the limit for the on-delay, and
clears when it has stayed above limit plus deadband for the off-delay. The band is that of the worst latch
that is set. A supply that is short in its central case is shown at once, and a band is never left on bad or
old readings. Time is an argument; what must be remembered between two looks is returned.
"""

from __future__ import annotations

from dataclasses import dataclass

from console.craft.band_limits import BandLimits
from console.engine.snapshot import Band

_WORST_LAST = (Band.ADVISORY, Band.CAUTION, Band.WARNING)


@dataclass(frozen=True, kw_only=True, slots=True)
class Latch:
    """One limit's memory."""

    is_set: bool
    turning_since_s: float | None = None
    """Since when the margin has been on the other side without a break; None while it is not."""


@dataclass(frozen=True, kw_only=True, slots=True)
class BandMemory:
    """What one supply's band must remember: a latch for advisory, caution and warning."""

    latches: tuple[Latch, Latch, Latch]

    @property
    def band(self) -> Band:
        """The band that is shown."""
        band = Band.NOMINAL
        for latch, candidate in zip(self.latches, _WORST_LAST, strict=True):
            if latch.is_set:
                band = candidate
        return band


def next_bands(
    limits: BandLimits,
    memory: BandMemory | None,
    margin_s: float,
    at_s: float,
    *,
    is_short: bool = False,
    may_ease: bool = True,
) -> BandMemory:
    """The memory after one more look.

    Args:
        limits: where the bands begin, and the delays.
        memory: what the last look returned; None at the first look, which sets without delay.
        margin_s: the margin's low end; ``math.inf`` where the supply does not run out.
        at_s: the moment of the look.
        is_short: whether even the central case does not reach: then nothing is waited for.
        may_ease: whether the readings are good enough for a better band to be believed.
    """
    thresholds = (limits.advisory_s, limits.caution_s, limits.warning_s)
    if memory is None:
        advisory, caution, warning = (Latch(is_set=margin_s < threshold) for threshold in thresholds)
        return BandMemory(latches=(advisory, caution, warning))
    on_delay_s = 0.0 if is_short else limits.on_delay_s
    advisory, caution, warning = (
        _turned(latch, margin_s >= threshold + limits.deadband_s and may_ease, at_s, limits.off_delay_s)
        if latch.is_set
        else _turned(latch, margin_s < threshold, at_s, on_delay_s)
        for latch, threshold in zip(memory.latches, thresholds, strict=True)
    )
    return BandMemory(latches=(advisory, caution, warning))


def _turned(latch: Latch, is_turning: bool, at_s: float, delay_s: float) -> Latch:
    """A latch after one more look: turned once it has been turning for as long as its delay."""
    if not is_turning:
        return Latch(is_set=latch.is_set)
    since_s = at_s if latch.turning_since_s is None else latch.turning_since_s
    if at_s - since_s >= delay_s:
        return Latch(is_set=not latch.is_set)
    return Latch(is_set=latch.is_set, turning_since_s=since_s)
