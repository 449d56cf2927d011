"""The ways home and the allowances in their free phases as JSON, format 1. Nothing is reckoned here."""

from __future__ import annotations

from typing import Any

from console.display import velocity_unit
from console.engine.allowance_profile import AllowanceProfile
from console.engine.open_until import Open, OpenUntil, Stop
from console.engine.options import Options, WayHome, WaySupply
from console.engine.snapshot import Snapshot
from console.report.export import FORMAT
from console.report.json_values import hours, interval, maybe, utc
from console.report.open_words import is_overdue


def options_document(options: Options) -> dict[str, Any]:
    """What ``options --json`` prints."""
    snapshot = options.snapshot
    return {
        **head_document(snapshot),
        "committed": next(way.option.name for way in options.ways if way.is_committed),
        "options": {way.option.name: _way(snapshot, way) for way in options.ways},
    }


def head_document(snapshot: Snapshot) -> dict[str, Any]:
    """When figures are, and from what."""
    return {
        "format": FORMAT,
        "scenario": snapshot.scenario,
        "at": utc(snapshot, snapshot.at_s),
        "elapsed_h": hours(snapshot.at_s),
        "feed": {
            "source": snapshot.feed.source,
            "age_s": snapshot.feed.age_s(snapshot.at_s),
            "quality": snapshot.feed.quality.value,
            "faults": list(snapshot.feed.faults),
        },
        "notices": list(snapshot.notices),
    }


def allowance_document(profile: AllowanceProfile) -> dict[str, Any]:
    """The allowance of one supply in the free phases."""
    rate = maybe(profile.supply.rate_unit.from_si)
    return {
        "free_h": hours(profile.free_s),
        "power_ups": list(profile.power_ups),
        "power_up_h": hours(profile.power_up_s),
        "power_ups_take": maybe(profile.supply.unit.from_si)(profile.power_ups_take_si),
        "unit": profile.supply.unit.text,
        "allowance": rate(profile.allowance_si_per_s),
        "allowance_low": rate(profile.allowance_low_si_per_s),
        "planned": rate(profile.planned_si_per_s),
        "present": rate(profile.present_si_per_s),
        "falls_by_each_hour": rate(profile.falls_si_per_s),
        "rate_unit": profile.supply.rate_unit.text,
        "held_down_at_h": maybe(hours)(profile.held_down_at_s),
        "why": profile.why,
    }


def _way(snapshot: Snapshot, way: WayHome) -> dict[str, Any]:
    option, now_s = way.option, snapshot.at_s
    decide_by_s, velocity = option.decide_by_s, velocity_unit(snapshot.shown_in)
    return {
        "committed": way.is_committed,
        "begun": way.is_begun,
        "arrival": utc(snapshot, option.arrival_s),
        "arrival_in_h": hours(option.arrival_s - now_s),
        "arrival_spread_h": hours(option.arrival_spread_s),
        "recovery_h": hours(option.recovery_s),
        "hold_h": hours(option.hold_s),
        "need": {"at": utc(snapshot, option.need_s), "in_h": hours(option.need_s - now_s)},
        "decide_by": utc(snapshot, decide_by_s),
        "decide_in_h": None if decide_by_s is None else hours(decide_by_s - now_s),
        "overdue": is_overdue(snapshot, way),
        "over": way.is_over,
        "delta_v": maybe(velocity.from_si)(option.delta_v_m_per_s),
        "delta_v_left": maybe(velocity.from_si)(way.delta_v_left_m_per_s),
        "delta_v_unit": velocity.text,
        "note": option.note,
        "shortest": way.shortest,
        "unknown": list(way.unknown),
        "supplies": {name: _supply(snapshot, one) for name, one in way.supplies.items()},
        "open_until": None if way.open_until is None else _open_until(snapshot, way.open_until),
        "delay_cost": None
        if way.delay is None
        else {
            "low": way.delay.low,
            "central": way.delay.central,
            "unit": "h/h",
            "over_h": hours(way.delay.over_s),
        },
    }


def _supply(snapshot: Snapshot, one: WaySupply) -> dict[str, Any]:
    return {
        "unit": one.supply.unit.text,
        "margin_h": interval(one.margin_s, hours),
        "left_at_need": interval(one.left_at_need_si, one.supply.unit.from_si),
        "lasts_probability": one.lasts_probability,
        "runs_out_at": utc(snapshot, one.runs_out_at_s),
        "why": one.why,
    }


def _open_until(snapshot: Snapshot, found: OpenUntil) -> dict[str, Any]:
    return {
        "limit": _stop(snapshot, found.limit),
        "zero": {
            "low": _open(snapshot, found.zero_low),
            "central": _open(snapshot, found.zero_central),
        },
        "advisory": {
            "low": _open(snapshot, found.advisory_low),
            "central": _open(snapshot, found.advisory_central),
        },
    }


def _open(snapshot: Snapshot, found: Open) -> dict[str, Any]:
    until_s = found.until_s
    return {
        "until": utc(snapshot, until_s),
        "in_h": None if until_s is None else hours(until_s - snapshot.at_s),
        "open_now": found.is_open(snapshot.at_s),
        "spans": [
            {"from": utc(snapshot, since_s), "until": utc(snapshot, end_s)}
            for since_s, end_s in found.spans_s
        ],
        "closed_by": _stop(snapshot, found.closed_by),
    }


def _stop(snapshot: Snapshot, stop: Stop) -> dict[str, Any]:
    return {"at": utc(snapshot, stop.at_s), "by": stop.by.value, "name": stop.name}
