"""A Snapshot and journal entries as JSON: the documented schema, format 1.

Times are RFC 3339 UTC, times to go in hours (``_h``), amounts numbers in the ``unit`` beside them. A figure
that cannot be had is null, with the reason in ``why``. Nothing is reckoned here.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from console.display import velocity_unit
from console.engine.first_end import first_end, unknown_ends
from console.engine.reading import cabin_keys
from console.engine.snapshot import Need, Snapshot, StoreStatus, SupplyStatus, UseRate
from console.instants import format_utc
from console.report.export_bus import peak_document, share_document
from console.report.export_cabin import clock_document, module_document, reading_document
from console.report.json_values import hours, interval, maybe, utc
from console.report.learnt import doubt_document, factors_document, unlogged_documents
from console.report.set_aside import set_aside_document

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
        "at": utc(snapshot, snapshot.at_s),
        "elapsed_h": snapshot.at_s / 3600.0,
        "units": snapshot.shown_in.value,
        "feed": {
            "source": snapshot.feed.source,
            "age_s": age_s,
            "quality": snapshot.feed.quality.value,
            "faults": list(snapshot.feed.faults),
            "readings": {
                name: {
                    "quality": reading.quality.value,
                    "at": utc(snapshot, reading.at_s),
                    "age_s": reading.age_s(snapshot.at_s),
                    "why": reading.why,
                }
                for name, reading in snapshot.feed.readings.items()
            },
        },
        "need": _need(snapshot, snapshot.need),
        "first": _first(snapshot),
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
            key: reading_document(reading, snapshot.shown_in)
            for key, reading in zip(cabin_keys(snapshot.cabin), snapshot.cabin, strict=True)
        },
        "cabin_clocks": [clock_document(clock, snapshot.shown_in) for clock in snapshot.clocks],
        "peaks": [peak_document(snapshot, peak) for peak in snapshot.peaks],
        "modules": {drop.module: module_document(snapshot, drop) for drop in snapshot.drops},
        "doubts": [doubt_document(snapshot, doubt) for doubt in snapshot.doubts],
    }


def ledger_document(snapshot: Snapshot, name: str) -> dict[str, Any]:
    """What ``ledger SUPPLY --json`` prints."""
    supply = snapshot.supplies[name]
    return {
        "format": FORMAT,
        "scenario": snapshot.scenario,
        "at": utc(snapshot, snapshot.at_s),
        "supply": name,
        "unit": supply.unit.text,
        "need": _need(snapshot, snapshot.need),
        "units": snapshot.shown_in.value,
        "lines": [
            {
                "kind": line.kind.value,
                "name": line.name,
                "store": line.store or None,
                "amount": supply.unit.from_si(line.amount_si),
            }
            for line in supply.ledger
        ],
        "rates": [_rate(supply, rate) for rate in supply.rates],
        "bus": {store.name: share_document(store.bus) for store in supply.stores if store.bus is not None},
        "peaks": [peak_document(snapshot, peak) for peak in snapshot.peaks if peak.supply == name],
        "set_aside": set_aside_document(supply),
        "why": supply.why,
    }


def _rate(supply: SupplyStatus, rate: UseRate) -> dict[str, Any]:
    """One use at the present configuration: in the supply's unit, of all and of one person."""
    per_hour, per_day = (supply.unit.from_si(rate.rate_si_per_s * length_s) for length_s in (3600.0, 86400.0))
    people = rate.people or None
    return {
        "kind": rate.kind.value,
        "name": rate.name,
        "per_hour": per_hour,
        "per_day": per_day,
        "people": rate.people,
        "per_person_hour": None if people is None else per_hour / people,
        "per_person_day": None if people is None else per_day / people,
        "unit": supply.unit.text,
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


def _first(snapshot: Snapshot) -> dict[str, Any]:
    """What comes first, supply or limit of the cabin, and what could come before it unseen."""
    first = first_end(snapshot)
    return {
        "kind": None if first is None else first.kind.value,
        "name": None if first is None else first.name,
        "margin_h": None if first is None else interval(first.margin_s, hours),
        "unknown": list(unknown_ends(snapshot)),
    }


def _need(snapshot: Snapshot, need: Need) -> dict[str, Any]:
    velocity = velocity_unit(snapshot.shown_in)
    return {
        "option": need.option,
        "at": utc(snapshot, need.at_s),
        "in_h": need.in_s / 3600.0,
        "arrival": utc(snapshot, need.arrival_s),
        "recovery_h": need.recovery_s / 3600.0,
        "hold_h": need.hold_s / 3600.0,
        "decide_by": utc(snapshot, need.decide_by_s),
        "delta_v": maybe(velocity.from_si)(need.delta_v_m_per_s),
        "delta_v_left": maybe(velocity.from_si)(need.delta_v_left_m_per_s),
        "delta_v_unit": velocity.text,
        "decided_at": utc(snapshot, need.decided_at_s),
        "decided_by": need.decided_by,
        "note": need.note,
    }


def _coming(snapshot: Snapshot, which: str) -> dict[str, Any]:
    coming = getattr(snapshot, which)
    return {"name": coming.name, "at": utc(snapshot, coming.at_s), "in_h": coming.in_s / 3600.0}


def _supply(snapshot: Snapshot, supply: SupplyStatus) -> dict[str, Any]:
    amount = maybe(supply.unit.from_si)
    rate = maybe(supply.rate_unit.from_si)
    return {
        "unit": supply.unit.text,
        "on_board": amount(supply.on_board_si),
        "protected": amount(supply.protected_si),
        "isolated": amount(supply.isolated_si),
        "residual": amount(supply.residual_si),
        "reserve": amount(supply.reserve_si),
        "released": amount(supply.released_si),
        "reserve_for": supply.reserve_note,
        "usable": amount(supply.usable_si),
        "quality": supply.quality.value,
        "age_s": supply.age_s,
        "rate_now": rate(supply.rate_now_si_per_s),
        "rate_now_source": None if supply.rate_now_source is None else supply.rate_now_source.value,
        "rate_plan": rate(supply.rate_plan_si_per_s),
        "rate_unit": supply.rate_unit.text,
        "endurance_now_h": interval(supply.endurance_now_s, hours),
        "endurance_plan_h": interval(supply.endurance_plan_s, hours),
        "fitted_lasts_h": interval(supply.fitted_lasts_s, hours),
        "runs_out_at": utc(snapshot, supply.runs_out_at_s),
        "margin_h": interval(supply.margin_s, hours),
        "left_at_need": interval(supply.left_at_need_si, supply.unit.from_si),
        "allowance": rate(supply.allowance_si_per_s),
        "lasts_probability": supply.lasts_probability,
        "band": None if supply.band is None else supply.band.value,
        "why": supply.why,
        "factors": factors_document(supply),
        "unlogged": unlogged_documents(snapshot, supply),
        "stores": {store.name: _store(supply, store) for store in supply.stores},
    }


def _store(supply: SupplyStatus, store: StoreStatus) -> dict[str, Any]:
    amount = maybe(supply.unit.from_si)
    return {
        "state": store.state.value,
        "on_board": amount(store.on_board_si),
        "residual": amount(store.residual_si),
        "basis": store.basis,
        "quality": store.quality.value,
        "age_s": store.age_s,
        "bus": None if store.bus is None else share_document(store.bus),
        "note": store.note,
        "why": store.why,
    }
