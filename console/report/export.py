"""A Snapshot and journal entries as JSON: the documented schema, format 1.

Times are RFC 3339 UTC, times to go in hours (``_h``), amounts numbers in the ``unit`` beside them. A figure
that cannot be had is null, with the reason in ``why``. Nothing is reckoned here.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from console.engine.snapshot import Interval, Need, Snapshot, StoreStatus, SupplyStatus
from console.instants import at_epoch_plus, format_utc

if TYPE_CHECKING:
    from pathlib import Path

    from console.errors import Fault
    from console.record.entry import Entry
    from console.record.verify import Verification

FORMAT = 1


def to_text(document: Mapping[str, Any]) -> str:
    """JSON text of a document: keys in the schema's order, no NaN, one final newline."""
    return json.dumps(document, allow_nan=False, ensure_ascii=False, indent=2) + "\n"


def margins_document(snapshot: Snapshot) -> dict[str, Any]:
    """What ``margins --json`` prints."""
    age_s = snapshot.feed.age_s(snapshot.at_s)
    return {
        "format": FORMAT,
        "scenario": snapshot.scenario,
        "at": _utc(snapshot, snapshot.at_s),
        "elapsed_h": snapshot.at_s / 3600.0,
        "feed": {
            "source": snapshot.feed.source,
            "age_s": age_s,
            "quality": snapshot.feed.quality.value,
            "faults": list(snapshot.feed.faults),
            "readings": {
                name: {
                    "quality": reading.quality.value,
                    "at": _utc(snapshot, reading.at_s),
                    "age_s": reading.age_s(snapshot.at_s),
                    "why": reading.why,
                }
                for name, reading in snapshot.feed.readings.items()
            },
        },
        "need": _need(snapshot, snapshot.need),
        "shortest": snapshot.shortest,
        "unknown": list(snapshot.unknown),
        "notices": list(snapshot.notices),
        "phase": snapshot.phase,
        "level": snapshot.level,
        "loads_differing_from_level": snapshot.level_differs,
        "watch": snapshot.watch,
        "next_phase": None if snapshot.next_phase is None else _coming(snapshot, "next_phase"),
        "next_event": None if snapshot.next_event is None else _coming(snapshot, "next_event"),
        "supplies": {name: _supply(snapshot, supply) for name, supply in snapshot.supplies.items()},
        "loads": {
            load.name: {
                "state": load.state.value,
                "by": "step" if load.by_step else "plan",
                "draw": snapshot.supplies[load.supply].rate_unit.from_si(load.draw_si_per_s),
                "unit": snapshot.supplies[load.supply].rate_unit.text,
            }
            for load in snapshot.loads
        },
        "cabin": {
            reading.name: {
                "value": reading.value_si,
                "unit": "K" if reading.name == "temperature" else "Pa",
                "quality": reading.quality.value,
                "age_s": reading.age_s,
                "why": reading.why,
            }
            for reading in snapshot.cabin
        },
    }


def ledger_document(snapshot: Snapshot, name: str) -> dict[str, Any]:
    """What ``ledger SUPPLY --json`` prints."""
    supply = snapshot.supplies[name]
    return {
        "format": FORMAT,
        "scenario": snapshot.scenario,
        "at": _utc(snapshot, snapshot.at_s),
        "supply": name,
        "unit": supply.unit.text,
        "need": _need(snapshot, snapshot.need),
        "lines": [
            {"kind": line.kind.value, "name": line.name, "amount": supply.unit.from_si(line.amount_si)}
            for line in supply.ledger
        ],
        "why": supply.why,
    }


def entry_document(entry: Entry) -> dict[str, Any]:
    """One journal entry."""
    return {
        "sequence": entry.sequence,
        "id": entry.id,
        "kind": entry.kind.value,
        "happened_at": format_utc(entry.happened_at),
        "written_at": format_utc(entry.written_at),
        "late": entry.is_late,
        "elapsed_h": entry.elapsed_s / 3600.0,
        "operator": entry.operator,
        "position": entry.position,
        "host": entry.host,
        "body": dict(entry.body),
        "previous_hash": entry.previous_hash,
        "hash": entry.hash,
    }


