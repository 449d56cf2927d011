"""What is protected, in reserve or shut, and for what: the fifth question."""

from __future__ import annotations

from typing import Any

from console.craft.model import StoreState
from console.display import amount_text
from console.engine.briefing import Briefing
from console.engine.reading import Quality
from console.engine.snapshot import LineKind, StoreStatus, SupplyStatus
from console.report.brief import grounds
from console.report.brief.answer import Answer
from console.report.brief.words import listed, sentence
from console.report.json_values import maybe

_Kept = tuple[SupplyStatus, StoreStatus]


def set_aside(briefing: Briefing) -> Answer:
    """What is protected and in reserve."""
    snapshot = briefing.snapshot
    supplies = tuple(snapshot.supplies.values())
    protected = _in_state(supplies, StoreState.PROTECTED)
    reserves = [supply for supply in supplies if supply.reserve_si > 0.0 or supply.released_si > 0.0]
    shut = _in_state(supplies, StoreState.ISOLATED)
    locked = listed([f"{store.name} {_held(supply, store)}" for supply, store in protected], 3)
    kept = listed([f"{_reserve(supply)} {supply.name}" for supply in reserves], 3)
    brief = [f"protected {locked}"] if protected else []
    brief += [f"in reserve {kept}"] if reserves else []
    return Answer(
        head="Set aside",
        question="What is protected and in reserve, and for what?",
        short=sentence("; ".join(brief) or "nothing is protected, and there is no reserve"),
        shorter=sentence(
            f"{listed([store.name for _, store in protected], 3) or 'nothing'} protected; reserve of "
            f"{listed([supply.name for supply in reserves], 3) or 'nothing'}"
        ),
        sentences=tuple(
            sentence(each)
            for each in (
                *(_protected_words(*each) for each in protected),
                *(_reserve_words(supply) for supply in reserves),
                *(_shut_words(*each) for each in shut),
            )
        )
        or ("Nothing is protected, nothing is shut, and there is no reserve.",),
        assumptions=(
            "what is protected is in no margin; a reserve is kept from every margin until a logged decision "
            "releases it",
            "a shut store counts from the moment at which the plan or a logged step opens it",
        ),
        confidence=grounds.confidence(
            snapshot, [store.quality for _, store in (*protected, *shut)] or [Quality.GOOD]
        ),
        figures={supply.name: _figures(supply, protected, shut) for supply in supplies},
    )


def _in_state(supplies: tuple[SupplyStatus, ...], state: StoreState) -> list[_Kept]:
    return [(supply, store) for supply in supplies for store in supply.stores if store.state is state]


def _held(supply: SupplyStatus, store: StoreStatus) -> str:
    return amount_text(store.on_board_si, supply.unit)


def _reserve(supply: SupplyStatus) -> str:
    return amount_text(supply.reserve_si, supply.unit)


def _for(note: str) -> str:
    if not note:
        return "; the files do not say for what"
    return f", {note}" if note.startswith("for ") else f": {note}"


def _protected_words(supply: SupplyStatus, store: StoreStatus) -> str:
    return f"{store.name}, {_held(supply, store)} of {supply.name}, is protected{_for(store.note)}"


def _reserve_words(supply: SupplyStatus) -> str:
    released = ""
    if supply.released_si > 0.0:
        released = f" ({amount_text(supply.released_si, supply.unit)} more was released by decision)"
    return f"{_reserve(supply)} of {supply.name} is in reserve{released}{_for(supply.reserve_note)}"


def _shut_words(supply: SupplyStatus, store: StoreStatus) -> str:
    opened = any(line.kind is LineKind.OPENED and line.store == store.name for line in supply.ledger)
    word = "is shut, and the plan opens it before need" if opened else "is shut, and nothing opens it"
    note = f" ({store.note})" if store.note else ""
    return f"{store.name}, {_held(supply, store)} of {supply.name}, {word}{note}"


def _figures(supply: SupplyStatus, protected: list[_Kept], shut: list[_Kept]) -> dict[str, Any]:
    amount = maybe(supply.unit.from_si)
    return {
        "unit": supply.unit.text,
        "reserve": amount(supply.reserve_si),
        "released": amount(supply.released_si),
        "protected": amount(supply.protected_si),
        "isolated": amount(supply.isolated_si),
        "protected_stores": {
            store.name: amount(store.on_board_si) for owner, store in protected if owner is supply
        },
        "isolated_stores": {
            store.name: amount(store.on_board_si) for owner, store in shut if owner is supply
        },
    }
