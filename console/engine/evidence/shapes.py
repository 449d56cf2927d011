"""How a change of use goes on from its beginning: steady, growing, or by what a vessel holds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from console.engine.draws import Floats


@dataclass(frozen=True, kw_only=True, slots=True)
class Candidate:
    """One change: its moment and its shape. Its rate is counted as it is at the anchor."""

    at_s: float
    growth_per_s: float = 0.0
    """By how much its rate grows, as a fraction per second: 0 for one that is steady."""
    in_proportion: bool = False
    """Whether it goes by what the vessel holds, as a leak does."""


def taken_until_anchor(from_s: Floats, growth_per_s: float) -> Floats:
    """What is taken from some moments up to the anchor, from which they are counted, at rate 1 there."""
    if growth_per_s == 0.0:
        return -from_s
    taken: Floats = -np.expm1(growth_per_s * from_s) / growth_per_s
    return taken


def mean_rates(change: Candidate, anchor_s: float, starts_s: Floats) -> Floats:
    """A steady or growing change's mean rate in each segment, for a rate of 1 at the anchor.

    The last segment does not end: its first second stands for it.
    """
    growth = change.growth_per_s
    ends_s = np.append(starts_s[1:], starts_s[-1] + 1.0)
    if growth == 0.0:
        return np.clip((ends_s - change.at_s) / (ends_s - starts_s), 0.0, 1.0)
    begin = np.maximum(starts_s, change.at_s) - anchor_s
    end = np.maximum(ends_s, change.at_s) - anchor_s
    # Beyond e^50 any supply is gone.
    grown = np.exp(np.minimum(growth * begin, 50.0)) * np.expm1(np.clip(growth * (end - begin), -50.0, 50.0))
    rates: Floats = grown / growth / (ends_s - starts_s)
    return rates


def mean_rates_in_proportion(
    change: Candidate,
    anchor_s: float,
    starts_s: Floats,
    base_si_per_s: Floats,
    level_si: float,
    rate_si_per_s: float,
) -> Floats:
    """A leak's mean rate in each segment, for a rate of 1 at the anchor.

    dL/dt = -r - k L, with L the amount, r all other use and k = rate / level at the anchor; exact in each
    segment.

    Args:
        change: the leak.
        anchor_s: the moment for which level and rate hold.
        starts_s: of the segments, (segments,); the last does not end.
        base_si_per_s: all other use in each, (segments,).
        level_si: the amount at the anchor.
        rate_si_per_s: the leak's rate then.
    """
    if level_si <= 0.0 or rate_si_per_s <= 0.0:
        return mean_rates(change, anchor_s, starts_s)
    k = rate_si_per_s / level_si
    held, means = level_si, []
    ends = [*starts_s[1:].tolist(), starts_s[-1] + 1.0]
    for start_s, end_s, base in zip(starts_s.tolist(), ends, base_si_per_s.tolist(), strict=True):
        span_s = end_s - max(start_s, anchor_s)
        if span_s <= 0.0:
            # Before the anchor what was held is not gone back to; it was more, and this is the lesser part.
            means.append(1.0 if end_s > change.at_s else 0.0)
            continue
        after = max((held + base / k) * float(np.exp(-k * span_s)) - base / k, 0.0)
        means.append(max(held - after - base * span_s, 0.0) / (k * span_s) / level_si)
        held = after
    return np.array(means)
