"""Whether a channel swings regularly about its trend, and what it shows on average.

A period is looked for in spectra of the whole history and of its last half, quarter and eighth, and must then
carry most of what is left about a line: with the same phase all along, which wander never keeps.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from console.display import Rounding, span_text
from console.engine.validity.grid import Grid
from console.engine.validity.shifts import FRESH_OF_ACCURACY
from console.engine.validity.swing_fit import FEWEST_PERIODS, Swing, fitted_swing, refined, spectrum
from console.engine.validity.verdict import Doubt, Use, Verdict
from console.engine.validity.words import change_text, since_text, value_text

LONGEST_PERIOD_S = 7200.0
AMPLITUDE_SDS = 3.0
"""Swings count beyond so many standard deviations of the noise"""
AMPLITUDE_STEPS = 2.0
"""and so many steps of the display."""
LEAST_SHARE_OF_PEAK = 0.25
"""Of it that the peak of the spectrum must hold by itself: pulses have much of theirs in harmonics."""
FEWEST_ROWS = 24
"""Of a spectrum."""
PEAK_OVER_NEIGHBOURS = 20.0
"""So far a peak stands out of the bins beside it: noise does so once in millions (exp(-20 ln 2))."""
_NEIGHBOURS = 8
_WHOLE_ROWS = slice(-FEWEST_ROWS - 2, -2)
"""The newest rows that are not still growing."""


def swings_of(grid: Grid) -> dict[int, Swing]:
    """The swing of every line that has one slow enough for its rows to show."""
    found: dict[int, Swing] = {}
    rows = grid.means_si.shape[1] - 1  # the newest word stands at no even spacing
    while rows >= FEWEST_ROWS:
        for line, period_rows in _peaks(grid, rows):
            swing = None if line in found else _swing(grid, line, rows, period_rows)
            if swing is not None:
                found[line] = swing
        rows //= 2
    return found


def swing_verdicts(grid: Grid, swings: Mapping[int, Swing]) -> dict[str, list[Verdict]]:
    """Every channel that swings: those whose swings are given, and those too fast for their rows."""
    found = {grid.contexts[line].channel.name: [_said(grid, line, swing)] for line, swing in swings.items()}
    for line in _unresolved(grid):
        if line not in swings:
            found[grid.contexts[line].channel.name] = [_unresolved_verdict(grid, line)]
    return found


def _peaks(grid: Grid, rows: int) -> list[tuple[int, float]]:
    """Lines whose last rows have a spectrum with a peak, and its period in rows."""
    lines = np.flatnonzero(grid.lengths > rows)
    power = spectrum(grid.means_si[lines, -rows - 1 : -1])
    first = math.ceil(FEWEST_PERIODS)
    peaks = first + power[:, first:].argmax(axis=1)
    at = np.arange(len(lines))
    # Cheap before dear: wander spreads its power over many slow bins, so few channels need a closer look.
    around = power[at, peaks - 1] + power[at, peaks] + power[at, np.minimum(peaks + 1, power.shape[1] - 1)]
    found: list[tuple[int, float]] = []
    for index in np.flatnonzero(around > LEAST_SHARE_OF_PEAK * power.sum(axis=1)).tolist():
        peak = int(peaks[index])
        beside = power[index, max(first, peak - _NEIGHBOURS) :][: 2 * _NEIGHBOURS + 1]
        if power[index, peak] > PEAK_OVER_NEIGHBOURS * float(np.median(beside)):
            found.append((int(lines[index]), rows / refined(power[index], peak)))
    return found


def _swing(grid: Grid, line: int, rows: int, period_rows: float) -> Swing | None:
    """What a peak comes to: over the rows since the last cause, it must still be there."""
    context, channel = grid.contexts[line], grid.contexts[line].channel
    tail = slice(-rows - 1, -1)
    times, means = grid.times_s[line, tail], grid.means_si[line, tail]
    newest_s = float(times[-1])
    causes = [at_s for at_s in (*context.causes_s, *context.refills_s) if at_s <= newest_s]
    if causes:
        since = int(np.searchsorted(times, max(causes), side="right"))
        times, means = times[since:], means[since:]
    if len(times) < FEWEST_ROWS // 2:
        return None
    spacing_s = float(times[-1] - times[0]) / (len(times) - 1)
    period_s = period_rows * spacing_s
    if period_s > LONGEST_PERIOD_S or (len(times) - 1) < FEWEST_PERIODS * period_rows - 1:
        return None
    swing = fitted_swing(times, means, period_s)
    if swing is None:
        return None
    noise_sd = max(
        swing.left_sd_si,
        FRESH_OF_ACCURACY * channel.accuracy_si / math.sqrt(float(np.median(grid.counts[line, tail]))),
    )
    if swing.amplitude_si <= max(AMPLITUDE_SDS * noise_sd, AMPLITUDE_STEPS * channel.resolution_si):
        return None
    return swing


def _said(grid: Grid, line: int, swing: Swing) -> Verdict:
    context, channel = grid.contexts[line], grid.contexts[line].channel
    newest_s = float(grid.times_s[line, -1])
    average_si = swing.line_si(newest_s)
    every = span_text(swing.period_s, Rounding.NEAREST)
    about = value_text(average_si, channel)
    swings = f"swings by {change_text(swing.amplitude_si, channel)} to either side every {every}"
    why = f"{swings} since {since_text(swing.since_s)} or before; the average, {about}, is used"
    if context.may_cycle:
        why += ": its loads cycle"
    return Verdict(
        channel=channel.name,
        kind=Doubt.OSCILLATING,
        since_s=swing.since_s,
        why=why,
        use=Use.AVERAGED,
        value_si=average_si,
        value_at_s=newest_s,
        extra_sd_si=swing.average_sd_si,
        is_doubt=not context.may_cycle,
    )


def _unresolved(grid: Grid) -> list[int]:
    """Channels whose readings swing faster than the rows show: wide rows, whose means hardly move."""
    if grid.means_si.shape[1] <= FEWEST_ROWS + 1:
        return []
    tail = _WHOLE_ROWS
    halves = 0.5 * (grid.highs_si[:, tail] - grid.lows_si[:, tail])
    usual = np.median(halves, axis=1)
    moves = np.median(np.abs(np.diff(grid.means_si[:, tail], axis=1)), axis=1)
    # Of many readings, noise spreads up to about twice the accuracy; of two, unevenly from row to row.
    counts = grid.counts[:, tail]
    of_accuracy = np.where(np.median(counts, axis=1) > 3.0, 2.0, FRESH_OF_ACCURACY * AMPLITUDE_SDS)
    least = np.maximum(of_accuracy * grid.accuracies_si, AMPLITUDE_STEPS * grid.steps_si)
    several = counts.min(axis=1) > 1.0
    is_even = np.percentile(halves, 10.0, axis=1) > 0.5 * usual
    is_stated = grid.accuracies_si > 0.0
    may_not: NDArray[np.bool_] = np.array([not context.may_cycle for context in grid.contexts])
    is_swinging = (usual > least) & (usual > 4.0 * moves) & several & is_even & is_stated & may_not
    lines: list[int] = np.flatnonzero(is_swinging & (grid.lengths > FEWEST_ROWS + 1)).tolist()
    return lines


def _unresolved_verdict(grid: Grid, line: int) -> Verdict:
    channel = grid.contexts[line].channel
    tail = _WHOLE_ROWS
    half = float(np.median(grid.highs_si[line, tail] - grid.lows_si[line, tail])) / 2.0
    newest_s = float(grid.times_s[line, -1])
    at = grid.times_s[line, tail] - newest_s
    average = float(np.polynomial.polynomial.polyfit(at, grid.means_si[line, tail], 1)[0])
    return Verdict(
        channel=channel.name,
        kind=Doubt.OSCILLATING,
        since_s=float(grid.times_s[line, tail][0]),
        why=(
            f"swings by {change_text(half, channel)} to either side from reading to reading, accurate to "
            f"{change_text(channel.accuracy_si, channel)}; the average, {value_text(average, channel)}, is "
            "used"
        ),
        use=Use.AVERAGED,
        value_si=average,
        value_at_s=newest_s,
        extra_sd_si=2.0 * half / math.sqrt(float(grid.counts[line, tail].sum())),
    )
