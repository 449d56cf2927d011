"""Whether two ways of knowing one quantity differ beyond their errors, reading after reading."""

from __future__ import annotations

import math

import numpy as np

from console.display import amount_text
from console.engine.validity.context import ChannelContext, Pair
from console.engine.validity.verdict import Doubt, Use, Verdict
from console.engine.validity.words import since_text

DISAGREE_SDS = 3.0
"""Two ways of knowing disagree beyond so many standard deviations of their difference,"""
DISAGREE_READINGS = 3
"""at so many readings on end,"""
SETTLED_READINGS = 10
"""and on the mean of so many: fresh noise would carry a harmless bias over the limit a few readings long."""
PLAIN_SDS = 4.0
"""Beyond so many the few readings are enough."""


def disagreements(context: ChannelContext) -> list[Verdict]:
    """Every pair of a channel that disagrees now, and has for at least three readings."""
    return [verdict for pair in context.pairs if (verdict := _disagreement(context, pair)) is not None]


def _disagreement(context: ChannelContext, pair: Pair) -> Verdict | None:
    own, others = pair.own, pair.others
    if len(own.times_s) < DISAGREE_READINGS or len(others.times_s) < DISAGREE_READINGS:
        return None
    first = int(np.searchsorted(own.times_s, others.times_s[0]))
    last = int(np.searchsorted(own.times_s, others.times_s[-1], side="right"))
    times = own.times_s[first:last]
    if len(times) < DISAGREE_READINGS:
        return None
    beside = np.interp(times, others.times_s, others.values_si)
    apart = own.values_si[first:last] - beside
    sd = math.hypot(own.sd_si, others.sd_si)
    limit = DISAGREE_SDS * sd
    # On the same side all along: two gauges that pass each other do not differ the same way.
    beyond = (np.abs(apart) > limit) & (np.sign(apart) == np.sign(apart[-1]))
    agreeing = np.flatnonzero(~beyond)
    begins = int(agreeing[-1]) + 1 if agreeing.size else 0
    if len(times) - begins < DISAGREE_READINGS:
        return None
    is_plain = bool((np.abs(apart[-DISAGREE_READINGS:]) > PLAIN_SDS * sd).all())
    if not is_plain and abs(float(apart[-SETTLED_READINGS:].mean())) <= limit:
        return None
    since_s = float(times[begins])
    own_si, other_si = float(own.values_si[first + len(times) - 1]), float(beside[-1])
    lower = context.channel.name if own_si <= other_si else pair.other
    return Verdict(
        channel=context.channel.name,
        kind=Doubt.DISAGREES,
        since_s=since_s,
        why=(
            f"{pair.store}: {context.channel.name} says {amount_text(own_si, pair.unit)}, {pair.other} says "
            f"{amount_text(other_si, pair.unit)}, apart beyond their errors since {since_text(since_s)}; the "
            f"lower, by {lower}, is used"
        ),
        use=Use.LOWER,
    )
