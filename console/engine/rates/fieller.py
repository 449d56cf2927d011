"""When a line reaches a level, with its interval: Fieller's set, which may have no upper end.

A slope that cannot be told from zero leaves the set open; that is said, and no number is made up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from console.engine.draws import Floats
from console.engine.rates.student import student_quantile


class Reaching(Enum):
    """Whether a line gets to a level."""

    REACHES = "reaches it"
    NO_UPPER_END = "no upper limit"
    """The slope cannot be told from zero, or from one that leads away."""
    LEADS_AWAY = "leads away from it"
    """It clearly does not get there."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Reach:
    """How long until a level is reached, 90 % of the time between low and high."""

    reaching: Reaching
    low_s: float | None
    """None where it clearly leads away."""
    central_s: float | None
    """None where the best line does not lead there."""
    high_s: float | None
    """None where there is none."""
    g: float
    """Fieller's: the quantile times the slope's relative error, squared; from 1 on there is no upper end."""


def reach(
    level_si: float,
    slope_si_per_s: float,
    covariance: Floats,
    target_si: float,
    freedom: float = math.inf,
    bias_sd_si: float = 0.0,
    probability: float = 0.9,
) -> Reach:
    """How long until the line is at a level, from the moment for which ``level_si`` holds.

    All x >= 0 with (a + b x)² <= q² (Vaa + 2 x Vab + x² Vbb), where a = level - target, b the slope, V their
    covariance with the bias's variance added to Vaa, q Student's quantile for the freedom.

    Source: Fieller, J. R. Stat. Soc. B 16 (1954) (from memory).

    Args:
        level_si: now.
        slope_si_per_s: below 0 for what falls.
        covariance: of level and slope, (2, 2).
        target_si: the level.
        freedom: of the covariance.
        bias_sd_si: a steady error of the level beside it.
        probability: of both ends together.
    """
    tail = 0.5 * (1.0 + probability)
    square = student_quantile(tail, min(freedom, 1e6)) ** 2
    a, b = level_si - target_si, slope_si_per_s
    vaa = float(covariance[0, 0]) + bias_sd_si**2
    vab, vbb = float(covariance[0, 1]), float(covariance[1, 1])
    g = math.inf if b == 0.0 else square * vbb / b**2
    first, half, last = b * b - square * vbb, a * b - square * vab, a * a - square * vaa
    central = 0.0 if a <= 0.0 else (-a / b if b < 0.0 else None)
    root = math.sqrt(max(half * half - first * last, 0.0))
    if last <= 0.0:
        # It may be there already.
        high = _larger(first, half, last, root) if first > 0.0 and b < 0.0 else None
        reaching = Reaching.NO_UPPER_END if high is None else Reaching.REACHES
        return Reach(reaching=reaching, low_s=0.0, central_s=central, high_s=high, g=g)
    if a < 0.0:
        return Reach(reaching=Reaching.REACHES, low_s=0.0, central_s=0.0, high_s=0.0, g=g)
    if first > 0.0:
        if b > 0.0:
            return Reach(reaching=Reaching.LEADS_AWAY, low_s=None, central_s=None, high_s=None, g=g)
        low, farther = last / (-half + root), _larger(first, half, last, root)
        return Reach(reaching=Reaching.REACHES, low_s=low, central_s=central, high_s=farther, g=g)
    # The set is what lies outside two roots, of which one is positive: it begins there and goes on for ever.
    if root <= half:
        return Reach(reaching=Reaching.LEADS_AWAY, low_s=None, central_s=central, high_s=None, g=g)
    begins = last / (root - half)
    return Reach(reaching=Reaching.NO_UPPER_END, low_s=begins, central_s=central, high_s=None, g=g)


def _larger(first: float, half: float, last: float, root: float) -> float:
    """The larger root of first x² + 2 half x + last = 0 with first > 0."""
    return (root - half) / first if half <= 0.0 else max(last / -(half + root), 0.0)
