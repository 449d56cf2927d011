"""Whether a channel has stopped moving: the same to the bit for too long.

Three grounds, any of which will do: by the expected rate it should have moved well beyond its display and its
noise; at its own pace of before it should have, where nothing says how much of the draw is its store's; or it
used to flicker with noise and has ceased to. What nobody touches, or shows coarsely, is not stuck.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from console.craft.channels import Channel
from console.engine.draws import Floats
from console.engine.validity.context import ChannelKind
from console.engine.validity.grid import Grid
from console.engine.validity.shifts import CAUSE_S, FRESH_OF_ACCURACY
from console.engine.validity.verdict import Doubt, Use, Verdict
from console.engine.validity.words import change_text, for_text, since_text, value_text

DUE_STEPS = 4.0
"""It should have moved by so many steps of its display, and"""
DUE_SDS = 4.0
"""by so many standard deviations of its noise."""

FEWEST_ROWS = 3
"""Of equal readings; fewer rows may be no more than a few readings."""

FEWEST_SAME = 8
"""So many equal readings at least, and"""
LONGER_THAN_USUAL = 10.0
"""so many times the longest run of equal readings that was usual, where noise has ceased."""

FEWEST_BEFORE = 40
"""So many rows must show what is usual."""

NOISY_STEPS = 2.0
"""Noise counts as noise when it spreads over so many display steps; less may be one step's edge."""


EVEN_SHARE = 0.5
"""In both halves of the time before, it must have moved at this share of its pace at least."""

PASSED_STEPS = 4.0
"""Where it went through so many steps, how long it rests upon one is known."""

_DRAWN = frozenset({ChannelKind.HELD, ChannelKind.TAKEN})


@dataclass(frozen=True, kw_only=True, slots=True)
class _Run:
    """The equal readings up to the newest."""

    column: int
    since_s: float
    lasted_s: float
    readings: float


def stuck_verdicts(grid: Grid) -> dict[str, list[Verdict]]:
    """Every channel that is stuck."""
    found = {}
    for line in np.flatnonzero(grid.same_rows >= FEWEST_ROWS).tolist():
        run = _run(grid, line)
        why = _not_moved(grid, line, run) or _lost_pace(grid, line, run) or _gone_quiet(grid, line, run)
        if why:
            channel = grid.contexts[line].channel
            value_si = float(grid.means_si[line, -1])
            found[channel.name] = [
                Verdict(
                    channel=channel.name,
                    kind=Doubt.STUCK,
                    since_s=run.since_s,
                    why=f"{value_text(value_si, channel)} unchanged for {for_text(run.lasted_s)}, {why}",
                    use=Use.LEFT_OUT,
                    value_si=value_si,
                    value_at_s=run.since_s,
                )
            ]
    return found


def _run(grid: Grid, line: int) -> _Run:
    column = grid.means_si.shape[1] - int(grid.same_rows[line])
    since_s = float(grid.times_s[line, column])
    return _Run(
        column=column,
        since_s=since_s,
        lasted_s=float(grid.times_s[line, -1]) - since_s,
        readings=float(grid.counts[line, column:].sum()),
    )


def _not_moved(grid: Grid, line: int, run: _Run) -> str:
    """By how much it should have moved; empty where that is little, or not known."""
    context = grid.contexts[line]
    rate, channel = context.expected_rate_si_per_s, context.channel
    if not rate:
        return ""
    newest_s = float(grid.times_s[line, -1])
    causes = [at_s for at_s in (*context.causes_s, *context.refills_s) if at_s <= newest_s]
    # The rate is that of now: since the last change. What is switched takes a moment to show.
    from_s = max([run.since_s, *(at_s + CAUSE_S for at_s in causes)])
    due_si = abs(rate) * max(0.0, newest_s - from_s)
    if not _is_much(due_si, channel):
        return ""
    return f"when {change_text(due_si, channel)} {'more' if rate > 0.0 else 'less'} was due"


def _is_much(due_si: float, channel: Channel) -> bool:
    """Whether a movement is well beyond the display and the noise."""
    least_si = max(DUE_STEPS * channel.resolution_si, DUE_SDS * FRESH_OF_ACCURACY * channel.accuracy_si)
    # Where neither its display nor its error is stated nobody knows what it should show.
    return 0.0 < least_si <= due_si


