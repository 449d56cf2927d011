"""What the history of readings says: which words are believed, what the model is off by, present rates."""

from __future__ import annotations

import math
from dataclasses import replace

from console.engine.configuration import Configuration, ConfigurationChange
from console.engine.doubts import believed_until_s, doubts_of
from console.engine.evidence.evidence import begin_s, evidence_of
from console.engine.gauge_rate import gauge_rates
from console.engine.known import Judged, Situation
from console.engine.planned_use import planned_use
from console.engine.surroundings import cabin_pressure
from console.engine.validity.belief import believed


def judged_by_history(
    situation: Situation, configuration: Configuration, logged: tuple[ConfigurationChange, ...]
) -> Judged:
    """The readings as far as their history lets them be believed, and what it says of the model.

    Args:
        situation: with a history.
        configuration: what was switched how up to now.
        logged: the logged steps up to now.
    """
    craft, plan, feed, at_s = situation.craft, situation.plan, situation.feed, situation.at_s
    option = plan.options[plan.committed]
    events = plan.events_under(option)
    pressure = cabin_pressure(craft, feed)
    since_s, soon_s = begin_s(configuration, at_s), math.nextafter(at_s, math.inf)
    past = planned_use(craft, configuration, since_s, at_s, pressure, {}, until_s=soon_s)
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
    readings = believed(feed.readings, verdicts, situation.history)
    read = (craft, configuration, events, past, situation.history, at_s, believed_until_s(verdicts))
    evidence = evidence_of(*read)
    return Judged(
        feed=replace(feed, readings=readings),
        verdicts=verdicts,
        evidence=evidence,
        gauge_rates=gauge_rates(*read, evidence),
    )
