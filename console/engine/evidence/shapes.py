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
    store: str = ""
    """The only store that it comes from; empty where it comes from all."""
    of_loads: bool = False
    """Whether it is loads that stand otherwise than was logged, until the plan next moves them."""
    size_sd: float = 1.0
    """How large it was expected to be, as a share of the usual use."""

    @property
    def only_takes(self) -> bool:
        """Whether it is a leak, which never gives anything back."""
        return self.in_proportion or self.growth_per_s > 0.0


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


def until_empty(
    means: Floats, rate_si_per_s: float, from_s: float, starts_s: Floats, held_si: float
) -> Floats:
    """The mean rates of a loss from one store, up to where it has lost all that it holds at a moment."""
    spans_s = np.clip(np.diff(starts_s, append=starts_s[-1] + 1.0e9), 0.0, None)
    spans_s = np.clip(np.append(starts_s[1:], np.inf) - np.maximum(starts_s, from_s), 0.0, spans_s)
    lost = max(rate_si_per_s, 0.0) * means * spans_s
    left = np.maximum(held_si - (np.cumsum(lost) - lost), 0.0)
    found: Floats = np.where(
        lost > left, means * np.divide(left, lost, out=np.ones_like(lost), where=lost > 0), means
    )
    return found


def mean_rates_in_proportion(
    change: Candidate,
    anchor_s: float,
    starts_s: Floats,
    base_si_per_s: Floats,
    held_si: float,
    others_si: float,
    rate_si_per_s: float,
) -> Floats:
    """A leak's mean rate in each segment, for a rate of 1 at the anchor.

    dL/dt = -r - k L, with L the amount in what leaks, r its part of all other use (by what each store holds,
    as at the start of a segment) and k = rate / amount at the anchor; exact in each segment.

    Args:
        change: the leak.
        anchor_s: the moment for which level and rate hold.
        starts_s: of the segments, (segments,); the last does not end.
        base_si_per_s: all other use in each, (segments,).
        held_si: the amount in what leaks, at the anchor.
        others_si: the amount in the stores that feed beside it and do not leak.
        rate_si_per_s: the leak's rate then.
    """
    if held_si <= 0.0 or rate_si_per_s <= 0.0:
        return mean_rates(change, anchor_s, starts_s)
    k = rate_si_per_s / held_si
    held, others, means = held_si, max(others_si, 0.0), []
    ends = [*starts_s[1:].tolist(), starts_s[-1] + 1.0]
    for start_s, end_s, whole in zip(starts_s.tolist(), ends, base_si_per_s.tolist(), strict=True):
        span_s = end_s - max(start_s, anchor_s)
        if span_s <= 0.0:
            # Before the anchor what was held is not gone back to; it was more, and this is the lesser part.
            means.append(1.0 if end_s > change.at_s else 0.0)
            continue
        base = whole * held / (held + others) if held > 0.0 else 0.0
        others = max(others - (whole - base) * span_s, 0.0)
        after = max((held + base / k) * float(np.exp(-k * span_s)) - base / k, 0.0)
        means.append(max(held - after - base * span_s, 0.0) / (k * span_s) / held_si)
        held = after
    return np.array(means)
