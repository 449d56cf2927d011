"""What the simulated crew does and what it logs of it: steps of procedures, notes, the commitment. Pure data.

The plan's own moves apply by themselves, in the truth as for the engine; so a step that moves what the plan
moves happens when the plan says, and its entry tells no lie. Only a fault makes it happen at another time
than logged, be logged late, or not at all. Nothing is invented: a change of level that moves no load is only
named in ``nothing_to_log``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from console.craft.model import Craft, LoadState
from console.craft.plan import Event, Phase
from console.craft.procedures import Procedure, Step
from console.engine.configuration import ConfigurationChange
from console.feed.simulated_draws import Streams
from console.feed.simulated_faults import FaultKind, SimulatedFault
from console.scenario.load import Scenario

DELAY_MEDIAN_S = 40.0
"""How long after a step its entry is written, in half of all cases (invented)."""
DELAY_SPREAD = 0.6
"""Of its logarithm: one in twenty takes more than 107 s."""
TICK = 0.1
"""Of that, for each more of several that are entered together (invented)."""
PACE_S = 75.0
"""Between two steps that do not happen together (invented)."""
SO_ALREADY = "what it requires was so already"


@dataclass(frozen=True, kw_only=True, slots=True)
class Act:
    """One thing that the crew does, and its entry."""

    happened_s: float
    """When it happened, as logged."""
    done_s: float
    """When it truly did."""
    written_s: float | None
    """When its entry was written; None for one that was forgotten."""
    text: str
    procedure: Procedure | None = None
    step: Step | None = None
    """With ``procedure``; both None for a note and for a commitment."""
    option: str | None = None
    """The way home that it commits to."""
    reason: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Logbook:
    """All that the crew does in a contingency."""

    acts: tuple[Act, ...]
    """By the time at which they happened, as logged."""
    nothing_to_log: tuple[str, ...] = ()
    """Planned changes of level that move no load."""


def logbook_of(
    scenario: Scenario, streams: Streams, faults: Sequence[SimulatedFault], from_s: float, until_s: float
) -> Logbook:
    """What is done and logged between two moments, as the plan of the committed option calls for it.

    At each change of level the steps of the procedure that leads to it, and a note for what no step covers;
    with an event that a procedure's step stands for, that procedure; the commitment before it is due.

    Args:
        scenario: the craft, its plan, its procedures.
        streams: for human delays.
        faults: those that are of entries befall them.
        from_s: from when on.
        until_s: until when.
    """
    craft, plan = scenario.craft, scenario.plan
    option = plan.options[plan.committed]
    acts: list[Act] = []
    nothing: list[str] = []
    for before, after in pairwise(plan.phases_under(option)):
        if before.level == after.level or not from_s <= after.start_s < until_s:
            continue
        of_change = _level_change(craft, scenario.procedures.values(), before, after)
        acts.extend(of_change)
        if not of_change:
            nothing.append(f"level {before.level} to {after.level} ({after.name}): no load moves")
    for event in plan.events_under(option):
        if from_s <= event.at_s < until_s:
            acts.extend(_event(scenario.procedures.values(), event))
    if option.decide_by_s is not None:
        lead_s = streams.named("operators/commitment").uniform(1200.0, 3600.0)
        acts.append(_act(option.decide_by_s - lead_s, f"committed to {option.name}", option=option.name))
    kept = sorted((act for act in acts if from_s <= act.happened_s < until_s), key=lambda act: act.happened_s)
    return Logbook(acts=_mistaken(_written(kept, streams), faults), nothing_to_log=tuple(nothing))


def change_of(act: Act, craft: Craft, at_s: float, *, by: str = "") -> ConfigurationChange | None:
    """What an act does to the configuration, at a moment; None for one that does nothing to it."""
    if act.option is not None:
        return ConfigurationChange(
            at_s=at_s, label=act.text, loads={}, stores={}, used_si={}, option=act.option, by=by
        )
    if act.step is None or act.procedure is None:
        return None
    action = act.step.action
    return ConfigurationChange(
        at_s=at_s,
        label=f"{act.procedure.name}/{act.step.id}",
        loads=_states(act.step, craft),
        stores=dict(action.stores),
        used_si=dict(action.used_si),
        drops=action.drops,
        confirms_control=action.confirms_control,
        by=by,
    )


def _act(happened_s: float, text: str, **fields: object) -> Act:
    act = Act(happened_s=happened_s, done_s=happened_s, written_s=happened_s, text=text)
    return replace(act, **fields)  # type: ignore[arg-type]  # the fields are Act's own


def _states(step: Step, craft: Craft) -> dict[str, LoadState]:
    level = step.action.level
    states = {} if level is None else dict(craft.levels[level].states)
    return states | dict(step.action.loads)


def _level_change(craft: Craft, procedures: Iterable[Procedure], before: Phase, after: Phase) -> list[Act]:
    """The steps of the procedure that moves most of what differs, and a note of what it leaves."""
    was, will = craft.levels[before.level].states, craft.levels[after.level].states
    differing = {name for name in will if was[name] is not will[name]}
    if not differing:
        return []
    best = max(
        (one for one in procedures if _leads_to(one, craft, will)),
        key=lambda one: len(differing & _moved(one, craft)),
        default=None,
    )
    covered = set() if best is None else differing & _moved(best, craft)
    steps: list[Act] = []
    if best is not None and covered:
        due = [step for step in best.steps if not _acts(step) or differing & set(_states(step, craft))]
        steps = _in_turn(best, due, after.start_s)
    title = f"level {before.level} to {after.level}"
    left = sorted(differing - covered)
    if not covered:
        steps.append(_act(after.start_s, f"{title} as planned; no procedure leads there"))
    elif left:
        steps.append(_act(after.start_s, f"{title}: moved without a step: {', '.join(left)}"))
    return steps


def _leads_to(procedure: Procedure, craft: Craft, will: Mapping[str, LoadState]) -> bool:
    """Whether every load that a procedure moves ends as the level has it, and it moves nothing but loads."""
    others = [
        step
        for step in procedure.steps
        if step.action.stores or step.action.drops or step.action.used_si or step.action.confirms_control
    ]
    final: dict[str, LoadState] = {}
    for step in procedure.steps:
        final.update(_states(step, craft))
    return not others and bool(final) and all(will[name] is state for name, state in final.items())


def _moved(procedure: Procedure, craft: Craft) -> set[str]:
    return {name for step in procedure.steps for name in _states(step, craft)}


def _acts(step: Step) -> bool:
    """Whether a step does anything to the configuration."""
    action = step.action
    return bool(action.loads or action.stores or action.used_si or action.level or action.drops)


def _in_turn(procedure: Procedure, due: Sequence[Step], at_s: float) -> list[Act]:
    """Steps that move what the plan moves at one moment happen then; checks before and after keep a pace."""
    moving = [place for place, step in enumerate(due) if _acts(step)]
    first, last = moving[0], moving[-1]
    acts = []
    for place, step in enumerate(due):
        off = min(place - first, 0) + max(place - last, 0)
        done = {each.id for each in due[:place]}
        reason = "" if set(step.requires) <= done else SO_ALREADY
        happened_s = at_s + off * PACE_S
        acts.append(_act(happened_s, step.do, procedure=procedure, step=step, reason=reason))
    return acts


def _event(procedures: Iterable[Procedure], event: Event) -> list[Act]:
    """The procedure of which one step is what the event does; the others come before and after it."""
    for procedure in procedures:
        for place, step in enumerate(procedure.steps):
            action = step.action
            moves = bool(event.sets or event.drops)
            if moves and dict(action.stores) == dict(event.sets) and action.drops == event.drops:
                return [
                    _act(event.at_s + (turn - place) * PACE_S, each.do, procedure=procedure, step=each)
                    for turn, each in enumerate(procedure.steps)
                ]
    return []


def _written(acts: Sequence[Act], streams: Streams) -> list[Act]:
    """Each with the moment of its entry: one hand writes them, one after the other."""
    written: list[Act] = []
    free_s = -math.inf
    for number, act in enumerate(acts):
        draw = streams.normal(f"operators/delay/{number}")
        delay_s = DELAY_MEDIAN_S * float(np.exp(DELAY_SPREAD * draw))
        free_s = max(act.happened_s + delay_s, free_s + TICK * delay_s)
        written.append(replace(act, written_s=free_s))
    return written


def _mistaken(acts: Sequence[Act], faults: Sequence[SimulatedFault]) -> tuple[Act, ...]:
    """The acts with the mistakes that faults make of them; each befalls one step, and no step two."""
    result = list(acts)
    befallen: set[int] = set()
    for fault in faults:
        if not fault.kind.is_of_entry:
            continue
        for place, act in enumerate(result):
            if place not in befallen and _befalls(fault, act):
                befallen.add(place)
                result[place] = _with_mistake(act, fault)
                break
    return tuple(result)


def _befalls(fault: SimulatedFault, act: Act) -> bool:
    if act.step is None or act.procedure is None or act.happened_s < fault.at_s:
        return False
    if fault.kind is FaultKind.MISTIMED_ENTRY and not (act.step.action.loads or act.step.action.level):
        return False
    return fault.step is None or fault.step == (act.procedure.name, act.step.id)


def _with_mistake(act: Act, fault: SimulatedFault) -> Act:
    if fault.kind is FaultKind.FORGOTTEN_ENTRY:
        return replace(act, written_s=None)
    if fault.kind is FaultKind.LATE_ENTRY:
        return replace(act, written_s=None if act.written_s is None else act.written_s + fault.by_s)
    return replace(act, done_s=act.happened_s + fault.by_s)
