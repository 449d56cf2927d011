"""From the evidence to what is shown of it: how far uses are off, what nobody logged and what explains it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from itertools import combinations

import numpy as np

from console.craft.model import Craft, Load, LoadState, Supply
from console.engine.configuration import Configuration
from console.engine.draws import Floats
from console.engine.evidence.evidence import Evidence
from console.engine.evidence.modelled import load_factor, prior_sds
from console.engine.evidence.shapes import Candidate
from console.engine.evidence.supply_evidence import SupplyEvidence, Way
from console.engine.learnt import Cause, ChangeCourse, UnloggedChange, UseFactor
from console.engine.planned_rate import LOADS_FACTOR, use_factor
from console.engine.planned_use import PlannedUse

ALL_LOADS = "loads"
LEARNT_SHARE = 0.9
"""A factor is shown where its spread is at most this share of what the config gives it."""
SHOWN_PROBABILITY = 0.5
TOGETHER_S = 3.0 * 3600.0
"""Losses that began within so long of each other are told as one."""
MOST_CAUSES = 5
SINGLE_FITS_SD = 2.0
"""Two switchings together are looked at where no single one lies so near."""

Switching = tuple[str, LoadState, LoadState]


def use_factors(evidence: Evidence, craft: Craft, supply: Supply, use: PlannedUse) -> tuple[UseFactor, ...]:
    """By how much each group of a supply's uses is taken to be off its figure, where readings said anything.

    Args:
        evidence: what was learnt.
        craft: the craft.
        supply: the supply.
        use: the plan's uses.
    """
    before = np.diag(prior_sds(craft) ** 2)
    found = []
    for name, weights in _groups(evidence, craft, supply, use):
        sd = math.sqrt(max(float(weights @ evidence.covariance @ weights), 0.0))
        prior_sd = math.sqrt(float(weights @ before @ weights))
        if sd <= LEARNT_SHARE * prior_sd:
            found.append(UseFactor(name=name, factor=1.0 + float(weights @ evidence.mean), sd=sd))
    return tuple(found)


def _groups(
    evidence: Evidence, craft: Craft, supply: Supply, use: PlannedUse
) -> Iterable[tuple[str, Floats]]:
    """The groups of a supply's uses, each with its weights on the craft's factors."""
    place = {name: index for index, name in enumerate(evidence.names)}
    if supply.is_electrical and LOADS_FACTOR in place:
        weights = np.zeros(len(place))
        weights[place[LOADS_FACTOR]] = 1.0
        shares = use.load_shares[supply.name][:, use.now_index]
        for load, share in zip(craft.loads, shares.tolist(), strict=True):
            weights[place[load_factor(load)]] = share
        yield ALL_LOADS, weights
    own = dict.fromkeys(name for key in use.supplies[supply.name].keys for name in key.factors)
    for one in craft.uses:
        name = use_factor(one.name)
        if name in own and one.supply == supply.name:
            weights = np.zeros(len(place))
            weights[place[name]] = 1.0
            yield one.name, weights


def unlogged_changes(
    evidence: Evidence, craft: Craft, supply: Supply, configuration: Configuration
) -> tuple[UnloggedChange, ...]:
    """The changes of a supply's use that no entry explains and that the readings make likely."""
    one = evidence.supplies.get(supply.name)
    if one is None:
        return ()
    way = one.ways[0]
    probability = sum(each.weight for each in one.ways if each.changes)
    if not way.changes or probability < SHOWN_PROBABILITY:
        return ()
    return tuple(
        _change(one, way, places, probability, craft, configuration) for places in _together(way.changes)
    )


def _together(changes: tuple[Candidate, ...]) -> list[list[int]]:
    """The places of changes that people should see as one: losses that began about the same time.

    The readings may tell apart how such a loss goes on only as a sum of several courses.
    """
    found: list[list[int]] = []
    for place, change in sorted(enumerate(changes), key=lambda each: each[1].at_s):
        last = found[-1] if found else None
        if (
            last is not None
            and not change.of_loads
            and not changes[last[0]].of_loads
            and change.at_s - changes[last[-1]].at_s <= TOGETHER_S
        ):
            last.append(place)
        else:
            found.append([place])
    return found


