"""What a shift of level or a stray reading means: a step with no cause, a wrong unit, a spike."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from console.engine.validity.context import ChannelContext, ChannelKind
from console.engine.validity.grid import Grid
from console.engine.validity.noise import Noise
from console.engine.validity.shifts import (
    CONFIRMING,
    Bounds,
    Shift,
    is_caused,
    standing_shifts,
    tail_shift,
)
from console.engine.validity.swing_fit import Swing
from console.engine.validity.unit_mixups import suspected_unit
from console.engine.validity.verdict import Doubt, Use, Verdict
from console.engine.validity.words import change_text, for_text, since_text, value_text

METER_CONFIRMED_S = 600.0
"""A meter's shift that has stood so long is what is drawn, logged or not (our own choice)."""

SPIKE_TOLD_S = 600.0
"""So long a spike that is over is still told."""

_MOST_OF_A_SPIKE = 5.0
_TAIL = 16


def shift_verdicts(
    grid: Grid, noise: Noise, bounds: Bounds, swings: Mapping[int, Swing]
) -> dict[str, list[Verdict]]:
    """Steps, wrong units and spikes of every channel that has any beside its swing, by line."""
    found: dict[str, list[Verdict]] = {}
    is_off = np.abs(noise.ahead_si[:, -1]) > bounds.outlier_si[:, -1]
    is_shifted = (np.abs(noise.shift_si) > bounds.shift_si).any(axis=1)
    for line in np.flatnonzero(is_off | is_shifted).tolist():
        verdict = _newest(grid, noise, bounds, line, swings.get(line))
        if verdict is not None:
            found[verdict.channel] = [verdict]
    for line in _strays(grid, noise, bounds):
        name = grid.contexts[line].channel.name
        if name not in found:
            verdict = _over(grid, noise, bounds, line)
            if verdict is not None:
                found[name] = [verdict]
    return found


def _newest(grid: Grid, noise: Noise, bounds: Bounds, line: int, swing: Swing | None) -> Verdict | None:
    """What shifts say of the newest word."""
    context = grid.contexts[line]
    standing = standing_shifts(grid, noise, bounds, line)
    tail = tail_shift(grid, noise, bounds, line)
    if tail is not None and not is_caused(context, tail.before_at_s, float(grid.times_s[line, -1])):
        known = any(shift.column >= tail.column - 1 for shift in standing)
        if not known:
            standing.append(tail)
    if swing is not None:
        standing = [
            shift
            for shift in standing
            if not swing.explains(shift.before_si, shift.before_at_s, shift.jump_si)
        ]
    settled = [shift for shift in standing if shift.readings >= CONFIRMING]
    if len(settled) < len(standing):
        fresh = next(shift for shift in standing if shift.readings < CONFIRMING)
        if not settled:
            return _suspected_spike(grid, line, fresh)
    if not settled:
        return None
    return _wrong_unit(grid, noise, line, settled) or _step(grid, line, settled)


def _step(grid: Grid, line: int, shifts: Sequence[Shift]) -> Verdict:
    """A shift without a cause; of several the first to the better side, else the newest."""
    context = grid.contexts[line]
    shift = next((one for one in shifts if _flatters(context, one.jump_si)), shifts[-1])
    since_s = shift.since_s
    is_meter = context.kind is ChannelKind.FLOW
    stood_s = float(grid.times_s[line, -1]) - since_s
    is_confirmed = is_meter and stood_s >= METER_CONFIRMED_S
    is_left_out = _flatters(context, shift.jump_si) and not is_confirmed
    channel = context.channel
    word = "rose" if shift.jump_si > 0.0 else "fell"
    why = (
        f"{word} by {change_text(shift.jump_si, channel)} at once at {since_text(since_s)}, to "
        f"{value_text(shift.before_si + shift.jump_si, channel)}, and nothing logged explains it"
    )
    if is_left_out:
        why += f"; {value_text(shift.before_si, channel)} of before is used"
    return Verdict(
        channel=channel.name,
        kind=Doubt.STEP,
        since_s=since_s,
        why=why,
        use=Use.LEFT_OUT if is_left_out else Use.AS_IT_IS,
        value_si=shift.before_si if is_left_out else None,
        value_at_s=shift.before_at_s if is_left_out else None,
        is_doubt=not is_confirmed,
    )


