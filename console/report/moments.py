"""Moments of a Snapshot as people read them: since the epoch, in UTC, and how far off."""

from __future__ import annotations

from console.display import countdown_text, elapsed_text, utc_text
from console.engine.snapshot import Snapshot
from console.instants import at_epoch_plus


def moment_text(snapshot: Snapshot, at_s: float) -> str:
    """A moment since the epoch and in UTC."""
    return f"{elapsed_text(at_s)} ({utc_text(at_epoch_plus(snapshot.epoch, at_s))})"


def when_text(snapshot: Snapshot, at_s: float) -> str:
    """A moment, and how far off it is."""
    return f"{moment_text(snapshot, at_s)}, {countdown_text(at_s - snapshot.at_s)}"
