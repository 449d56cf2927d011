"""What every source of readings can do, so that the session need not know which one it holds."""

from __future__ import annotations

from typing import Protocol

from console.engine.reading import FeedState


class Source(Protocol):
    """Something that says what the instruments read."""

    def poll(self, now_s: float) -> FeedState:
        """All that is known at a moment; what is wrong in the source is told in the answer, never raised."""
        ...
