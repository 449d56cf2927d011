"""What is on board, what of it is usable, and what is drawn now, on the card."""

from __future__ import annotations

from console.display import Rounding
from console.engine.briefing import HandSums
from console.engine.phase_rates import PlanSum
from console.engine.snapshot import RateSource, SupplyStatus
from console.report.brief.card_columns import Section, rows
from console.report.brief.card_figures import figure, unit_word


def supplies_section(sums: HandSums) -> Section:
    """On board, what is not usable of it, usable, the present rate."""
    if not sums.snapshot.supplies:
        return Section(lines=("QUANTITIES: no supplies",), least=1)
    head = ("QUANTITIES", "on board", "residual", "reserve", "protect.", "shut", "usable", "rate now", "by")
    cells = [head, *(_row(supply, sums.sums.get(supply.name)) for supply in sums.snapshot.supplies.values())]
    return Section(lines=tuple(rows(cells)), least=len(cells))


def _row(supply: SupplyStatus, one: PlanSum | None) -> tuple[str, ...]:
    amount = supply.unit.from_si

    def shown(value_si: float | None, rounding: Rounding = Rounding.DOWN) -> str:
        return "?" if value_si is None else figure(amount(value_si), rounding)

    rate = supply.rate_now_si_per_s if one is None else one.rate_now_si_per_s
    return (
        f"{supply.name} {unit_word(supply.unit)}",
        shown(supply.on_board_si),
        shown(supply.residual_si, Rounding.UP),
        shown(supply.reserve_si, Rounding.UP),
        shown(supply.protected_si),
        shown(supply.isolated_si),
        shown(supply.usable_si),
        "?"
        if rate is None
        else f"{figure(supply.rate_unit.from_si(rate), Rounding.UP)} {unit_word(supply.rate_unit)}",
        "?" if supply.rate_now_source is None else _by(supply.rate_now_source),
    )


def _by(source: RateSource) -> str:
    return "meter" if source is RateSource.MEASURED else "model"
