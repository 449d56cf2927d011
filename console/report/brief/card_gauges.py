"""Which gauge to read again after how long, on the card: what it says, and how that becomes an amount."""

from __future__ import annotations

from console.display import UNKNOWN, Rounding, figure_text
from console.engine.briefing import HandSums
from console.engine.gauge_times import STEPS, GaugeTime
from console.engine.gauge_worth import held_si, worth_si
from console.report.brief.card_columns import Section, folded
from console.report.brief.card_figures import figure, plain, unit_word
from console.report.brief.grounds import ungauged


def gauges_section(sums: HandSums) -> Section:
    """Those of one rhythm together; last of all the stores that no gauge reads."""
    steps = figure_text(STEPS, 0)
    lines = [f"GAUGES to read after {steps} steps; reading = in the store (what one more is worth)"]
    rhythms: dict[tuple[bool, float], list[GaugeTime]] = {}
    for gauge in sums.gauges:
        rhythms.setdefault((gauge.is_good, gauge.every_s), []).append(gauge)
    for (is_good, every_s), gauges in sorted(rhythms.items(), key=lambda each: each[0]):
        often = f"every {_clock(every_s)}"
        head = f" {often}: " if is_good else f" NOT GOOD, READ NOW, then {often}: "
        lines += folded(head, _all_said(sums, gauges), ", ")
    blind = [plain(store) for supply in sums.snapshot.supplies.values() for store in ungauged(supply)]
    if blind:
        lines += folded(" no gauge, taken as full less what is logged: ", blind, ", ")
    return Section(lines=tuple(lines), least=min(len(lines), 8), more="endurance margins, and the files")


def _all_said(sums: HandSums, gauges: list[GaugeTime]) -> list[str]:
    """Each gauge; units and words are said once, as long as they stay the same."""
    said, before = [], ("", "")
    for gauge in gauges:
        unit, after = unit_word(gauge.channel.unit), _after(sums, gauge)
        told = unit if (unit, after[1]) != before else ""
        said.append(" ".join(filter(None, (plain(gauge.channel.name), _last(gauge), told, after[0]))))
        if told and after[1]:
            said[-1] += f" {after[1]}"
        before = (unit, after[1])
    return said


def _after(sums: HandSums, gauge: GaugeTime) -> tuple[str, str]:
    """What the store holds, and the word behind it: ``= 8.656 kg (0.9181)``, or ``= 398.5`` and left.

    Nothing where the reading is the amount itself.
    """
    supply = sums.snapshot.supplies[gauge.supply]
    worth, held = worth_si(sums, gauge), held_si(sums, gauge)
    if worth is None or held is None:
        return "", ""
    factor = figure(supply.unit.from_si(worth), Rounding.NEAREST)
    amount = figure(supply.unit.from_si(held))
    if gauge.channel.unit.dimension is not supply.unit.dimension or not _is_one(factor.removeprefix("-")):
        return f"= {amount} {unit_word(supply.unit)} ({factor})", ""
    return ("", "") if worth > 0.0 else (f"= {amount}", "left")


def _is_one(factor: str) -> bool:
    return not factor.strip("1.0") and float(factor) == 1.0


def _clock(seconds: float) -> str:
    minutes, hour = (figure_text(seconds / step_s, 0) for step_s in (60.0, 3600.0))
    return f"{minutes} min" if seconds < 3600.0 else f"{hour} h"


def _last(gauge: GaugeTime) -> str:
    """What it said last, as it shows it."""
    value = gauge.reading.value_si
    if value is None:
        return UNKNOWN
    shown = float(figure(gauge.channel.unit.from_si(value), Rounding.NEAREST))
    return f"{shown:.6g}"
