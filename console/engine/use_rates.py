"""What takes from a supply now, use by use, and how many people's use it is."""

from __future__ import annotations

from console.craft.model import Craft
from console.engine.planned_use import PlannedUse
from console.engine.snapshot import LineKind, UseRate


def use_rates(craft: Craft, supply: str, plan: PlannedUse, people: int) -> tuple[UseRate, ...]:
    """Every use of a supply in the present configuration, the largest first; what takes nothing is left out.

    Args:
        craft: the craft.
        supply: the supply's name.
        plan: the planned uses.
        people: how many people the present roster has.
    """
    by_people = {
        use.name for use in craft.uses if use.metabolic is not None or use.per_person_si_per_s is not None
    }
    lines = plan.supplies[supply]
    rates = [
        UseRate(
            kind=key.kind,
            name=key.name,
            rate_si_per_s=float(rate),
            people=people if key.kind is LineKind.USE and key.name in by_people else None,
        )
        for key, rate in zip(lines.keys, lines.rates_si_per_s[:, plan.now_index], strict=True)
        if rate
    ]
    return tuple(sorted(rates, key=lambda one: -one.rate_si_per_s))
