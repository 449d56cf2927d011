"""How much a channel moves from row to row when nothing is wrong: from its own history, robustly.

Every measure is a median of absolute deviations, so that what is to be found does not hide itself. Nothing
here knows what a display step or an accuracy is; who compares sets those beside it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from console.engine.draws import Floats
from console.engine.validity.context import ChannelKind
from console.engine.validity.grid import Grid

SD_PER_MAD = 1.482602218505602
"""Of a normal distribution: 1 / its quantile at 3/4."""

_RANGE_COUNTS = np.array([2.0, 3.0, 4.0, 5.0, 7.0, 10.0, 15.0, 20.0, 25.0, 50.0, 100.0, 200.0, 500.0, 1000.0])
_RANGE_SDS = np.array(
    [1.128, 1.693, 2.059, 2.326, 2.704, 3.078, 3.472, 3.735, 3.931, 4.498, 5.015, 5.492, 6.073, 6.483]
)
"""Mean range of so many normal draws, in standard deviations: d2 of the control-chart tables up to 25
(ISO 7870-2), beyond by numerical integration."""

MARGIN = 3
"""Rows on either side of one across which a shift is looked for."""

_SHORT_ROWS = 12.0
"""The standard deviation of so short a history counts twice: a few rows tell little of what is usual."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Noise:
    """What each channel does by itself. Shape (channels,) or, with a column for each row, (channels, n)."""

    spacing_s: Floats
    """The usual time from row to row."""
    trend_si_per_s: Floats
    """The usual rate."""
    reading_sd_si: Floats
    """Of a single reading about its neighbours, wander between rows included."""
    due_si: Floats
    """(channels, n): the middle one of the three rows before each, carried on by the trend."""
    ahead_si: Floats
    """(channels, n): each row less what was due."""
    ahead_sd_si: Floats
    """(channels, n): the standard deviation of that at that level."""
    shift_si: Floats
    """(channels, n - 6): across each row from the fourth to the fourth last, the middle one of the three rows
    after it less that of the three before it, less the trend."""
    shift_sd_si: Floats
    """(channels, n - 6): the standard deviation of that at that level."""


def noise_of(grid: Grid) -> Noise:
    """How much each channel of a grid moves by itself; what ends it in equal rows tells nothing of that."""
    means, times, width = grid.means_si, grid.times_s, grid.means_si.shape[1]
    column = np.arange(width)
    moves = grid.valid & (column < width - grid.same_rows[:, np.newaxis])
    middles = _middle(means[:, :-2], means[:, 1:-1], means[:, 2:])  # of the rows j, j + 1, j + 2
    earlier, later = middles[:, : -MARGIN - 1], middles[:, MARGIN + 1 :]
    has_rows = moves[:, 2 * MARGIN :] & grid.valid[:, : -2 * MARGIN]

    spans = times[:, MARGIN + 2 : -1] - times[:, 1 : -MARGIN - 2]
    trend = row_medians((later - earlier) / np.maximum(spans, 1e-9), has_rows)
    shift = later - earlier - trend[:, np.newaxis] * spans
    shift_sd = _sd(grid, shift, np.maximum(np.abs(earlier), np.abs(later)), has_rows)

    due = means.copy()
    due[:, MARGIN:] = middles[:, :-1] + trend[:, np.newaxis] * (times[:, MARGIN:] - times[:, 1:-2])
    has_rows = moves & (column >= width - grid.lengths[:, np.newaxis] + MARGIN)
    return Noise(
        spacing_s=row_medians(np.diff(times, axis=1), grid.valid[:, :-1]),
        trend_si_per_s=trend,
        reading_sd_si=_reading_sd(grid, moves),
        due_si=due,
        ahead_si=means - due,
        ahead_sd_si=_sd(grid, means - due, due, has_rows),
        shift_si=shift,
        shift_sd_si=shift_sd,
    )


def _middle(first: Floats, second: Floats, third: Floats) -> Floats:
    """The middle one of three, so that a single stray row counts for nothing."""
    middle: Floats = np.maximum(np.minimum(first, second), np.minimum(np.maximum(first, second), third))
    return middle


def _sd(grid: Grid, moves: Floats, levels: Floats, valid: NDArray[np.bool_]) -> Floats:
    """The standard deviation of moves about zero, at each level.

    A meter of a use wanders in proportion to itself: its moves are also measured as shares of its level, and
    the larger of the two measures holds, so that a quiet night does not make the busy morning look wrong.
    """
    sizes = np.abs(moves)
    factor = SD_PER_MAD * (1.0 + _SHORT_ROWS / grid.lengths)
    sd = np.repeat((factor * row_medians(sizes, valid))[:, np.newaxis], moves.shape[1], axis=1)
    flows = np.flatnonzero([context.kind is ChannelKind.FLOW for context in grid.contexts])
    if flows.size:
        level = np.abs(levels[flows])
        # Near zero there is nothing that could wander, only noise.
        shares = sizes[flows] / np.maximum(level, np.maximum(10.0 * sd[flows], 1e-30))
        usual = factor[flows] * row_medians(shares, valid[flows])
        sd[flows] = np.maximum(sd[flows], usual[:, np.newaxis] * level)
    return sd


def _reading_sd(grid: Grid, moves: NDArray[np.bool_]) -> Floats:
    """Of a single reading about its neighbours: by how rows bend, and by how far each of them spreads."""
    means, counts = grid.means_si, grid.counts
    bends = np.abs(means[:, 1:-1] - 0.5 * (means[:, :-2] + means[:, 2:]))
    by_rows: Floats = SD_PER_MAD / np.sqrt(1.5) * row_medians(bends, moves[:, 2:] & grid.valid[:, :-2])
    several = moves & (counts > 1.0)
    if not several.any():
        return by_rows
    divisors: Floats = np.interp(np.log(counts), np.log(_RANGE_COUNTS), _RANGE_SDS)
    by_ranges = row_medians((grid.highs_si - grid.lows_si) / divisors, several)
    sd: Floats = np.maximum(by_rows, by_ranges)
    return sd


def row_medians(values: Floats, valid: NDArray[np.bool_]) -> Floats:
    """The median of each line's valid values; 0 where it has none.

    >>> row_medians(np.array([[3.0, 1.0, 2.0], [5.0, 7.0, 0.0]]), np.array([[True] * 3, [True, True, False]]))
    array([2., 6.])
    """
    if not values.shape[1]:
        return np.zeros(len(values))
    ordered = np.sort(np.where(valid, values, np.inf), axis=1)
    counts = valid.sum(axis=1)
    lines = np.arange(len(values))
    low, high = ordered[lines, np.maximum(counts - 1, 0) // 2], ordered[lines, counts // 2 - (counts == 0)]
    medians: Floats = np.where(counts > 0, 0.5 * (low + high), 0.0)
    return medians
