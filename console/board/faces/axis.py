"""The one axis of time that all gauges share, up to somewhat past need, so that lengths compare.

Need is a boundary between two cells and takes no time itself: a gauge reaches it only if the supply does. An
axis with few cells begins later than now, so that they go to the stretch in which the supplies end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from console.engine.snapshot import Snapshot

# fmt: off
_ENDS_H = (
    1, 2, 3, 4, 6, 8, 10, 12, 15, 18, 24, 30, 36, 48, 60, 72, 84, 96, 108, 120, 144, 168, 192, 216, 240,
)
# fmt: on
_PAST_NEED = 1.5
"""So that a supply that lasts to need by a fair margin can be told from one that goes on and on."""
_FEW_CELLS = 30
_STEP_H = 6
"""A cut axis moves by so much at once, so that it stands still most of the time."""
_BEFORE_FIRST_END_H = 12.0
_PAST_NEED_CUT_H = 36.0
_WORTH_CUTTING = 0.5
"""Of the time to need; below, cutting would win too little to be worth a sign that must be read."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Axis:
    """Cells from ``start_h`` to ``end_h`` hours from now."""

    width: int
    """All cells, with those that take no time: the line of need, and the sign of a cut."""
    start_h: int
    end_h: int
    need_s: float | None
    """From now; None where need has passed or there is no room for its line."""

    @property
    def is_cut(self) -> bool:
        """Whether it begins later than now; its first cell is the sign that says so."""
        return self.start_h > 0

    @property
    def need_cell(self) -> int | None:
        """The cell that the line of need stands in."""
        if self.need_s is None:
            return None
        share = (self.need_s / 3600.0 - self.start_h) / (self.end_h - self.start_h)
        lead = int(self.is_cut)
        return lead + min(self.width - lead - 2, max(1, round(share * (self.width - lead - 1))))

    def cell_of(self, seconds: float) -> int:
        """The first cell from the left that a gauge which ends then does not fill.

        Rounded down on either side of need, so that no gauge looks longer than it is.
        """
        lead, need_cell = int(self.is_cut), self.need_cell
        start_s, end_s = self.start_h * 3600.0, self.end_h * 3600.0
        if self.need_s is None or need_cell is None:
            return lead + _whole(seconds, start_s, end_s, self.width - lead)
        if seconds < self.need_s:
            return lead + _whole(seconds, start_s, self.need_s, need_cell - lead)
        return need_cell + 1 + _whole(seconds, self.need_s, end_s, self.width - need_cell - 1)


def _whole(seconds: float, start_s: float, end_s: float, cells: int) -> int:
    """How many whole cells of a stretch a time fills."""
    return max(0, min(cells, math.floor((seconds - start_s) / (end_s - start_s) * cells + 1e-9)))


def axis_of(snapshot: Snapshot, width: int) -> Axis:
    """The axis of a Snapshot; both ends move in steps."""
    need_s = snapshot.need.in_s
    reach_s = need_s * _PAST_NEED if need_s > 0.0 else _longest_s(snapshot)
    reach_h = max(1.0, reach_s / 3600.0)
    end_h = next((end for end in _ENDS_H if end >= reach_h), 120 * math.ceil(reach_h / 120.0))
    if need_s <= 0.0 or width < 3:
        return Axis(width=width, start_h=0, end_h=end_h, need_s=None)
    if width >= _FEW_CELLS or (start_h := _cut_h(snapshot)) <= 0:
        return Axis(width=width, start_h=0, end_h=end_h, need_s=need_s)
    cut_end_h = _STEP_H * math.ceil((need_s / 3600.0 + _PAST_NEED_CUT_H) / _STEP_H)
    return Axis(width=width, start_h=start_h, end_h=min(end_h, cut_end_h), need_s=need_s)


def _cut_h(snapshot: Snapshot) -> int:
    """Where a cut axis begins: well before need and before the first end, which it must never hide."""
    ends_s = [snapshot.need.in_s]
    for supply in snapshot.supplies.values():
        endurance = supply.endurance_plan_s
        if endurance is not None:
            ends = (endurance.p05, endurance.p50, endurance.p95)
            ends_s.append(min((end for end in ends if end is not None), default=math.inf))
    start_h = math.floor((min(ends_s) / 3600.0 - _BEFORE_FIRST_END_H) / _STEP_H) * _STEP_H
    return start_h if start_h * 3600.0 >= _WORTH_CUTTING * snapshot.need.in_s else 0


def _longest_s(snapshot: Snapshot) -> float:
    ends = [
        supply.endurance_plan_s.p50
        for supply in snapshot.supplies.values()
        if supply.endurance_plan_s is not None and supply.endurance_plan_s.p50 is not None
    ]
    return max(ends, default=3600.0)
