"""Whether there is anything to print: a source that has not one state to read has no figures either."""

from __future__ import annotations

from console.engine.snapshot import Snapshot
from console.errors import FeedError


def need_readings(snapshot: Snapshot) -> None:
    """Refuse a Snapshot of nothing.

    Raises:
        FeedError: the source has not one state to read.
    """
    if snapshot.feed.at_s is None:
        raise FeedError("; ".join(snapshot.feed.faults) or f"{snapshot.feed.source} has no readings")
