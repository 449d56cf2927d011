"""Where every unit of a supply goes until need: lines that sum from on board to what is left."""

from __future__ import annotations

from console.engine.jumps import Jump
from console.engine.planned_use import PlannedUse
from console.engine.snapshot import LedgerLine, LineKind


def supply_ledger(
    held: tuple[LedgerLine, ...],
    supply: str,
    plan: PlannedUse,
    jumps: tuple[Jump, ...],
    now_s: float,
    need_s: float,
) -> tuple[LedgerLine, ...]:
    """The whole ledger of one supply, central case.

    Args:
        held: the lines from on board to usable.
        supply: its name.
        plan: the planned uses.
        jumps: the events between now and need.
        now_s: the moment.
        need_s: until when it must last.
    """
    amounts = plan.used_si(supply, now_s, max(need_s, now_s))
    uses = [
        LedgerLine(kind=key.kind, name=key.name, amount_si=-float(amount))
        for key, amount in zip(plan.supplies[supply].keys, amounts, strict=True)
        if amount
    ]
    events = [
        LedgerLine(kind=jump.kind, name=jump.name, amount_si=jump.amount_si)
        for jump in jumps
        if jump.supply == supply
    ]
    lines = [*held, *uses, *events]
    left = LedgerLine(
        kind=LineKind.LEFT, name="left at need", amount_si=sum(line.amount_si for line in lines)
    )
    return (*lines, left)
