"""From the history of a craft to what it says of its model: one posterior over all factors, supply by supply.

A supply's readings change what is known of the factors that it shares with the next: what the meters of the
batteries say of the loads holds for the water that cools them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from console.craft.model import Craft, Supply
from console.craft.plan import Event
from console.engine.configuration import Configuration
from console.engine.draws import Floats
from console.engine.evidence.fit import fitted
from console.engine.evidence.ground import ground_of
from console.engine.evidence.lines_over_time import past_use, share_now
from console.engine.evidence.modelled import (
    factor_names,
    load_factor,
    load_shares,
    modelled,
    prior_sds,
)
from console.engine.evidence.observed import fed_since, level_rows, meter_rows
from console.engine.evidence.rows import BACK_S
from console.engine.evidence.supply_evidence import SupplyEvidence, supply_evidence
from console.engine.evidence.switched import told_of
from console.engine.evidence.wander import tau_of
from console.engine.planned_rate import LOADS_FACTOR, Corrections, use_factor
from console.engine.planned_use import PlannedUse
from console.engine.series import Series


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Evidence:
    """What was learnt of a craft."""

    names: tuple[str, ...]
    """Of the factors."""
    mean: Floats
    """Of each factor, as a fraction off 1, shape (factors,)."""
    covariance: Floats
    supplies: Mapping[str, SupplyEvidence]

    def corrections(self, craft: Craft) -> Corrections:
        """By what the model's draws are to be multiplied."""
        off = dict(zip(self.names, self.mean.tolist(), strict=True))
        shared = off.get(LOADS_FACTOR, 0.0)
        return Corrections(
            loads={name: _at_least(1.0 + shared + off[load_factor(name)]) for name in craft.loads},
            uses={use.name: _at_least(1.0 + off[use_factor(use.name)]) for use in craft.uses},
        )


LEAST_FACTOR = 0.05
"""A use is never taken for less than this share of its figure."""


def _at_least(factor: float) -> float:
    return max(factor, LEAST_FACTOR)


def evidence_of(
    craft: Craft,
    configuration: Configuration,
    events: tuple[Event, ...],
    past: PlannedUse,
    history: Mapping[str, Series],
    at_s: float,
    believed_until_s: Mapping[str, float],
) -> Evidence | None:
    """What the readings of the last day say; None where there is too little to say anything.

    Args:
        craft: the craft.
        configuration: what was switched how, and when.
        events: those of the plan; what they took is read, not presumed.
        past: the model's uses from ``begin_s`` on, every draw as listed.
        history: by channel, its good readings.
        at_s: the moment.
        believed_until_s: by channel whose newest readings are not to be believed, until when they are.
    """
    begin_s = float(past.starts_s[0])
    states = tuple(configuration.load_states_at(begin) for begin in past.starts_s.tolist())
    shares = load_shares(craft, states)
    names = factor_names(craft)
    mean, covariance = np.zeros(len(names)), np.diag(prior_sds(craft) ** 2)
    found: dict[str, SupplyEvidence] = {}
    for supply in sorted(craft.supplies.values(), key=lambda one: not one.is_electrical):
        stores = fed_since(supply, configuration, begin_s, at_s)
        args = (history, at_s, believed_until_s)
        level = level_rows(supply, stores, craft, *args)
        meter = meter_rows(supply, stores, craft.channels, *args)
        steps = steps_s(supply, events, craft, begin_s, at_s)
        level = None if level is None else level.between_events(steps)
        if level is not None and any(level.times_s[-1] < step for step in steps):
            # What it took since then no amount has seen: the level of now is not known by these rows.
            level = None
        with_effect = level is not None and not level.by_counter
        lines = past.supplies[supply.name]
        starts_s, fine = past_use(craft, supply.name, lines, past.starts_s, at_s, level)
        which = np.searchsorted(past.starts_s, starts_s, side="right") - 1
        parts = (fine, starts_s, shares[supply.name][:, which], [states[index] for index in which])
        level_model = modelled(craft, supply.name, *parts, with_rate_effect=with_effect)
        meter_model = modelled(craft, supply.name, *parts, with_rate_effect=False)
        given = told_of(craft, supply.name, states[past.now_index], found)
        ground = ground_of(level, meter, level_model, meter_model, steps, tau_of(supply), given)
        if ground is None:
            continue
        fit = fitted(ground, mean, covariance)
        rate = float(fine.rates_si_per_s[:, np.searchsorted(starts_s, at_s, side="right") - 1].sum())
        share = share_now(craft, supply.name, lines, past.starts_s, at_s)
        one = supply_evidence(supply, fit, rate, share)
        found[supply.name] = one
        mean, covariance = _learnt(mean, covariance, one)
    if not found:
        return None
    return Evidence(names=names, mean=mean, covariance=covariance, supplies=found)


def begin_s(configuration: Configuration, at_s: float) -> float:
    """From when on readings are compared: not across a module that was left behind with its stores."""
    drops = configuration.drops(at_s - BACK_S, at_s)
    return max([at_s - BACK_S, *(drop.at_s for drop in drops)])


def steps_s(
    supply: Supply, events: tuple[Event, ...], craft: Craft, begin_s: float, at_s: float
) -> tuple[float, ...]:
    """When events have taken from a supply or added to it."""
    own = {store.name for store in supply.stores}
    burns = craft.propulsion is not None and craft.propulsion.supply == supply.name
    moments = {
        event.at_s
        for event in events
        if supply.name in event.uses_si
        or (burns and event.burn_m_per_s is not None)
        or (
            event.transfer is not None
            and (event.transfer.source == supply.name or event.transfer.target_store in own)
        )
    }
    return tuple(sorted(at for at in moments if begin_s < at <= at_s))


def _learnt(mean: Floats, covariance: Floats, one: SupplyEvidence) -> tuple[Floats, Floats]:
    """All factors after one supply's readings, in the likeliest way."""
    way = one.ways[0]
    active = np.array(one.factors, dtype=np.intp)
    if not len(active):
        return mean, covariance
    first = 1 + len(way.changes)
    after = way.root[first:] @ way.root[first:].T
    before = covariance[np.ix_(active, active)]
    gain = np.linalg.solve(before, covariance[active]).T
    moved: Floats = mean + gain @ (way.mean[first:] - mean[active])
    spread: Floats = covariance + gain @ (after - before) @ gain.T
    return moved, 0.5 * (spread + spread.T)
