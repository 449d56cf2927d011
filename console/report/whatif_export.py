"""What would be if, as JSON, format 1: before, after and change of every figure. Reckons nothing else."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from console.engine.difference import ClockChange, Difference, SupplyChange
from console.engine.keep_or_off import KeepOrOff, Trade
from console.engine.snapshot import Interval
from console.report.export import margins_document
from console.report.export_bus import peak_document
from console.report.export_cabin import clock_document
from console.report.json_values import hours, maybe, utc
from console.report.options_export import head_document

_ENDS = ("p05", "p50", "p95")


def whatif_document(changes: Sequence[str], compared: Difference) -> dict[str, Any]:
    """What ``whatif --json`` prints."""
    return {
        **head_document(compared.before),
        "units": compared.before.shown_in.value,
        "changes": list(changes),
        **difference_document(compared),
    }


def difference_document(compared: Difference) -> dict[str, Any]:
    """The comparison alone."""
    sides = {side: margins_document(getattr(compared, side)) for side in ("before", "after")}
    return {
        "bands": "of the margins at this moment, without memory, on both sides",
        "need": {side: document["need"] for side, document in sides.items()},
        "first": {side: document["first"] for side, document in sides.items()},
        "notices": {side: document["notices"] for side, document in sides.items()},
        "supplies": {change.after.name: _supply(change) for change in compared.supplies},
        "cabin_clocks": [_clock(compared, change) for change in compared.clocks],
        "new_peaks_over": [peak_document(compared.after, peak) for peak in compared.peaks_over],
    }


def keep_document(choice: KeepOrOff, compared: Difference) -> dict[str, Any]:
    """What ``whatif --keep --json`` prints: ``before`` is leaving the load on, ``after`` switching it off."""
    return {
        **head_document(choice.keep),
        "units": choice.keep.shown_in.value,
        "load": choice.load.name,
        "state": choice.state.value,
        "state_then": choice.state_then.value,
        "until": utc(choice.keep, choice.until_s),
        "off_h": hours(choice.until_s - choice.keep.at_s),
        "pays_after_h": maybe(hours)(choice.pays_after_s),
        "trades": {trade.supply.name: _trade(trade) for trade in choice.trades},
        **difference_document(compared),
    }


def _trade(trade: Trade) -> dict[str, Any]:
    amount = maybe(trade.supply.unit.from_si)
    return {
        "unit": trade.supply.unit.text,
        "keeping": amount(trade.keeping_si),
        "restart": amount(trade.restart_si),
        "saved": amount(trade.saved_si),
        "pays_after_h": maybe(hours)(trade.pays_after_s),
    }


def _supply(change: SupplyChange) -> dict[str, Any]:
    before, after = change.before, change.after
    return {
        "unit": after.unit.text,
        "rate_unit": after.rate_unit.text,
        "verdict": change.verdict.value,
        "margin_h": _intervals(before.margin_s, after.margin_s, hours),
        "endurance_plan_h": _intervals(before.endurance_plan_s, after.endurance_plan_s, hours),
        "left_at_need": _intervals(before.left_at_need_si, after.left_at_need_si, after.unit.from_si),
        "allowance": _values(before.allowance_si_per_s, after.allowance_si_per_s, after.rate_unit.from_si),
        "lasts_probability": _values(before.lasts_probability, after.lasts_probability, float),
        "band": {
            "before": None if before.band is None else before.band.value,
            "after": None if after.band is None else after.band.value,
            "changed": change.is_band_changed,
        },
        "why": {"before": before.why, "after": after.why},
    }


def _clock(compared: Difference, change: ClockChange) -> dict[str, Any]:
    return {
        "limit": change.after.limit.name,
        "verdict": change.verdict.value,
        "before": clock_document(change.before, compared.before.shown_in),
        "after": clock_document(change.after, compared.after.shown_in),
    }


def _intervals(
    before: Interval | None, after: Interval | None, shown: Callable[[float], float]
) -> dict[str, Any]:
    ends = {
        end: _values(
            None if before is None else getattr(before, end),
            None if after is None else getattr(after, end),
            shown,
        )
        for end in _ENDS
    }
    return {
        "before": None if before is None else {end: ends[end]["before"] for end in _ENDS},
        "after": None if after is None else {end: ends[end]["after"] for end in _ENDS},
        "change": {end: ends[end]["change"] for end in _ENDS},
    }


def _values(
    before: float | None, after: float | None, shown: Callable[[float], float]
) -> dict[str, float | None]:
    """Both and their difference; null where one of them is missing or does not come."""
    both = [None if each is None else shown(each) for each in (before, after)]
    change = None if both[0] is None or both[1] is None else both[1] - both[0]
    return {"before": both[0], "after": both[1], "change": change}
