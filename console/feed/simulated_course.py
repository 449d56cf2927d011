"""Where in a configuration the simulated craft stands: what lasts now as it truly is, and until when.

Found once for each stretch, because finding it costs more than living through a step of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from console.craft.model import StoreState
from console.engine.configuration import Configuration, Segment
from console.feed.simulated_faults_truth import TruthFaults
from console.feed.simulated_stores import Feeding, TrueStore, feeding_of


class TrueCourse:
    """Where in a configuration the craft stands: the stretch in progress as it truly is, and its end.

    Args:
        configuration: how everything is switched.
        from_s: from when on it is followed.
    """

    def __init__(self, configuration: Configuration, from_s: float) -> None:
        self.configuration = configuration
        self._segments = configuration.segments(from_s, math.inf)
        self._place = 0
        self.segment = self._segments[0]
        self.feeding: dict[str, Feeding] = {}
        self.until_s = -math.inf
        """Until when nothing is switched and no fault begins or ends."""
        self._dropped: frozenset[str] = frozenset()
        self._left_behind: frozenset[str] = frozenset()

    def has_passed(self, at_s: float) -> bool:
        """Whether the stretch that was last looked at has ended by a moment."""
        return at_s >= self.until_s

    def go_to(self, at_s: float, faults: TruthFaults, stores: Mapping[str, Mapping[str, TrueStore]]) -> None:
        """Look at the stretch that lasts at a moment."""
        commanded = self._segment_at(at_s)
        self.segment = faults.changed(commanded, at_s)
        self.until_s = min(commanded.end_s, faults.next_s(at_s))
        self.feeding = {name: feeding_of(each, commanded.stores) for name, each in stores.items()}

    def stores_at(self, at_s: float) -> Mapping[str, StoreState]:
        """The state of every store at a moment, no earlier than the last one."""
        return self._segment_at(at_s).stores

    def left_behind(self, at_s: float) -> frozenset[str]:
        """The stores that are gone by a moment."""
        dropped = self.configuration.dropped_at(at_s)
        if dropped != self._dropped:
            names = self._segments[0].stores
            self._dropped = dropped
            self._left_behind = frozenset(name for name in names if self.configuration.is_gone(name, at_s))
        return self._left_behind

    def _segment_at(self, at_s: float) -> Segment:
        while at_s >= self._segments[self._place].end_s:
            self._place += 1
        return self._segments[self._place]
