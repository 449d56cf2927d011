"""What to switch off for a margin, as JSON, format 1. Reckons nothing."""

from __future__ import annotations

from typing import Any

from console.engine.shed import Buys
from console.engine.shed_advice import Running, ShedAdvice
from console.engine.snapshot import Interval, Snapshot
from console.report.export_bus import peak_document
from console.report.json_values import hours, interval, maybe
from console.report.options_export import head_document
from console.report.whatif_export import difference_document


def shed_document(advice: ShedAdvice) -> dict[str, Any]:
    """What ``shed --json`` prints."""
    found, snapshot = advice.shed, advice.compared.before
    return {
        **head_document(snapshot),
        "units": snapshot.shown_in.value,
        "advice_only": True,
        "goal_h": hours(found.goal_s),
        "by": "low end" if found.by_low_end else "central",
        "is_enough": found.is_enough,
        "short": list(found.short),
        "no_load_helps": list(found.beyond_loads),
        "switch_off": [_buys(snapshot, each) for each in found.loads],
        "may_go": [_buys(snapshot, each) for each in found.may_go],
        "must_stay": dict(advice.stays),
        "limits_earlier": [change.after.limit.name for change in advice.limits_earlier],
        "run_for_h": maybe(hours)(advice.run_for_s),
        "may_run": None if advice.run_for_s is None else [_running(snapshot, one) for one in advice.running],
        **difference_document(advice.compared),
    }


def _buys(snapshot: Snapshot, each: Buys) -> dict[str, Any]:
    unit = snapshot.supplies[each.load.supply].rate_unit
    draw = next(status.draw_si_per_s for status in snapshot.loads if status.name == each.load.name)
    return {
        "load": each.load.name,
        "priority": each.load.priority,
        "draw": unit.from_si(draw),
        "unit": unit.text,
        "margin_gained_h": {name: maybe(hours)(gain) for name, gain in each.margin_gained_s.items()},
    }


def _running(snapshot: Snapshot, one: Running) -> dict[str, Any]:
    margins: dict[str, Interval | None] = dict(one.answer.margin_s)
    return {
        "load": one.answer.load.name,
        "may_run": one.may_run,
        "keeps_margin": one.answer.is_affordable,
        "needs_on": list(one.lacks),
        "peaks_over": [peak_document(snapshot, peak) for peak in one.peaks_over],
        "margin_h": {name: interval(margin, hours) for name, margin in margins.items()},
    }
