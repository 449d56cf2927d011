"""What is known at one moment, whatever way home is taken: quantities, the cabin's pressure, logged steps.

Every look ahead (the committed option, another one, a supposition) starts from the same Known.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from console.craft.model import Craft
from console.craft.plan import Plan
from console.engine.charge import ChargeMemory, charge_estimates, next_charges
from console.engine.configuration import Configuration, ConfigurationChange
from console.engine.decision import Decision
from console.engine.doubts import Verdicts, believed_until_s, doubts_of
from console.engine.evidence.evidence import Evidence, begin_s, evidence_of
from console.engine.evidence.smoothing import smoothed
from console.engine.planned_rate import CabinPressure
from console.engine.planned_use import planned_use
from console.engine.quantity import ChargeEstimate, StoreQuantity, store_quantity
from console.engine.reading import FeedState, Reading
from console.engine.series import Series
from console.engine.surroundings import cabin_pressure
from console.engine.validity.belief import believed


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
    verdicts: Verdicts = field(default_factory=dict)
    """By channel, what its history says against its newest word."""


def known_of(situation: Situation) -> Known:
    """What a situation tells."""
    logged = tuple(change for change in situation.changes if change.at_s <= situation.at_s)
    changes = (*logged, *situation.supposed)
    craft, at_s = situation.craft, situation.at_s
    configuration = _configuration(situation, logged)
    feed, verdicts, evidence = _judged(situation, configuration, logged)
    charges = next_charges(situation.charges, craft, feed.readings, at_s)
    fused = charge_estimates(charges, craft, feed.readings, at_s)
    quantities = _since_fitted(_quantities(situation, feed, changes, fused), configuration, at_s)
    return Known(
        craft=craft,
        feed=feed,
        at_s=at_s,
        changes=changes,
        quantities=quantities if evidence is None else smoothed(quantities, evidence, craft, feed.readings),
        pressure=cabin_pressure(craft, feed),
        charges=charges,
        evidence=evidence,
        verdicts=verdicts,
    )


def _judged(
    situation: Situation, configuration: Configuration, logged: tuple[ConfigurationChange, ...]
) -> tuple[FeedState, Verdicts, Evidence | None]:
    """The readings as far as their history lets them be believed, and what it says of the model."""
    craft, plan, feed, at_s = situation.craft, situation.plan, situation.feed, situation.at_s
    if not situation.history:
        return feed, {}, None
    option = plan.options[plan.committed]
    events = plan.events_under(option)
    pressure = cabin_pressure(craft, feed)
    past = planned_use(craft, configuration, begin_s(configuration, at_s), at_s, pressure, {})
    verdicts = doubts_of(
        craft,
        configuration,
        plan.phases_under(option),
        events,
        logged,
        past,
        situation.history,
        feed.readings,
        at_s,
    )
    readings: Mapping[str, Reading] = believed(feed.readings, verdicts, situation.history)
    evidence = evidence_of(
        craft, configuration, events, past, situation.history, at_s, believed_until_s(verdicts)
    )
    return replace(feed, readings=readings), verdicts, evidence


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
