"""Every straight line that passes within a bound of every reading: ranges that hold with few display steps.

No distribution is presumed, so that a gauge that has hardly moved cannot make an interval that lies. Exact:
the lines are the points (level at the anchor, slope) of a convex polygon.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats
from console.engine.rates.fieller import Reach, Reaching

BOUND_SD = 3.0


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BoundedLines:
    """All lines that the readings allow."""

    anchor_s: float
    corners: Floats
    """(level at the anchor, slope) of the corners of the polygon, (corners, 2), in turn about it."""
    widened_si: float
    """By how much every bound had to be widened until there was any line: above 0 no straight line fits."""

    @property
    def slopes_si_per_s(self) -> tuple[float, float]:
        """Least and greatest slope."""
        return float(self.corners[:, 1].min()), float(self.corners[:, 1].max())

    def levels_si(self, at_s: float) -> tuple[float, float]:
        """Least and greatest level at a moment."""
        found = self.corners[:, 0] + self.corners[:, 1] * (at_s - self.anchor_s)
        return float(found.min()), float(found.max())

    @property
    def middle(self) -> tuple[float, float]:
        """Level at the anchor and slope of the line in the middle of the ranges of slope and of level."""
        low, high = self.slopes_si_per_s
        bottom, top = self.levels_si(self.anchor_s)
        return 0.5 * (bottom + top), 0.5 * (low + high)

    def reach(self, target_si: float, bias_si: float = 0.0) -> Reach:
        """How long from the anchor until a level is reached, by the earliest and the latest of the lines.

        Args:
            target_si: the level.
            bias_si: by how much all readings may be off together, either way.
        """
        early = _times_s(self.corners, target_si + bias_si)
        late = _times_s(self.corners, target_si - bias_si)
        low_s = None if not np.isfinite(early).any() else float(early.min())
        high_s = float(late.max()) if np.isfinite(late).all() else None
        level_si, slope = self.middle
        central_s = max((target_si - level_si) / slope, 0.0) if slope < 0.0 else None
        reaching = Reaching.REACHES if high_s is not None else Reaching.NO_UPPER_END
        if low_s is None:
            reaching, central_s = Reaching.LEADS_AWAY, None
        return Reach(reaching=reaching, low_s=low_s, central_s=central_s, high_s=high_s, g=_openness(self))


def _openness(lines: BoundedLines) -> float:
    """Half the range of slopes over its middle, squared: what Fieller's g is to an interval."""
    low, high = lines.slopes_si_per_s
    middle = 0.5 * (low + high)
    return float("inf") if middle == 0.0 else (0.5 * (high - low) / middle) ** 2


def _times_s(corners: Floats, target_si: float) -> Floats:
    """When the line of each corner gets to a level; infinite where it does not."""
    gaps, slopes = corners[:, 0] - target_si, corners[:, 1]
    found = np.full(len(corners), np.inf)
    falls = slopes < 0.0
    found[falls] = gaps[falls] / -slopes[falls]
    return np.maximum(np.where(gaps <= 0.0, 0.0, found), 0.0)


def bounded_lines(
    times_s: Floats,
    values_si: Floats,
    bounds_si: Floats,
    anchor_s: float,
    held: tuple[float, float, float] | None = None,
) -> BoundedLines | None:
    """All lines a + b (t - anchor) with ``|value - line| <= bound`` at every time.

    Args:
        times_s: of the readings, (n,).
        values_si: what they say.
        bounds_si: how far off each may be.
        anchor_s: the moment for which the level is asked.
        held: moment, least and greatest level then, where something else tells them.

    Returns:
        None for fewer than two different times.
    """
    times = times_s - anchor_s
    lows, highs = values_si - bounds_si, values_si + bounds_si
    if held is not None:
        times = np.concatenate(([held[0] - anchor_s], times))
        lows, highs = np.concatenate(([held[1]], lows)), np.concatenate(([held[2]], highs))
    if len(times) < 2 or np.ptp(times) <= 0.0:
        return None
    under = _hull(times, highs)
    above = [(time, -low) for time, low in _hull(times, -lows)]
    corners = _corners(under, above, 0.0)
    if len(corners):
        return BoundedLines(anchor_s=anchor_s, corners=corners, widened_si=0.0)
    # Twice the least, so that what is off by as much as the readings show to be possible is still inside.
    widened = 2.0 * _least_widening(under, above)
    return BoundedLines(anchor_s=anchor_s, corners=_corners(under, above, widened), widened_si=widened)


Points = list[tuple[float, float]]


def _hull(times: Floats, values: Floats) -> Points:
    """The lower convex hull of some points, from left to right: a line under it is under all of them."""
    order = np.lexsort((values, times))
    hull: Points = []
    for time, value in zip(times[order].tolist(), values[order].tolist(), strict=True):
        if hull and hull[-1][0] == time:
            continue
        while len(hull) > 1 and _turns_right(hull[-2], hull[-1], (time, value)):
            hull.pop()
        hull.append((time, value))
    return hull


def _turns_right(one: tuple[float, float], two: tuple[float, float], three: tuple[float, float]) -> bool:
    cross = (two[0] - one[0]) * (three[1] - one[1]) - (two[1] - one[1]) * (three[0] - one[0])
    return cross <= 0.0


def _corners(under: Points, above: Points, more: float) -> Floats:
    """The polygon of all (a, b) with a + b t at most u at every (t, u) of ``under``, at least ``above``'s."""
    (t0, u0), (t1, u1) = under[0], under[-1]
    l0, l1 = above[0][1], above[-1][1]
    if u0 + more < l0 - more or u1 + more < l1 - more:
        return np.zeros((0, 2))
    ends = [(l0 - more, l1 - more), (u0 + more, l1 - more), (u0 + more, u1 + more), (l0 - more, u1 + more)]
    polygon = [((y0 * t1 - y1 * t0) / (t1 - t0), (y1 - y0) / (t1 - t0)) for y0, y1 in ends]
    for time, value in under[1:-1]:
        polygon = _cut(polygon, time, value + more, 1.0)
    for time, value in above[1:-1]:
        polygon = _cut(polygon, time, value - more, -1.0)
    return np.array(polygon) if polygon else np.zeros((0, 2))


def _cut(polygon: Points, time: float, value: float, sign: float) -> Points:
    """What is left of a polygon with sign (a + b t - value) <= 0."""
    over = [sign * (a + b * time - value) for a, b in polygon]
    left: Points = []
    for index, (point, excess) in enumerate(zip(polygon, over, strict=True)):
        following, next_excess = polygon[(index + 1) % len(polygon)], over[(index + 1) % len(polygon)]
        if excess <= 0.0:
            left.append(point)
        if (excess < 0.0 < next_excess) or (next_excess < 0.0 < excess):
            part = excess / (excess - next_excess)
            left.append(
                (point[0] + part * (following[0] - point[0]), point[1] + part * (following[1] - point[1]))
            )
    return left


def _least_widening(under: Points, above: Points) -> float:
    """The least by which all bounds must be widened until a line passes, to a millionth more."""
    low, high = 0.0, max(value for _, value in above) - min(value for _, value in under)
    high = max(high, 1e-300)
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if len(_corners(under, above, middle)) else (middle, high)
        if high - low <= 1e-7 * high:
            break
    return high * (1.0 + 1e-6)