def _lost_pace(grid: Grid, line: int, run: _Run) -> str:
    """By how much it should have moved at its own pace until something was switched; empty where little."""
    context, channel = grid.contexts[line], grid.contexts[line].channel
    if context.expected_rate_si_per_s is not None or context.kind not in _DRAWN:
        return ""
    causes = (*context.causes_s, *context.refills_s)
    before_s = max([grid.times_s[line, grid.first(line)], *(at for at in causes if at <= run.since_s)])
    first = max(grid.first(line), int(np.searchsorted(grid.times_s[line], before_s + CAUSE_S)))
    if run.column - first < FEWEST_BEFORE:
        return ""
    times_s, means = grid.times_s[line, first : run.column], grid.means_si[line, first : run.column]
    pace, pace_sd = _pace(times_s, means)
    half = len(means) // 2
    halves = (_pace(times_s[:half], means[:half])[0], _pace(times_s[half:], means[half:])[0])
    if any(one * pace <= EVEN_SHARE * pace**2 for one in halves):
        return ""  # it did not move at one pace: a single step is none
    until_s = min([float(grid.times_s[line, -1]), *(at for at in causes if at > run.since_s)])
    due_si = abs(pace) * max(until_s - run.since_s, 0.0)
    if abs(pace) < DUE_SDS * pace_sd or not _is_much(due_si, channel):
        return ""
    return f"when {change_text(due_si, channel)} {'more' if pace > 0.0 else 'less'} was due at its own pace"


def _pace(times_s: Floats, means: Floats) -> tuple[float, float]:
    """The slope of a straight line through some rows, and its standard deviation by what they scatter."""
    into_s, values = times_s - times_s.mean(), means - means.mean()
    whole = float(into_s @ into_s)
    if whole <= 0.0:
        return 0.0, 0.0
    slope = float(into_s @ values) / whole
    left = values - slope * into_s
    return slope, math.sqrt(float(left @ left) / (len(left) - 2) / whole)


def _gone_quiet(grid: Grid, line: int, run: _Run) -> str:
    """Whether it used to flicker and has ceased to; empty where not."""
    first = grid.first(line)
    if run.readings < FEWEST_SAME or run.column - first < FEWEST_BEFORE:
        return ""
    before = slice(first, run.column)
    lows, highs = grid.lows_si[line, before], grid.highs_si[line, before]
    means, counts = grid.means_si[line, before], grid.counts[line, before]
    step = float(grid.steps_si[line]) or _least_step(lows, highs)
    moved = float(highs.max() - lows.min())
    if moved < NOISY_STEPS * step:
        return ""
    usual = _longest_single(means, lows, highs, counts) if counts.max() <= 2.0 else None
    if (
        usual is not None
        and grid.contexts[line].expected_rate_si_per_s is None
        and moved >= PASSED_STEPS * step
    ):
        # It went through so many steps that its longest rest upon one of them is among what is usual.
        return _quiet_text(run, usual)
    trend = np.interp(np.arange(len(means)), *_knots(means))
    low, high = np.percentile(np.concatenate((lows - trend, highs - trend)), (5.0, 95.0))
    if high - low < NOISY_STEPS * step or high <= low:
        return ""
    if usual is None:
        usual = _longest_by_chance(float(high - low) / 3.29, step, float(counts.sum()))
    return _quiet_text(run, usual)


def _quiet_text(run: _Run, usual: float) -> str:
    if run.readings < LONGER_THAN_USUAL * max(usual, 1.0):
        return ""
    return (
        f"{run.readings:.0f} readings on end since {since_text(run.since_s)}, when no more than "
        f"{usual:.0f} were usual"
    )


def _knots(means: Floats) -> tuple[Floats, Floats]:
    """Medians of up to eight parts, for a trend that may bend: middles and values."""
    parts = np.array_split(np.arange(len(means)), min(8, len(means) // 20))
    return (
        np.array([part.mean() for part in parts]),
        np.array([float(np.median(means[part])) for part in parts]),
    )


def _longest_single(means: Floats, lows: Floats, highs: Floats, counts: Floats) -> float:
    """The longest run of equal readings in rows of one or two."""
    same = (lows[1:] == highs[:-1]) & (highs[1:] == lows[:-1]) & (lows[1:] == means[1:])
    ends = np.concatenate(([-1], np.flatnonzero(~same), [len(same)]))
    longest_rows = int(np.diff(ends).max())
    return float(longest_rows * counts.max())


def _longest_by_chance(sd: float, step: float, readings: float) -> float:
    """The longest run that normal noise makes on a display, in so many readings, its middle upon a step.

    The chance of the same step again is at most erf(step / (sd sqrt(8))), and a run of k has that to the k.
    """
    again = math.erf(step / (sd * math.sqrt(8.0)))
    if again <= 0.0:
        return 1.0
    return max(1.0, math.log(max(readings, 2.0)) / -math.log(min(again, 0.999)))


def _least_step(lows: Floats, highs: Floats) -> float:
    """The smallest difference that it ever showed, where its display is not stated."""
    gaps = np.diff(np.unique(np.concatenate((lows, highs))))
    return float(gaps.min()) if gaps.size else 0.0
