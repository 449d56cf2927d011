"""Whether a gauge runs away, steadily, from what was counted, metered or expected beside it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats
from console.engine.validity.context import ChannelContext, Course
from console.engine.validity.grid import FEWEST_ROWS, Grid
from console.engine.validity.shifts import FRESH_OF_ACCURACY
from console.engine.validity.verdict import Doubt, Use, Verdict
from console.engine.validity.words import change_text, for_text, rate_text, since_text, value_text

SHORTEST_S = 3600.0
"""Over less, a drift is not to be told from noise."""
DRIFT_SDS = 3.0
PARTS = (1.0, 0.5, 0.25)
"""Of the time that is known, its last so much is looked at in turn."""
LEAST_OF_HALVES = 0.4
"""Each half of the time must show so much of the drift, or it was a jump, or is over."""


@dataclass(frozen=True, kw_only=True, slots=True)
class _Line:
    """A straight line through a gauge less a course."""

    slope_si_per_s: float
    slope_sd_si_per_s: float
    since_s: float
    span_s: float
    left_sd_si: float


def drift_verdicts(grid: Grid) -> dict[str, list[Verdict]]:
    """Every channel that drifts against one of its courses."""
    found: dict[str, list[Verdict]] = {}
    for line, context in enumerate(grid.contexts):
        for course in context.courses:
            verdict = _against(grid, line, context, course)
            if verdict is not None:
                found.setdefault(context.channel.name, []).append(verdict)
    return found


def _against(grid: Grid, line: int, context: ChannelContext, course: Course) -> Verdict | None:
    own = slice(grid.first(line), None)
    times, means = grid.times_s[line, own], grid.means_si[line, own]
    from_s = max([float(times[0]), *(at_s for at_s in context.refills_s if at_s <= times[-1])])
    if len(course.times_s) < 2:
        return None
    covered = (
        (times > from_s) & (times >= course.times_s[0]) & (times <= course.times_s[-1])
        if context.refills_s
        else (times >= course.times_s[0]) & (times <= course.times_s[-1])
    )
    times, means = times[covered], means[covered]
    apart = means - np.interp(times, course.times_s, course.values_si)
    # What began lately does not show as a steady growth over all that is known.
    for part in PARTS:
        first = int(np.searchsorted(times, times[-1] - part * (times[-1] - times[0]))) if len(times) else 0
        if len(times) - first < FEWEST_ROWS or times[-1] - times[first] < SHORTEST_S:
            return None
        fitted = _line(times[first:], apart[first:], FRESH_OF_ACCURACY * context.channel.accuracy_si)
        if _is_drift(times[first:], apart[first:], fitted, context, course):
            return _said(grid, line, course, fitted)
    return None


def _line(times: Floats, apart: Floats, noise_si: float) -> _Line:
    """A line by least squares; errors that last from row to row count as fewer rows."""
    at = times - times.mean()
    slope = float(at @ apart / (at @ at))
    left = apart - apart.mean() - slope * at
    variance = float(left @ left) / max(len(left) - 2, 1)
    if variance > 0.0:
        alike = float(left[1:] @ left[:-1]) / float(left @ left)
        alike = min(max(alike, 0.0), 0.95)
        rows = max(4.0, len(left) * (1.0 - alike) / (1.0 + alike))
    else:
        rows = float(len(left))
    left_sd = max(math.sqrt(variance), noise_si / math.sqrt(len(left)))
    return _Line(
        slope_si_per_s=slope,
        slope_sd_si_per_s=left_sd / math.sqrt(rows * float(at @ at) / len(at)),
        since_s=float(times[0]),
        span_s=float(times[-1] - times[0]),
        left_sd_si=left_sd,
    )


def _is_drift(times: Floats, apart: Floats, line: _Line, context: ChannelContext, course: Course) -> bool:
    """Whether the difference has grown steadily and beyond the errors of both."""
    slope_sd = math.hypot(line.slope_sd_si_per_s, course.rate_sd_si_per_s)
    grown_si = abs(line.slope_si_per_s) * line.span_s
    channel = context.channel
    least_si = max(channel.accuracy_si, 4.0 * channel.resolution_si, DRIFT_SDS * line.left_sd_si)
    if abs(line.slope_si_per_s) <= DRIFT_SDS * slope_sd or grown_si <= least_si:
        return False
    half = len(times) // 2
    slopes = [
        _line(times[part], apart[part], 0.0).slope_si_per_s for part in (slice(0, half), slice(half, None))
    ]
    return all(slope / line.slope_si_per_s >= LEAST_OF_HALVES for slope in slopes)


def _said(grid: Grid, line: int, course: Course, fitted: _Line) -> Verdict:
    context, channel = grid.contexts[line], grid.contexts[line].channel
    newest_s, newest_si = float(grid.times_s[line, -1]), float(grid.means_si[line, -1])
    grown_si = fitted.slope_si_per_s * fitted.span_s
    flatters = grown_si * context.flattering_side > 0.0
    carried_si = newest_si - grown_si
    side = "more" if grown_si > 0.0 else "less"
    why = (
        f"has come to show {change_text(grown_si, channel)} {side} than {course.by} allows, by "
        f"{rate_text(fitted.slope_si_per_s, channel)} for {for_text(fitted.span_s)} since "
        f"{since_text(fitted.since_s)}"
    )
    if flatters:
        why += f"; {value_text(carried_si, channel)}, without that, is used"
    return Verdict(
        channel=channel.name,
        kind=Doubt.DRIFT,
        since_s=fitted.since_s,
        why=why,
        use=Use.LOWER,
        value_si=carried_si if flatters else None,
        value_at_s=newest_s if flatters else None,
    )
