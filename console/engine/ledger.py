"""Where every unit of a supply goes until need: lines that sum from on board to what is left."""

from __future__ import annotations

from console.craft.model import StoreState, Supply
from console.engine.holding import Holding
from console.engine.jumps import Jump
from console.engine.planned_use import PlannedUse
from console.engine.snapshot import LedgerLine, LineKind


def held_lines(supply: Supply, held: Holding, carried_si: float) -> tuple[LedgerLine, ...]:
    """The ledger from on board, as read, to usable, over the stores whose quantity is known."""

    def total(state: StoreState) -> float:
        return sum(store.on_board_si or 0.0 for store in held.stores if store.state is state)

    name = "on board" if held.read_si is not None else "on board, of the stores that are known"
    lines = [LedgerLine(kind=LineKind.ON_BOARD, name=name, amount_si=sum(map(total, StoreState)))]
    for kind, name, amount in (
        (LineKind.CARRIED, "used since the readings, by the plan", carried_si),
        (LineKind.PROTECTED, "protected stores", total(StoreState.PROTECTED)),
        (LineKind.ISOLATED, "isolated stores", total(StoreState.ISOLATED)),
        (LineKind.RESIDUAL, "residual", held.residual_si or 0.0),
        (LineKind.RESERVE, "reserve", supply.reserve_si),
    ):
        if amount:
            lines.append(LedgerLine(kind=kind, name=name, amount_si=-amount))
    return tuple(lines)


def supply_ledger(
    held: tuple[LedgerLine, ...],
    supply: str,
    plan: PlannedUse,
    ahead: tuple[Jump, ...],
    now_s: float,
    need_s: float,
) -> tuple[LedgerLine, ...]:
    """The whole ledger of one supply, central case.

    Args:
        held: the lines from on board to usable.
        supply: its name.
        plan: the planned uses.
        ahead: what happens to it at one moment each, between now and need.
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
        LedgerLine(kind=jump.kind, name=jump.name, amount_si=jump.amount_si, store=jump.store)
        for jump in ahead
    ]
    lines = [*held, *uses, *events]
    left = LedgerLine(
        kind=LineKind.LEFT, name="left at need", amount_si=sum(line.amount_si for line in lines)
    )
    return (*lines, left)
