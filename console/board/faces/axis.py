"""The one axis of time that all gauges share, from now to somewhat past need, so that lengths compare."""

from __future__ import annotations

import math
from dataclasses import dataclass

from console.engine.snapshot import Snapshot

_ENDS_H = (
    1,
    2,
    3,
    4,
    6,
    8,
    10,
    12,
    15,
    18,
    24,
    30,
    36,
    48,
    60,
    72,
    84,
    96,
    108,
    120,
    144,
    168,
    192,
    216,
    240,
)
_PAST_NEED = 1.5
"""So that a supply that lasts to need by a fair margin can be told from one that goes on and on."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Axis:
    """So many cells from now to ``end_h`` hours from now."""

    width: int
    end_h: int
    need_cell: int | None
    """None where need has passed."""

    def cells(self, seconds: float) -> int:
        """How many whole cells a time fills: rounded down, so that no gauge looks longer than it is."""
        return max(0, min(self.width, math.floor(seconds / (self.end_h * 3600.0) * self.width + 1e-9)))

    def cell_of(self, seconds: float) -> int:
        """The cell in which a moment lies."""
        return min(self.width - 1, self.cells(seconds))


def axis_of(snapshot: Snapshot, width: int) -> Axis:
    """The axis of a Snapshot; its end moves in steps, so that it stands still most of the time."""
    need_s = snapshot.need.in_s
    reach_s = need_s * _PAST_NEED if need_s > 0.0 else _longest_s(snapshot)
    reach_h = max(1.0, reach_s / 3600.0)
    end_h = next((end for end in _ENDS_H if end >= reach_h), 120 * math.ceil(reach_h / 120.0))
    bare = Axis(width=width, end_h=end_h, need_cell=None)
    if need_s <= 0.0 or width <= 0:
        return bare
    return Axis(width=width, end_h=end_h, need_cell=bare.cell_of(need_s))


def _longest_s(snapshot: Snapshot) -> float:
    ends = [
        supply.endurance_plan_s.p50
        for supply in snapshot.supplies.values()
        if supply.endurance_plan_s is not None and supply.endurance_plan_s.p50 is not None
    ]
    return max(ends, default=3600.0)