def _wrong_unit(grid: Grid, noise: Noise, line: int, shifts: Sequence[Shift]) -> Verdict | None:
    context = grid.contexts[line]
    channel = context.channel
    for shift in reversed(shifts):
        means, first = grid.means_si[line], max(shift.column - 6, grid.first(line))
        before_si = float(np.median(means[first : shift.column - 1]))
        after_si = float(np.median(means[shift.column :][:5]))
        sd = math.hypot(float(noise.reading_sd_si[line]), channel.resolution_si / math.sqrt(12.0))
        unit = suspected_unit(before_si, after_si, channel.unit, sd / math.sqrt(3.0))
        if unit is None:
            continue
        is_left_out = context.flattering_side == 0 or _flatters(context, shift.jump_si)
        why = (
            f"reads as if in {unit.text} from {since_text(shift.since_s)} on: "
            f"{value_text(after_si, channel)} after {value_text(shift.before_si, channel)}"
        )
        if is_left_out:
            why += ", which is used"
        return Verdict(
            channel=channel.name,
            kind=Doubt.WRONG_UNIT,
            since_s=shift.since_s,
            why=why,
            use=Use.LEFT_OUT if is_left_out else Use.AS_IT_IS,
            value_si=shift.before_si if is_left_out else None,
            value_at_s=shift.before_at_s if is_left_out else None,
        )
    return None


def _suspected_spike(grid: Grid, line: int, shift: Shift) -> Verdict:
    context = grid.contexts[line]
    channel = context.channel
    newest_si = float(grid.means_si[line, -1])
    is_left_out = context.flattering_side == 0 or _flatters(context, shift.jump_si)
    why = (
        f"a spike is suspected: shows {value_text(newest_si, channel)}, "
        f"{value_text(newest_si - shift.jump_si, channel)} was due"
    )
    if is_left_out:
        why += f"; {value_text(shift.before_si, channel)} of before is used until 2 more readings confirm it"
    return Verdict(
        channel=channel.name,
        kind=Doubt.SPIKE,
        since_s=shift.since_s,
        why=why,
        use=Use.LEFT_OUT if is_left_out else Use.AS_IT_IS,
        value_si=shift.before_si if is_left_out else None,
        value_at_s=shift.before_at_s if is_left_out else None,
    )


def _strays(grid: Grid, noise: Noise, bounds: Bounds) -> list[int]:
    """Channels of which some reading of the last minutes, not the newest, was far off."""
    tail = slice(-_TAIL - 1, -1)
    due = noise.due_si[:, tail]
    off = np.maximum(grid.highs_si[:, tail] - due, due - grid.lows_si[:, tail])
    is_recent = grid.times_s[:, -1:] - grid.times_s[:, tail] <= SPIKE_TOLD_S
    is_off = (off > bounds.outlier_si[:, tail]) & is_recent & grid.valid[:, tail]
    lines: list[int] = np.flatnonzero(is_off.any(axis=1)).tolist()
    return lines


def _over(grid: Grid, noise: Noise, bounds: Bounds, line: int) -> Verdict | None:
    """The newest spike of the last minutes that came back; None where none did."""
    context, channel = grid.contexts[line], grid.contexts[line].channel
    columns = grid.means_si.shape[1]
    newest_si, newest_s = float(grid.means_si[line, -1]), float(grid.times_s[line, -1])
    for column in range(columns - 2, max(columns - _TAIL - 2, grid.first(line) + 3), -1):
        base, bound = float(noise.due_si[line, column]), float(bounds.outlier_si[line, column])
        high, low = float(grid.highs_si[line, column]), float(grid.lows_si[line, column])
        worst = high if high - base > base - low else low
        jump, at_s = worst - base, float(grid.times_s[line, column])
        if abs(jump) <= bound or newest_s - at_s > SPIKE_TOLD_S:
            continue
        strays = float(grid.counts[line, column]) * (float(grid.means_si[line, column]) - base) / jump
        after = grid.means_si[line, column + 1 : column + 4]
        has_come_back = abs(float(np.median(after)) - base) < 0.5 * abs(jump)
        if strays > _MOST_OF_A_SPIKE or not has_come_back or abs(newest_si - base) >= 0.5 * abs(jump):
            continue
        if is_caused(context, at_s, at_s):
            continue
        return Verdict(
            channel=channel.name,
            kind=Doubt.SPIKE,
            since_s=at_s,
            why=(
                f"a spike to {value_text(worst, channel)} {for_text(newest_s - at_s)} before, where "
                f"{value_text(base, channel)} was due; it has come back"
            ),
            use=Use.AS_IT_IS,
            is_doubt=False,
        )
    return None


def _flatters(context: ChannelContext, jump_si: float) -> bool:
    """Whether a shift makes things look better."""
    return jump_si * context.flattering_side > 0.0
