"""Changing over from the present course to another way home at one moment: as a plan, and as a course.

The present course is the committed way home with what was logged. Carrying on means that its phases and its
own events go on until that moment; from then on the other's do, and the phase of it in progress then begins
then. Says what is flown; ``look_ahead`` says what it costs.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from console.craft.model import Craft
from console.craft.plan import Event, Option, Plan, phase_at
from console.engine.ahead import Ahead
from console.engine.course import Course
from console.engine.draws import Floats


def switched_at(plan: Plan, option: Option, at_s: float) -> Option:
    """The way home that is flown if we carry on as we are and take another one at a moment.

    What both ways have in common happens either way. Of what they do not, the present course's events up to
    the moment happen, and the other's after it.
    """
    present = plan.options[plan.committed]
    ahead = plan.phases_under(option)
    before = tuple(phase for phase in plan.phases_under(present) if phase.start_s < at_s)
    begun = replace(phase_at(ahead, at_s), start_s=at_s)
    after = tuple(phase for phase in ahead if phase.start_s > at_s)
    events = [event for event in present.events if event.at_s <= at_s or event in option.events]
    events += [event for event in own_events(option, present) if event.at_s > at_s]
    return replace(option, phases=(*before, begun, *after), events=tuple(events))


def own_events(option: Option, other: Option) -> tuple[Event, ...]:
    """The events of a way home that the other does not have."""
    return tuple(event for event in option.events if event not in other.events)


def switched_out_s(before: Course, after: Course, at_s: float, more_si: float = 0.0) -> Floats:
    """When a supply runs out on one course up to a moment, and on what another takes and brings from then on.

    That is the course of the switch wherever what the other takes does not depend on what is left by then:
    see ``path_bound``. ``more_si`` is there beside it from that moment on. Shape (samples,).
    """
    out_s = before.runs_out_s()
    shift = before.left_at_si(at_s) + more_si - after.left_at_si(at_s)
    is_over = out_s < at_s if more_si else out_s <= at_s
    return np.where(is_over, out_s, after.runs_out_after_s(at_s, shift))


def path_bound(craft: Craft, ahead: Ahead, now_s: float) -> frozenset[str]:
    """The supplies of which a way home takes what depends on what is left by then, not on the time alone.

    A burn is paid by the mass that is left, a store that is shut or left behind takes what it holds by then,
    and a store leaks by its own pressure.
    """
    stores = {store.name: supply.name for supply in craft.supplies.values() for store in supply.stores}
    bound = {use.supply for use in craft.uses if use.of_store is not None}
    propulsion = craft.propulsion
    for event in ahead.events:
        if event.at_s <= now_s:
            continue
        bound.update(stores[name] for name, state in event.sets.items() if not state.is_counted)
        if propulsion is not None and (event.burn_m_per_s is not None or event.drops):
            bound.add(propulsion.supply)
            gone = [module for module in propulsion.modules if module.name in event.drops]
            bound.update(stores[name] for module in gone for name in module.stores)
    return frozenset(bound)


def just_before(at_s: float) -> float:
    """The last moment before another."""
    return math.nextafter(at_s, -math.inf)
