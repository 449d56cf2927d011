"""Uses that change while nothing is switched: a leak of a store, and what the absorbent takes up.

A leaking store loses in proportion to what it still holds. The absorbent takes up what the stream brings it:
when people breathe out more or less, the air of the cabin follows only by and by.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from console.craft.model import Craft, Metabolic
from console.engine.draws import Floats
from console.engine.evidence.shapes import Candidate, mean_rates_in_proportion
from console.physics.cabin_air import removal_per_s

if TYPE_CHECKING:
    from console.engine.evidence.observed import LevelRows
    from console.engine.planned_use import SupplyUse

STRETCH_S = 1800.0
"""Of the past, in how long stretches such uses are reckoned."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Now:
    """What such uses go on from."""

    at_s: float
    held_si: Mapping[str, float]
    """By store, what it holds."""
    following: float
    """What the absorbent takes up, as a share of what the people breathe out."""


def changing_lines(craft: Craft, supply: str) -> tuple[tuple[str, ...], dict[str, str]]:
    """The lines of one supply that follow the air, and those that leak: by name, from which store."""
    uses = [use for use in craft.uses if use.supply == supply]
    follows = tuple(
        use.name for use in uses if use.metabolic is Metabolic.CARBON_DIOXIDE and lag_s(craft) > 0.0
    )
    leaks = {
        use.name: use.of_store
        for use in uses
        if use.of_store is not None and (use.hole_m2 is not None or use.at_pressure_pa is not None)
    }
    return follows, leaks


def lag_s(craft: Craft) -> float:
    """In which the air of the cabin follows the people by two thirds; 0 where no stream is described."""
    cabin = craft.cabin
    if cabin is None or cabin.removal is None:
        return 0.0
    per_s = removal_per_s(cabin.removal.flow_m3_per_s, cabin.removal.efficiency_fraction, cabin.volume_m3)
    return 1.0 / per_s if per_s > 0.0 else 0.0


def past_use(
    craft: Craft, supply: str, use: SupplyUse, starts_s: Floats, at_s: float, level: LevelRows | None
) -> tuple[Floats, SupplyUse]:
    """A supply's uses up to now in stretches so short that such uses show their course.

    Args:
        craft: the craft.
        supply: the supply's name.
        use: the model's uses, as they would be with what is read now.
        starts_s: of its segments.
        at_s: the moment.
        level: what the stores held, as read; None where nothing tells it.
    """
    follows, leaks = changing_lines(craft, supply)
    leaks = {name: store for name, store in leaks.items() if level is not None and store in level.stores}
    if not follows and not leaks:
        return starts_s, use
    fine_s = np.unique(np.concatenate((starts_s, np.arange(starts_s[0], at_s, STRETCH_S))))
    rates = use.rates_si_per_s[:, np.searchsorted(starts_s, fine_s, side="right") - 1].copy()
    for row, key in enumerate(use.keys):
        if key.name in follows:
            rates[row], _ = following(rates[row], fine_s, lag_s(craft), 1.0)
        elif key.name in leaks and level is not None:
            held = level.by_store_si[level.stores.index(leaks[key.name])]
            middles = np.append(0.5 * (fine_s[1:] + fine_s[:-1]), fine_s[-1])
            if held[-1] > 0.0:
                rates[row] *= np.interp(np.minimum(middles, at_s), level.times_s, held) / held[-1]
    return fine_s, replace(use, rates_si_per_s=rates)


def share_now(craft: Craft, supply: str, use: SupplyUse, starts_s: Floats, at_s: float) -> float:
    """What the absorbent takes up now, as a share of what the people breathe out."""
    follows, _ = changing_lines(craft, supply)
    for row, key in enumerate(use.keys):
        if key.name in follows:
            before = starts_s <= at_s
            rates = use.rates_si_per_s[row][before]
            ends_s = np.append(starts_s[before], at_s)
            _, last = following(np.append(rates, rates[-1]), ends_s, lag_s(craft), 1.0)
            return last / float(rates[-1]) if rates[-1] > 0.0 else 1.0
    return 1.0


def future_use(craft: Craft, supply: str, use: SupplyUse, starts_s: Floats, now: Now) -> SupplyUse:
    """A supply's uses from now on, as means over each segment."""
    follows, leaks = changing_lines(craft, supply)
    leaks = {name: store for name, store in leaks.items() if now.held_si.get(store, 0.0) > 0.0}
    if not follows and not leaks:
        return use
    rates = use.rates_si_per_s.copy()
    first = max(int(np.searchsorted(starts_s, now.at_s, side="right")) - 1, 0)
    times_s = np.append(max(now.at_s, starts_s[first]), starts_s[first + 1 :])
    for row, key in enumerate(use.keys):
        if key.name in follows:
            rates[row, first:], _ = following(rates[row, first:], times_s, lag_s(craft), now.following)
        elif key.name in leaks:
            base = rates[:, first:].sum(axis=0) - rates[row, first:]
            held = now.held_si[leaks[key.name]]
            leak = Candidate(at_s=now.at_s, in_proportion=True)
            others = sum(now.held_si.values()) - held
            begun = float(rates[row, first])
            rates[row, first:] = np.where(rates[row, first:] > 0.0, begun, 0.0) * mean_rates_in_proportion(
                leak, now.at_s, times_s, base, held, others, begun
            )
    rates.setflags(write=False)
    return replace(use, rates_si_per_s=rates)


def following(rates: Floats, starts_s: Floats, lag_s: float, share: float) -> tuple[Floats, float]:
    """What follows a rate that changes in steps: its mean in each segment, and where it stands at the last.

    dr/dt = (rate - r) / lag, from a share of the first rate on; the last segment does not end.
    """
    if not len(rates):
        return rates, 0.0
    means, stands = np.array(rates, dtype=np.float64), share * float(rates[0])
    for index, span_s in enumerate(np.diff(starts_s).tolist()):
        target, off = float(rates[index]), stands - float(rates[index])
        if span_s > 0.0:
            means[index] = target - off * lag_s / span_s * float(np.expm1(-span_s / lag_s))
        stands = target + off * float(np.exp(-span_s / lag_s))
    return means, stands
