"""What is on board and which gauge says so, on the card."""

from __future__ import annotations

from console.display import UNKNOWN, Rounding, figure_text
from console.engine.briefing import HandSums
from console.engine.gauge_times import STEPS, GaugeTime
from console.engine.phase_rates import PlanSum
from console.engine.snapshot import RateSource, SupplyStatus
from console.report.brief.card_columns import Section, folded, rows
from console.report.brief.card_figures import figure, plain, unit_word


def supplies_section(sums: HandSums) -> Section:
    """On board, what is not usable of it, usable, the present rate."""
    if not sums.snapshot.supplies:
        return Section(lines=("QUANTITIES: no supplies",), least=1)
    head = ("QUANTITIES", "on board", "residual", "reserve", "protect.", "shut", "usable", "rate now", "by")
    cells = [head, *(_row(supply, sums.sums.get(supply.name)) for supply in sums.snapshot.supplies.values())]
    return Section(lines=tuple(rows(cells)), least=len(cells))


def gauges_section(sums: HandSums) -> Section:
    """Which gauge to read again after how long, its last word beside it; those of one rhythm together."""
    steps = figure_text(STEPS, 0)
    lines = [f"GAUGES, own units: read after {steps} steps (of resolution, or accuracy if larger)"]
    rhythms: dict[tuple[bool, float], list[GaugeTime]] = {}
    for gauge in sums.gauges:
        rhythms.setdefault((gauge.is_good, gauge.every_s), []).append(gauge)
    for (is_good, every_s), gauges in sorted(rhythms.items(), key=lambda each: each[0]):
        often = f"every {_clock(every_s)}"
        head = f" {often}: " if is_good else f" NOT GOOD, READ NOW, then {often}: "
        lines += folded(head, [f"{plain(gauge.channel.name)} {_last(gauge)}" for gauge in gauges], ", ")
    return Section(lines=tuple(lines), least=min(len(lines), 6), more="endurance margins, and the files")


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


def _clock(seconds: float) -> str:
    minutes, hour = (figure_text(seconds / step_s, 0) for step_s in (60.0, 3600.0))
    return f"{minutes} min" if seconds < 3600.0 else f"{hour} h"


def _last(gauge: GaugeTime) -> str:
    """What it said last, as it shows it."""
    value = gauge.reading.value_si
    if value is None:
        return UNKNOWN
    shown = float(figure(gauge.channel.unit.from_si(value), Rounding.NEAREST))
    return f"{shown:.6g} {unit_word(gauge.channel.unit)}"
