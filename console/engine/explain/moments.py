"""Where moments come from: now, the plan, a logged step, a reading. In hours since the epoch."""

from __future__ import annotations

from dataclasses import replace

from console.craft.plan import Event, Phase
from console.engine.explain.book import Book, assumed, step
from console.engine.explain.explanation import Input
from console.engine.explain.grounds import PLAN, Grounds, H
from console.engine.explain.paths import distinct


def phase_key(grounds: Grounds, phase: Phase) -> str:
    """The key of a phase in plan.yaml."""
    return _place(grounds, "phases", phase.name, is_own=phase in grounds.ahead.option.phases)


def event_key(grounds: Grounds, event: Event) -> str:
    """The key of an event in plan.yaml."""
    option = grounds.ahead.option
    is_own = any(event is one for one in option.events)
    events = option.events if is_own else grounds.plan.events
    names = distinct(one.name for one in events)
    name = next((key for key, one in zip(names, events, strict=True) if one is event), event.name)
    return _place(grounds, "events", name, is_own=is_own)


def _place(grounds: Grounds, kind: str, name: str, *, is_own: bool) -> str:
    """Where it stands: a way home that is flown may carry over what stands in the plan or in another one."""
    option = grounds.ahead.option.name
    own, common = f"options.{option}.{kind}[{name}]", f"{kind}[{name}]"
    others = (f"options.{other}.{kind}[{name}]" for other in grounds.plan.options if other != option)
    first, second = (own, common) if is_own else (common, own)
    lines = grounds.lines.get(PLAN, {})
    return next((key for key in (first, second, *others) if key in lines), first)


def moment(book: Book, symbol: str, at_s: float) -> Input:
    """One moment with what sets it."""
    grounds = book.grounds
    if at_s == grounds.at_s:
        return book.figure(symbol, "elapsed")
    if at_s in grounds.turns:
        return replace(grounds.turns[at_s], symbol=symbol)
    for phase in grounds.ahead.phases:
        if phase.start_s == at_s:
            key = f"{phase_key(grounds, phase)}.start"
            return book.config(symbol, f"start of {phase.name}", at_s / H, "h", PLAN, key)
    for event in grounds.ahead.events:
        if event.at_s == at_s:
            key = f"{event_key(grounds, event)}.at"
            return book.config(symbol, f"moment of {event.name}", at_s / H, "h", PLAN, key)
    for change in grounds.known.changes:
        if change.at_s == at_s:
            return step(symbol, f"moment of step {change.label}", at_s / H, "h", change)
    for name, reading in grounds.known.feed.readings.items():
        if reading.at_s == at_s:
            return book.reading(symbol, f"moment of the reading of {name}", name, at_s / H, "h")
    if grounds.ahead.use.luck is not None:
        why = "where what readings taught (a spread by wandering use, a change that grows) is reckoned anew"
        return assumed(symbol, "moment of a step", at_s / H, "h", why)
    why = "the moment at which a store that leaks, or a cabin that is carried, changes"
    return assumed(symbol, "moment of a change", at_s / H, "h", why)
