"""What is known at one moment, whatever way home is taken: quantities, the cabin's pressure, logged steps.

Every look ahead (the committed option, another one, a supposition) starts from the same Known.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from console.craft.model import Craft
from console.craft.plan import Plan
from console.engine.charge import ChargeMemory, charge_estimates, next_charges
from console.engine.configuration import Configuration, ConfigurationChange
from console.engine.decision import Decision
from console.engine.planned_rate import CabinPressure
from console.engine.quantity import ChargeEstimate, StoreQuantity, store_quantity
from console.engine.reading import FeedState
from console.engine.series import Series
from console.engine.surroundings import cabin_pressure

if TYPE_CHECKING:
    from console.engine.evidence.evidence import Evidence
    from console.engine.gauge_rate import GaugeRate
    from console.engine.validity.verdict import Verdict


@dataclass(frozen=True, kw_only=True, slots=True)
class Situation:
    """All that an assessment depends on."""

    slug: str
    craft: Craft
    plan: Plan
    feed: FeedState
    changes: tuple[ConfigurationChange, ...]
    """Logged steps, in the journal's order."""
    notices: tuple[str, ...] = ()
    """What whoever gathered this has to say to whoever reads the Snapshot."""
    decision: Decision | None = None
    """By which the plan's committed option is in force; None where nobody has logged one."""
    supposed: tuple[ConfigurationChange, ...] = ()
    """Steps that nobody has taken, now or ahead: laid over what was logged to see what they would do."""
    at_s: float
    charges: Mapping[str, ChargeMemory] = field(default_factory=dict)
    """What the last assessment remembered of batteries with a counted charge and a gauge."""
    history: Mapping[str, Series] = field(default_factory=dict)
    """By channel, its good readings of the last day; empty where nobody keeps them."""
    judged: Known | None = None
    """What its readings tell of the craft as it is, before anything was supposed: see ``judged``."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Judged:
    """What readings tell by their history."""

    feed: FeedState
    verdicts: Mapping[str, tuple[Verdict, ...]] = field(default_factory=dict)
    evidence: Evidence | None = None
    gauge_rates: Mapping[str, GaugeRate] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True, slots=True)
class Known:
    """One moment, as far as readings and the journal tell it."""

    craft: Craft
    feed: FeedState
    """What is taken of it: where its history speaks against a reading, what stands in for that."""
    at_s: float
    changes: tuple[ConfigurationChange, ...]
    """The logged steps up to now, and the supposed ones."""
    quantities: Mapping[str, StoreQuantity]
    """By store."""
    pressure: CabinPressure
    charges: Mapping[str, ChargeMemory]
    """By battery, what is followed of its counted charge and gauge, these readings included."""
    evidence: Evidence | None = None
    """What the history says of the model; None where there is too little of it."""
    verdicts: Mapping[str, tuple[Verdict, ...]] = field(default_factory=dict)
    """By channel, what its history says against its newest word."""
    gauge_rates: Mapping[str, GaugeRate] = field(default_factory=dict)
    """By supply without meters, what its gauges say of its present rate."""
    as_read: Mapping[str, StoreQuantity] = field(default_factory=dict)
    """By store, what its newest readings alone say: ``quantities`` without what all of them say together."""


def judged(situation: Situation, known: Known | None = None) -> Situation:
    """The situation with what its readings tell held fast, so that no supposition changes any of that.

    A craft that is supposed (without a store, with another leak) has not been read: judged by its own model,
    the readings of the real one would speak against what is supposed.

    Args:
        situation: the one as it is.
        known: what it tells, where that was reckoned already.
    """
    if situation.judged is not None or not situation.history:
        return situation
    return replace(situation, judged=known_of(situation) if known is None else known)


def _supposed(situation: Situation, real: Known) -> Known:
    """What the readings of the real craft tell of one that is supposed."""
    craft = situation.craft
    names = {store.name for supply in craft.supplies.values() for store in supply.stores}
    logged = tuple(change for change in situation.changes if change.at_s <= situation.at_s)
    return replace(
        real,
        craft=craft,
        changes=(*logged, *situation.supposed),
        quantities={name: one for name, one in real.quantities.items() if name in names},
        pressure=cabin_pressure(craft, real.feed),
        evidence=_carried(real, craft),
    )


def _carried(real: Known, craft: Craft) -> Evidence | None:
    if real.evidence is None:
        return None
    from console.engine.evidence.carried import carried

    return carried(real.evidence, real.craft, craft)


def known_of(situation: Situation) -> Known:
    """What a situation tells."""
    if situation.judged is not None and situation.judged.at_s == situation.at_s:
        return _supposed(situation, situation.judged)
    logged = tuple(change for change in situation.changes if change.at_s <= situation.at_s)
    changes = (*logged, *situation.supposed)
    craft, at_s = situation.craft, situation.at_s
    configuration = _configuration(situation, logged)
    read = _judged(situation, configuration, logged)
    feed, evidence = read.feed, read.evidence
    charges = next_charges(situation.charges, craft, feed.readings, at_s)
    fused = charge_estimates(charges, craft, feed.readings, at_s)
    quantities = _since_fitted(_quantities(situation, feed, changes, fused), configuration, at_s)
    return Known(
        craft=craft,
        feed=feed,
        at_s=at_s,
        changes=changes,
        quantities=_smoothed(quantities, evidence, craft, feed),
        pressure=cabin_pressure(craft, feed),
        charges=charges,
        evidence=evidence,
        verdicts=read.verdicts,
        gauge_rates=read.gauge_rates,
        as_read=quantities,
    )


def _smoothed(
    quantities: Mapping[str, StoreQuantity], evidence: Evidence | None, craft: Craft, feed: FeedState
) -> Mapping[str, StoreQuantity]:
    if evidence is None:
        return quantities
    from console.engine.evidence.smoothing import smoothed

    return smoothed(quantities, evidence, craft, feed.readings)


def _judged(
    situation: Situation, configuration: Configuration, logged: tuple[ConfigurationChange, ...]
) -> Judged:
    """The readings as far as their history lets them be believed, and what it says of the model."""
    if not situation.history:
        return Judged(feed=situation.feed)
    from console.engine.judging import judged_by_history  # only who keeps a history pays for it

    return judged_by_history(situation, configuration, logged)


def _configuration(situation: Situation, logged: tuple[ConfigurationChange, ...]) -> Configuration:
    """What was switched how up to now; what is supposed has not been."""
    plan = situation.plan
    option = plan.options[plan.committed]
    return Configuration(situation.craft, plan.phases_under(option), plan.events_under(option), logged)


def _since_fitted(
    quantities: Mapping[str, StoreQuantity], configuration: Configuration, at_s: float
) -> dict[str, StoreQuantity]:
    """Stores without a gauge that were opened on the way: full then, and reckoned by the plan since."""
    found = dict(quantities)
    for move in configuration.feeding_moves(-math.inf, at_s):
        one = found[move.store]
        if move.opens and one.basis == "capacity":
            why = "; ".join(
                filter(None, (one.why, "no gauge: full when it began to feed, by the plan since"))
            )
            found[move.store] = replace(one, as_of_s=move.at_s, why=why)
    return found


def _quantities(
    situation: Situation,
    feed: FeedState,
    changes: tuple[ConfigurationChange, ...],
    fused: Mapping[str, ChargeEstimate],
) -> dict[str, StoreQuantity]:
    return {
        store.name: store_quantity(
            store,
            supply,
            feed.readings,
            situation.craft.channels,
            tuple((change.at_s, change.used_si.get(store.name, 0.0)) for change in changes),
            situation.at_s,
            fused.get(store.name),
        )
        for supply in situation.craft.supplies.values()
        for store in supply.stores
    }
