"""Where a channel leaves what it showed before: one or two readings far off, or a level that stays.

Facts only; what they mean is said in ``outliers.py`` and ``steps.py``. A shift counts when it is larger than
the channel's own noise and wander, than four display steps, and than the fastest true move in that time.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats
from console.engine.validity.context import ChannelContext, ChannelKind
from console.engine.validity.grid import Grid
from console.engine.validity.noise import MARGIN, Noise, row_medians

OUTLIER_SDS = 8.0
"""A single reading is far off beyond so many standard deviations."""

SHIFT_SDS = 5.0
"""A level that stays is a shift beyond so many standard deviations of a reading"""

SHIFT_WINDOW_SDS = 7.0
"""and so many of a difference of two neighbouring levels, which are tried many hundred times a day."""

DISPLAY_STEPS = 4.0
"""Neither counts within so many steps of the display."""

CONFIRMING = 3
"""So many readings at a new level are no outliers: the first and two more."""

FRESH_OF_ACCURACY = 0.25
"""Of an accuracy: the standard deviation of the noise that is fresh in every reading (common practice, no
source): a quarter of the variance, the accuracy being two standard deviations."""

SETTLED_ROWS = 60
"""From so many rows on a channel's own noise is taken instead, where it is less (our own choice)."""

CAUSE_S = 120.0
"""A cause explains a shift this long before and after it."""

CYCLES_KNOWN_S = 3 * 3600.0
"""Of a meter whose loads may cycle nothing counts until it has been seen so long (our own choice)."""

FASTEST_OF_EXPECTED = 2.0
"""Where nobody says how fast a channel can move: so many times the expected or the usual rate, whichever is
larger (our own choice)."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Shift:
    """A change of level that stands: the first row of the new one, and what was before it."""

    column: int
    since_s: float
    jump_si: float
    before_si: float
    before_at_s: float
    readings: float
    """About how many at the new level."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Bounds:
    """How far a channel may move before it counts, shape (channels, n) and (channels, n - 6)."""

    outlier_si: Floats
    shift_si: Floats


def bounds_of(grid: Grid, noise: Noise) -> Bounds:
    """What is beyond a channel's own noise, its display and the fastest true move."""
    # Four steps of 0.1 are 0.4 and a bit.
    display = (DISPLAY_STEPS * (1.0 + 1e-9) * grid.steps_si)[:, np.newaxis]
    reading = _reading_sd_si(grid, noise)
    fastest = _fastest_si_per_s(grid, noise)[:, np.newaxis]
    cycling = _cycling_si(grid)
    spacing = np.maximum(noise.spacing_s, 1e-9)[:, np.newaxis]
    times = grid.times_s

    # A gap anywhere among the rows that are compared counts in full.
    waits = np.diff(times, axis=1, prepend=times[:, :1])
    waits[:, MARGIN:] = np.maximum(
        waits[:, MARGIN:], times[:, MARGIN:] - times[:, :-MARGIN] - (MARGIN - 1) * spacing
    )
    gap = np.sqrt(np.maximum(waits / spacing, 1.0))
    # What is usual of a row is less than of a reading, by what its several readings even out.
    evened = np.sqrt(1.0 - 1.0 / row_medians(grid.counts, grid.valid))[:, np.newaxis]
    usual = np.maximum(gap * np.hypot(noise.ahead_sd_si, evened * reading), reading)
    outlier = np.maximum(OUTLIER_SDS * usual, display)
    outlier += fastest * waits + cycling

    waits = np.maximum(times[:, 2 * MARGIN :] - times[:, : -2 * MARGIN] - 4.0 * spacing, 2.0 * spacing)
    gap = np.sqrt(waits / (2.0 * spacing))
    shift = np.maximum(
        np.maximum(SHIFT_WINDOW_SDS * noise.shift_sd_si * gap, SHIFT_SDS * reading),
        display,
    )
    shift += fastest * waits + cycling[:, MARGIN:-MARGIN]
    return Bounds(outlier_si=outlier, shift_si=shift)


def is_caused(context: ChannelContext, from_s: float, until_s: float) -> bool:
    """Whether anything is known that may have moved the channel between two moments, or near them."""
    return any(
        from_s - CAUSE_S <= at_s <= until_s + CAUSE_S for at_s in (*context.causes_s, *context.refills_s)
    )


def tail_shift(grid: Grid, noise: Noise, bounds: Bounds, line: int) -> Shift | None:
    """How the newest word leaves the rows before it, however few readings have done so; None where not.

    Rows of many readings are counted by how far their mean has gone, if their extremes say that any has.
    """
    end = grid.means_si.shape[1]
    jump = float(noise.ahead_si[line, -1])
    if abs(jump) <= bounds.outlier_si[line, -1]:
        return None
    trend, newest_s = float(noise.trend_si_per_s[line]), float(grid.times_s[line, -1])
    readings, column = 1.0, end - 1
    while column > end - 1 - MARGIN:
        base = float(noise.due_si[line, -1]) - trend * (newest_s - float(grid.times_s[line, column - 1]))
        share = _share_beyond(grid, line, column - 1, base, jump)
        if share <= 0.0:
            break
        column -= 1
        readings += max(1.0, share * float(grid.counts[line, column]))
    before = max(column - 1, grid.first(line))
    return Shift(
        column=column,
        since_s=float(grid.times_s[line, column]),
        jump_si=jump,
        before_si=float(grid.means_si[line, before]),
        before_at_s=float(grid.times_s[line, before]),
        readings=readings,
    )


