"""What logged decisions make of craft and plan: the way home that is in force, the reserves that are left.

A commitment takes effect at its own moment: what the course before it had done by then stays done, and from
then on the phases and events of the other way home count. Names that craft or plan lack are passed over.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from console.craft.model import Craft
from console.craft.plan import Plan
from console.engine.configuration import ConfigurationChange
from console.engine.decision import Decision
from console.engine.switch import switched_at


@dataclass(frozen=True, kw_only=True, slots=True)
class Decided:
    """Craft and plan as decisions have made them."""

    craft: Craft
    plan: Plan
    decision: Decision | None
    """By which the plan's committed option is in force; None where nobody has logged one."""


def decided(craft: Craft, plan: Plan, changes: Sequence[ConfigurationChange], at_s: float) -> Decided:
    """Craft and plan after what was decided up to a moment.

    Args:
        craft: as its file describes it.
        plan: as its file describes it.
        changes: the logged steps that count, in the journal's order.
        at_s: the moment.
    """
    taken = [change for change in changes if change.at_s <= at_s]
    plan, decision = _committed(plan, taken)
    return Decided(craft=_released(craft, taken), plan=plan, decision=decision)


def taken_over(plan: Plan, option: str, at_s: float) -> Plan:
    """The plan with another way home in force from a moment on; the same plan where it is in force already.

    Raises:
        KeyError: the plan has no such option.
    """
    if option == plan.committed:
        return plan
    switched = switched_at(plan, plan.options[option], at_s)
    return replace(plan, committed=option, options=MappingProxyType({**plan.options, option: switched}))


def _committed(plan: Plan, taken: Iterable[ConfigurationChange]) -> tuple[Plan, Decision | None]:
    """The last commitment counts, by when it was taken; one that only repeats it changes nothing."""
    decision = None
    for change in sorted(taken, key=lambda change: change.at_s):
        option = change.option
        if option is None or option not in plan.options or (decision and decision.option == option):
            continue
        plan = taken_over(plan, option, change.at_s)
        decision = Decision(option=option, at_s=change.at_s, by=change.by)
    return plan, decision


def _released(craft: Craft, taken: Iterable[ConfigurationChange]) -> Craft:
    """The reserves less what was released of them, never below zero."""
    released: dict[str, float] = {}
    for change in taken:
        for name, amount_si in change.released_si.items():
            released[name] = released.get(name, 0.0) + amount_si
    left = {
        name: replace(
            craft.supplies[name],
            reserve_si=max(craft.supplies[name].reserve_si - amount_si, 0.0),
            released_si=min(amount_si, craft.supplies[name].reserve_si),
        )
        for name, amount_si in released.items()
        if name in craft.supplies
    }
    return replace(craft, supplies=MappingProxyType({**craft.supplies, **left})) if left else craft
