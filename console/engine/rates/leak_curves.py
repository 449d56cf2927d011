"""The shapes of a loss: steady, in proportion to what is held, and growing; as curves of what is left.

Every curve is told by what is left at the anchor, the rate of the loss then, and a bend. Beside the loss a
known steady use may run. Times are counted from the anchor, amounts fall.
"""

from __future__ import annotations

from enum import Enum

import numpy as np

from console.engine.draws import Floats

FARTHEST = 50.0
"""Beyond e to this any store is gone."""


class LeakShape(Enum):
    """How a loss goes on."""

    STEADY = "steady"
    IN_PROPORTION = "in proportion to what is held"
    GROWING = "growing by the same factor"
    """Its rate doubles in equal times."""
    RAMPING = "growing by the same amount"
    """Its rate rises in a straight line."""


ACCELERATING = (LeakShape.GROWING, LeakShape.RAMPING)


def lost_si(
    shape: LeakShape, level_si: Floats, rate_si_per_s: Floats, bend: Floats, after_s: Floats
) -> Floats:
    """What is lost from the anchor to some moments after it (negative before it), known use left out.

    With L the level and r the rate of the loss at the anchor, x the time since, b the bend: steady r x; in
    proportion L (1 - exp(-r x / L)); growing r (exp(b x) - 1) / b; ramping r (x + b x² / 2) from -1 / b on.

    Args:
        shape: how it goes on.
        level_si: at the anchor; it matters only in proportion. Shapes of all broadcast.
        rate_si_per_s: of the loss at the anchor, at least 0.
        bend: b, 1/s, above 0: of a growing loss its growth, of a ramping one over the time it has risen.
        after_s: since the anchor.

    >>> float(lost_si(LeakShape.RAMPING, np.array(9.0), np.array(1.0), np.array(2.0), np.array(3.0)))
    12.0
    """
    if shape is LeakShape.STEADY:
        lost = rate_si_per_s * after_s
    elif shape is LeakShape.IN_PROPORTION:
        held = np.maximum(level_si, 1e-300)
        lost = -held * np.expm1(np.clip(-rate_si_per_s * after_s / held, -FARTHEST, FARTHEST))
    elif shape is LeakShape.GROWING:
        lost = rate_si_per_s * np.expm1(np.clip(bend * after_s, -FARTHEST, FARTHEST)) / bend
    else:
        # A ramping rate began at nothing: before that nothing was lost.
        since = np.maximum(after_s, -1.0 / bend)
        lost = rate_si_per_s * (since + 0.5 * bend * since**2)
    found: Floats = np.asarray(lost, dtype=np.float64)
    return found


def rates_si_per_s(
    shape: LeakShape, level_si: Floats, rate_si_per_s: Floats, bend: Floats, after_s: Floats
) -> Floats:
    """The rate of the loss some time after the anchor: the slope of ``lost_si``."""
    if shape is LeakShape.STEADY:
        rate = rate_si_per_s * np.ones_like(after_s)
    elif shape is LeakShape.IN_PROPORTION:
        held = np.maximum(level_si, 1e-300)
        rate = rate_si_per_s * np.exp(np.clip(-rate_si_per_s * after_s / held, -FARTHEST, FARTHEST))
    elif shape is LeakShape.GROWING:
        rate = rate_si_per_s * np.exp(np.clip(bend * after_s, -FARTHEST, FARTHEST))
    else:
        rate = rate_si_per_s * np.maximum(1.0 + bend * after_s, 0.0)
    found: Floats = np.asarray(rate, dtype=np.float64)
    return found


def reached_in_s(
    shape: LeakShape,
    level_si: Floats,
    rate_si_per_s: Floats,
    bend: Floats,
    use_si_per_s: float,
    target_si: float,
) -> Floats:
    """How long from the anchor until a level is reached by loss and known use together; infinite for never.

    By Newton's steps from the steady line: it is too late for a loss that grows and too early for one that
    falls off, and both curves bend so that every step stays on its side.
    """
    level, rate, bend = np.broadcast_arrays(level_si, rate_si_per_s, bend)
    gap = level - target_si
    speed = np.maximum(rate, 0.0) + use_si_per_s
    moves = speed > 0.0
    time = np.where(moves, gap / np.where(moves, speed, 1.0), np.inf)
    if shape is LeakShape.STEADY:
        return np.where(gap > 0.0, time, 0.0)
    at = np.where(moves, time, 0.0)
    for _ in range(60):
        miss = lost_si(shape, level, rate, bend, at) + use_si_per_s * at - gap
        slope = rates_si_per_s(shape, level, rate, bend, at) + use_si_per_s
        step = np.where(slope > 0.0, miss / np.where(slope > 0.0, slope, 1.0), 0.0)
        at = at - step
        if np.all(np.abs(step) <= 1e-10 * (np.abs(at) + 1.0)):
            break
    if shape is LeakShape.IN_PROPORTION and use_si_per_s == 0.0:
        # What loses in proportion never loses all.
        moves = moves & ((target_si > 0.0) | (gap <= 0.0))
    return np.where(gap > 0.0, np.where(moves, at, np.inf), 0.0)