def standing_shifts(grid: Grid, noise: Noise, bounds: Bounds, line: int) -> list[Shift]:
    """Shifts without a cause that stand until now, the oldest first: one that was taken back is gone."""
    over = np.flatnonzero(np.abs(noise.shift_si[line]) > bounds.shift_si[line])
    standing: list[Shift] = []
    for group in np.split(over, np.flatnonzero(np.diff(over) > MARGIN) + 1):
        shift = _shift(grid, noise, bounds, line, group)
        if shift is None:
            continue
        if standing and 0.5 < -shift.jump_si / standing[-1].jump_si < 1.5:
            standing.pop()
        else:
            standing.append(shift)
    return standing


def _shift(
    grid: Grid, noise: Noise, bounds: Bounds, line: int, group: np.ndarray[tuple[int], np.dtype[np.intp]]
) -> Shift | None:
    """The shift of a run of columns; None where it is a slope, was no level, or had a cause."""
    if not group.size:
        return None
    best = int(group[np.argmax(np.abs(noise.shift_si[line, group]))])
    jump, row = float(noise.shift_si[line, best]), best + MARGIN
    means, times = grid.means_si[line], grid.times_s[line]
    base = float(np.median(means[row - 3 : row]))
    # The first row that has gone more than half of the way.
    gone = (means[row - 1 : row + 4] - base) / jump > 0.5
    column = row - 1 + int(np.argmax(gone))
    after = means[column : column + 3]
    if not ((after - base) / jump > 0.5).all():
        return None
    before = column - 1
    if is_caused(grid.contexts[line], float(times[before]), float(times[min(column + 1, len(times) - 1)])):
        return None
    if abs(jump) - _ramp_si(means, times, grid.first(line), column, jump) <= bounds.shift_si[line, best]:
        return None
    if (means[before] - base) / jump > 0.25:
        before -= 1  # a row of readings from before and after
    return Shift(
        column=column,
        since_s=float(times[column]),
        jump_si=jump,
        before_si=float(means[before]),
        before_at_s=float(times[before]),
        readings=float(grid.counts[line, column:].sum()),
    )


def _ramp_si(means: Floats, times: Floats, first: int, column: int, jump: float) -> float:
    """What of a shift the slopes on both its sides explain, where both run its way: then it is no shift.

    Where one side has too few rows to have a slope, that of the other side stands for both.
    """
    slopes = []
    for begin, end in ((max(first, column - 5), column - 2), (column + 1, min(column + 4, len(means) - 1))):
        if end > begin:
            slopes.append((means[end] - means[begin]) / (times[end] - times[begin]) * np.sign(jump))
    if not slopes:
        return math.inf
    span_s = times[min(column + 2, len(times) - 1)] - times[max(first, column - 2)]
    return max(0.0, float(min(slopes)) * float(span_s))


def _share_beyond(grid: Grid, line: int, column: int, base: float, jump: float) -> float:
    """About which share of a row's readings has gone with a jump."""
    extreme = grid.highs_si[line, column] if jump > 0.0 else grid.lows_si[line, column]
    if (extreme - base) / jump <= 0.5:
        return 0.0
    return float(np.clip((grid.means_si[line, column] - base) / jump, 0.0, 1.0))


def _reading_sd_si(grid: Grid, noise: Noise) -> Floats:
    """A single reading's noise, (channels, 1); while it cannot be known from the history, at least as stated.

    Few rows may be quiet by chance. Near an end of the range half of the noise is cut off, and a median of
    what is left tells nothing of the rest.
    """
    limits = np.array([_limits(context) for context in grid.contexts])
    near = 0.5 * grid.accuracies_si + grid.steps_si
    is_cut = (noise.due_si.min(axis=1) < limits[:, 0] + near) | (
        noise.due_si.max(axis=1) > limits[:, 1] - near
    )
    stated = np.where(is_cut | (grid.lengths < SETTLED_ROWS), FRESH_OF_ACCURACY * grid.accuracies_si, 0.0)
    return np.maximum(noise.reading_sd_si, stated)[:, np.newaxis]


def _limits(context: ChannelContext) -> tuple[float, float]:
    """The least and the most that a channel shows: amounts and flows stop at nothing."""
    low_si, high_si = context.channel.low_si, context.channel.high_si
    if low_si is None:
        low_si = -math.inf if context.kind is ChannelKind.OTHER else 0.0
    return low_si, math.inf if high_si is None else high_si


def _fastest_si_per_s(grid: Grid, noise: Noise) -> Floats:
    """How fast each channel can truly move."""
    fastest = FASTEST_OF_EXPECTED * np.abs(noise.trend_si_per_s)
    for line, context in enumerate(grid.contexts):
        if context.largest_rate_si_per_s is not None:
            fastest[line] = abs(context.largest_rate_si_per_s)
        elif context.expected_rate_si_per_s is not None:
            expected = FASTEST_OF_EXPECTED * abs(context.expected_rate_si_per_s)
            fastest[line] = max(fastest[line], expected)
    return fastest


def _cycling_si(grid: Grid) -> Floats:
    """How far loads that cycle had swung a meter before each row, (channels, n); no end while unknown."""
    swings = np.zeros(grid.means_si.shape)
    for line, context in enumerate(grid.contexts):
        if not context.may_cycle:
            continue
        first = grid.first(line)
        means, times = grid.means_si[line, first:], grid.times_s[line, first:]
        spans = np.maximum.accumulate(means) - np.minimum.accumulate(means)
        swings[line, first + 1 :] = np.where(times[1:] - times[0] >= CYCLES_KNOWN_S, spans[:-1], math.inf)
    return swings
