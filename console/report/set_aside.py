"""What is set aside and for what: protected stores and reserves, in words and as JSON. Reckons nothing."""

from __future__ import annotations

from typing import Any

from console.craft.model import StoreState
from console.display import amount_text
from console.engine.snapshot import Snapshot, StoreStatus, SupplyStatus
from console.report.columns import wrapped


def set_aside_lines(snapshot: Snapshot) -> list[str]:
    """Every protected store and every reserve of the craft; nothing where there is none."""
    return [line for supply in snapshot.supplies.values() for line in supply_aside_lines(supply)]


def supply_aside_lines(supply: SupplyStatus) -> list[str]:
    """The same of one supply."""
    sentences = [_protected(supply, store) for store in _protected_stores(supply)]
    if supply.reserve_si > 0.0 or supply.released_si > 0.0:
        sentences.append(_reserve(supply))
    return [line for sentence in sentences for line in wrapped(sentence)]


def set_aside_document(supply: SupplyStatus) -> dict[str, Any]:
    """The same for the ledger's JSON."""
    amount = supply.unit.from_si
    return {
        "protected": {
            store.name: {
                "on_board": None if store.on_board_si is None else amount(store.on_board_si),
                "for": store.note,
            }
            for store in _protected_stores(supply)
        },
        "reserve": {
            "amount": amount(supply.reserve_si),
            "released": amount(supply.released_si),
            "for": supply.reserve_note,
        },
    }


def _protected_stores(supply: SupplyStatus) -> list[StoreStatus]:
    return [store for store in supply.stores if store.state is StoreState.PROTECTED]


def _protected(supply: SupplyStatus, store: StoreStatus) -> str:
    return f"protected: {store.name} {amount_text(store.on_board_si, supply.unit)}{_for(store.note)}"


def _reserve(supply: SupplyStatus) -> str:
    kept = f"reserve: {supply.name} {amount_text(supply.reserve_si, supply.unit)}"
    if supply.released_si > 0.0:
        kept += f" ({amount_text(supply.released_si, supply.unit)} released by decision)"
    return f"{kept}{_for(supply.reserve_note)}"


def _for(note: str) -> str:
    """What it is for; a note may say so in its own words."""
    if not note:
        return ""
    return f", {note}" if note.startswith("for ") else f": {note}"