def _change(
    one: SupplyEvidence,
    way: Way,
    places: list[int],
    probability: float,
    craft: Craft,
    configuration: Configuration,
) -> UnloggedChange:
    rates = [float(way.mean[1 + place]) for place in places]
    largest = way.changes[max(places, key=lambda place: abs(float(way.mean[1 + place])))]
    row = way.root[[1 + place for place in places]].sum(axis=0)
    rate, sd = sum(rates), math.sqrt(float(row @ row))
    course = ChangeCourse.STEADY
    if largest.in_proportion:
        course = ChangeCourse.IN_PROPORTION
    elif largest.growth_per_s:
        course = ChangeCourse.GROWING
    states = configuration.load_states_at(largest.at_s)
    causes = _causes(craft, one.supply, states, rate, sd) if course is ChangeCourse.STEADY else ()
    return UnloggedChange(
        supply=one.supply,
        store=largest.store,
        since_s=largest.at_s,
        change_si_per_s=rate,
        sd_si_per_s=sd,
        probability=probability,
        course=course,
        doubles_in_s=math.log(2.0) / largest.growth_per_s if largest.growth_per_s > 0.0 else None,
        parts=tuple(places),
        causes=causes,
    )


def _causes(
    craft: Craft, supply: str, states: Mapping[str, LoadState], size: float, sd: float
) -> tuple[Cause, ...]:
    """The switchings that explain a change, each weighed by how near its draw comes.

    A load draws its listed amps but for the spread of all loads; "something else" is anything up to what all
    loads together draw, and takes its share.
    """
    loads = [load for load in craft.loads.values() if load.supply == supply]
    singles = [((switching,), by) for load in loads for switching, by in _switchings(load, states[load.name])]
    spread = craft.load_spread_fraction or 0.0
    reach = sum(load.draw_si_per_s(LoadState.ON) for load in loads)
    if not singles or reach <= 0.0:
        return ()
    tried: list[tuple[tuple[Switching, ...], float]] = list(singles)
    if min(_off(size, sd, by, spread) for _, by in singles) > SINGLE_FITS_SD:
        tried += [
            (first + second, by + other)
            for (first, by), (second, other) in combinations(singles, 2)
            if first[0][0] != second[0][0]
        ]
    weights = [_weight(size, sd, by, spread) for _, by in tried]
    total = sum(weights) + 1.0 / reach
    ranked = sorted(zip(weights, tried, strict=True), key=lambda each: -each[0])
    return tuple(
        Cause(loads=switchings, change_si_per_s=by, share=weight / total)
        for weight, (switchings, by) in ranked[:MOST_CAUSES]
        if _off(size, sd, by, spread) <= 3.0
    )


def _switchings(load: Load, state: LoadState) -> Iterable[tuple[Switching, float]]:
    """What a load may have been switched to, and by how much its draw would change."""
    seen = {load.draw_si_per_s(state)}
    for other in (LoadState.ON, LoadState.OFF, LoadState.STANDBY):  # off before a standby that draws nothing
        draw = load.draw_si_per_s(other)
        if draw not in seen:
            seen.add(draw)
            yield (load.name, state, other), draw - load.draw_si_per_s(state)


def _sd(sd: float, by: float, spread: float) -> float:
    return math.hypot(sd, spread * by)


def _off(size: float, sd: float, by: float, spread: float) -> float:
    return abs(size - by) / _sd(sd, by, spread)


def _weight(size: float, sd: float, by: float, spread: float) -> float:
    """The density of the size that was found, were this the cause."""
    width = _sd(sd, by, spread)
    return math.exp(-0.5 * ((size - by) / width) ** 2) / (width * math.sqrt(2.0 * math.pi))
