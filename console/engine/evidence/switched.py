"""Loads that stand otherwise than was logged: which they may be, and until when the plan leaves them so.

Nobody knows which they are. Each sample takes loads at random that together make the change; each of them
goes on as it stands until the plan next moves it, as after a logged step.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from console.craft.model import Craft, HeatSource, LoadState
from console.engine.draws import Floats, standard_draws
from console.engine.evidence.ground import Given
from console.engine.evidence.shapes import Candidate
from console.engine.evidence.supply_evidence import SupplyEvidence
from console.engine.planned_rate import heat_of_load_w
from console.physics.cooling import water_for_heat_kg_per_s

CENTRAL_SEED, CENTRAL_COUNT = 1, 200
"""Of the sets of loads over which the central case is the mean."""

LARGEST_SHARE = 1.3
"""A load that makes more than this of the change is not part of it."""


def load_sets(
    craft: Craft, supply: str, states: Mapping[str, LoadState], rate_si_per_s: float, seed: int, count: int
) -> Floats:
    """Each sample's loads, by what part of the change each of them makes: (count + 1, loads).

    Row 0 is the mean over many, the same for ever. Where no load can make the change, it is laid to all of
    them alike.

    Args:
        craft: the craft.
        supply: whose draw changed.
        states: of the loads, as logged.
        rate_si_per_s: the change: negative where less is drawn than was logged.
        seed: of the luck.
        count: how many samples, row 0 besides.
    """
    mean: Floats = _drawn_sets(craft, supply, states, rate_si_per_s, CENTRAL_SEED, CENTRAL_COUNT).mean(axis=0)
    if not count:
        return mean.reshape(1, -1)
    return np.vstack((mean, _drawn_sets(craft, supply, states, rate_si_per_s, seed, count)))


def _drawn_sets(
    craft: Craft, supply: str, states: Mapping[str, LoadState], rate_si_per_s: float, seed: int, count: int
) -> Floats:
    """The sets of some samples, (count, loads)."""
    steps = _steps_si_per_s(craft, supply, states, more=rate_si_per_s > 0.0)
    fits = (steps > 0.0) & (steps <= LARGEST_SHARE * abs(rate_si_per_s))
    steps = np.where(fits if fits.any() else steps > 0.0, steps, 0.0)
    if not steps.any():
        return np.full((count, len(steps)), 1.0 / max(len(steps), 1))
    luck = np.column_stack([standard_draws(f"switched {name}", seed, count)[1:] for name in craft.loads])
    order = np.argsort(luck, axis=1, kind="stable")
    taken = steps[order]
    before = np.cumsum(taken, axis=1) - taken
    parts = np.clip(abs(rate_si_per_s) - before, 0.0, taken)
    found = np.zeros_like(parts)
    np.put_along_axis(found, order, parts, axis=1)
    shares: Floats = found / found.sum(axis=1, keepdims=True)
    return shares


def _steps_si_per_s(craft: Craft, supply: str, states: Mapping[str, LoadState], *, more: bool) -> Floats:
    """By how much each load may draw more, or less, than was logged: what must stay is not switched off."""
    steps = []
    for name, load in craft.loads.items():
        now = load.draw_si_per_s(states[name])
        less = 0.0 if load.stays else now
        step = load.draw_si_per_s(LoadState.ON) - now if more else less
        steps.append(step if load.supply == supply else 0.0)
    return np.array(steps)


def still_so(states: Sequence[Mapping[str, LoadState]], now_index: int) -> Floats:
    """Whether each load stands in each segment as it was left, 1 or 0: (loads, segments).

    Args:
        states: of the loads in each segment, as planned.
        now_index: the segment in progress.
    """
    names = list(states[now_index])
    stays = np.ones((len(names), len(states)))
    for row, name in enumerate(names):
        for segment in range(now_index + 1, len(states)):
            if states[segment][name] is not states[now_index][name]:
                stays[row, segment:] = 0.0
                break
    return stays


def told_of(
    craft: Craft, supply: str, states: Mapping[str, LoadState], found: Mapping[str, SupplyEvidence]
) -> tuple[Given, ...]:
    """What changes of loads must do to a supply whose water carries their heat away."""
    uses = [use for use in craft.uses if use.supply == supply and HeatSource.LOADS in use.evaporates_heat_of]
    given = []
    for use in uses:
        for name, one in found.items():
            way = one.ways[0]
            for place, change in enumerate(way.changes, start=1):
                if not change.of_loads or not craft.supplies[name].is_electrical:
                    continue
                rate, sd = float(way.mean[place]), float(np.linalg.norm(way.root[place]))
                heat, heat_sd = _heat_w_per_rate(craft, name, states, rate)
                per_w = water_for_heat_kg_per_s(1.0, use.feed_temperature_k)
                given.append(
                    Given(
                        change=Candidate(at_s=change.at_s, of_loads=True),
                        rate_si_per_s=per_w * heat * rate,
                        sd_si_per_s=per_w * float(np.hypot(heat * sd, heat_sd * rate)),
                    )
                )
    return tuple(given)


def _heat_w_per_rate(
    craft: Craft, supply: str, states: Mapping[str, LoadState], rate_si_per_s: float
) -> tuple[float, float]:
    """Heat that the cooling carries away for each unit of such a change: mean and deviation over the sets."""
    shares = _drawn_sets(craft, supply, states, rate_si_per_s, CENTRAL_SEED, CENTRAL_COUNT)
    heats = np.array(
        [
            heat_of_load_w(craft, load, LoadState.ON) / max(load.draw_si_per_s(LoadState.ON), 1e-12)
            for load in craft.loads.values()
        ]
    )
    by_set = shares @ heats
    return float(by_set.mean()), float(by_set.std())
