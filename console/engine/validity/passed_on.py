"""What the feed has already found about a channel's newest word, as verdicts: one list tells everything."""

from __future__ import annotations

from console.engine.reading import Quality, Reading
from console.engine.validity.verdict import Doubt, Use, Verdict

_KINDS = {
    Quality.STALE: Doubt.STALE,
    Quality.SUSPECT: Doubt.REFUSED,
    Quality.MISSING: Doubt.MISSING,
}


def passed_on(channel: str, reading: Reading | None) -> list[Verdict]:
    """The feed's own finding, or none for a good reading."""
    if reading is None:
        reading = Reading(channel=channel, quality=Quality.MISSING, why="no such channel in the feed")
    kind = _KINDS.get(reading.quality)
    if kind is None:
        return []
    return [
        Verdict(
            channel=channel,
            kind=kind,
            since_s=reading.at_s,
            why=reading.why or reading.quality.value,
            use=Use.LEFT_OUT,
            value_si=reading.value_si,
            value_at_s=reading.at_s,
        )
    ]