def check_document(folder: Path, faults: Sequence[Fault]) -> dict[str, Any]:
    """What ``check --json`` prints."""
    return {
        "format": FORMAT,
        "scenario": str(folder),
        "sound": not faults,
        "faults": [
            {"file": fault.file, "place": fault.place, "found": fault.found, "expected": fault.expected}
            for fault in faults
        ],
    }


def verification_document(path: Path, found: Verification) -> dict[str, Any]:
    """What ``log verify --json`` prints."""
    return {
        "format": FORMAT,
        "journal": str(path),
        "sound": found.is_sound,
        "count": found.count,
        "head": {"count": found.head.count, "hash": found.head.hash},
        "faults": [
            {"kind": fault.kind.value, "sequence": fault.sequence, "found": fault.found}
            for fault in found.faults
        ],
    }


def _need(snapshot: Snapshot, need: Need) -> dict[str, Any]:
    return {
        "option": need.option,
        "at": _utc(snapshot, need.at_s),
        "in_h": need.in_s / 3600.0,
        "arrival": _utc(snapshot, need.arrival_s),
        "recovery_h": need.recovery_s / 3600.0,
        "hold_h": need.hold_s / 3600.0,
        "decide_by": _utc(snapshot, need.decide_by_s),
        "delta_v": need.delta_v_m_per_s,
        "delta_v_left": need.delta_v_left_m_per_s,
        "delta_v_unit": "m/s",
        "note": need.note,
    }


def _coming(snapshot: Snapshot, which: str) -> dict[str, Any]:
    coming = getattr(snapshot, which)
    return {"name": coming.name, "at": _utc(snapshot, coming.at_s), "in_h": coming.in_s / 3600.0}


def _supply(snapshot: Snapshot, supply: SupplyStatus) -> dict[str, Any]:
    amount = _maybe(supply.unit.from_si)
    rate = _maybe(supply.rate_unit.from_si)
    return {
        "unit": supply.unit.text,
        "on_board": amount(supply.on_board_si),
        "protected": amount(supply.protected_si),
        "isolated": amount(supply.isolated_si),
        "residual": amount(supply.residual_si),
        "reserve": amount(supply.reserve_si),
        "usable": amount(supply.usable_si),
        "quality": supply.quality.value,
        "age_s": supply.age_s,
        "rate_now": rate(supply.rate_now_si_per_s),
        "rate_now_source": None if supply.rate_now_source is None else supply.rate_now_source.value,
        "rate_plan": rate(supply.rate_plan_si_per_s),
        "rate_unit": supply.rate_unit.text,
        "endurance_now_h": _interval(supply.endurance_now_s, _hours),
        "endurance_plan_h": _interval(supply.endurance_plan_s, _hours),
        "runs_out_at": _utc(snapshot, supply.runs_out_at_s),
        "margin_h": _interval(supply.margin_s, _hours),
        "left_at_need": _interval(supply.left_at_need_si, supply.unit.from_si),
        "allowance": rate(supply.allowance_si_per_s),
        "lasts_probability": supply.lasts_probability,
        "band": None if supply.band is None else supply.band.value,
        "why": supply.why,
        "stores": {store.name: _store(supply, store) for store in supply.stores},
    }


def _store(supply: SupplyStatus, store: StoreStatus) -> dict[str, Any]:
    amount = _maybe(supply.unit.from_si)
    return {
        "state": store.state.value,
        "on_board": amount(store.on_board_si),
        "residual": amount(store.residual_si),
        "basis": store.basis,
        "quality": store.quality.value,
        "age_s": store.age_s,
        "why": store.why,
    }


def _interval(interval: Interval | None, shown: Callable[[float], float]) -> dict[str, float | None] | None:
    if interval is None:
        return None
    value = _maybe(shown)
    return {"p05": value(interval.p05), "p50": value(interval.p50), "p95": value(interval.p95)}


def _hours(seconds: float) -> float:
    return seconds / 3600.0


def _maybe(shown: Callable[[float], float]) -> Callable[[float | None], float | None]:
    return lambda value: None if value is None else shown(value)


def _utc(snapshot: Snapshot, at_s: float | None) -> str | None:
    return None if at_s is None else format_utc(at_epoch_plus(snapshot.epoch, at_s))
