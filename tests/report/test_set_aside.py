"""What is set aside is shown with what it is for, and what was released of it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from console.craft.model import StoreState
from console.report.ledger import ledger_text
from console.report.set_aside import set_aside_document, supply_aside_lines
from console.report.tables import committed_text, margins_text


def test_a_protected_store_and_a_reserve_say_what_they_are_for(kit: Any) -> None:
    entry = kit.store(
        "bat-entry",
        state=StoreState.PROTECTED,
        on_board_si=89.0 * 3600.0,
        note="for entry and parachutes alone; not to be touched before",
    )
    power = kit.supply("power", "A*h", 90.0, stores=(entry, kit.store("bat-1")), reserve_si=0.0)
    assert supply_aside_lines(power) == [
        "protected: bat-entry 89.0 A·h, for entry and parachutes alone; not to be touched",
        "    before",
    ]
    water = kit.supply("water", "kg", 90.0, reserve_si=5.0, released_si=3.0, reserve_note="a day of drinking")
    assert " ".join(supply_aside_lines(water)) == (
        "reserve: water 5.00 kg (3.00 kg released by decision): a day of drinking"
    )
    gone = kit.supply("water", "kg", 90.0, reserve_si=0.0, released_si=8.0)
    assert supply_aside_lines(gone) == ["reserve: water 0 kg (8.00 kg released by decision)"]


def test_where_nothing_is_set_aside_nothing_is_said(kit: Any) -> None:
    assert supply_aside_lines(kit.supply("water", "kg", 90.0, reserve_si=0.0)) == []


def test_margins_and_the_ledger_show_it(kit: Any) -> None:
    water = kit.supply("water", "kg", 90.0, reserve_si=5.0, reserve_note="a day of drinking")
    snapshot = kit.snapshot(supplies={"water": water}, shortest="water")
    for text in (margins_text(snapshot), ledger_text(snapshot, "water")):
        assert "reserve: water 5.00 kg: a day of drinking" in text.splitlines()


def test_the_document_has_what_is_kept_what_was_released_and_what_for(kit: Any) -> None:
    water = kit.supply("water", "kg", 90.0, reserve_si=5.0, released_si=3.0, reserve_note="drinking")
    assert set_aside_document(water) == {
        "protected": {},
        "reserve": {"amount": 5.0, "released": 3.0, "for": "drinking"},
    }
    unread = kit.store("tank", state=StoreState.PROTECTED, on_board_si=None, note="for entry")
    document = set_aside_document(kit.supply("water", "kg", 90.0, stores=(unread,)))
    assert document["protected"] == {"tank": {"on_board": None, "for": "for entry"}}


def test_a_commitment_says_who_when_and_whether_late(kit: Any) -> None:
    hour = 3600.0
    need = replace(kit.snapshot().need, decided_at_s=28 * hour, decided_by="mira", decide_by_s=29 * hour)
    assert committed_text(need) == "committed at T+28h00m by mira (decide-by T+29h00m)"
    late = replace(kit.snapshot().need, decided_at_s=30 * hour, decided_by="mira", decide_by_s=29 * hour)
    assert committed_text(late) == "committed at T+30h00m by mira (LATE: decide-by T+29h00m)"
    assert committed_text(replace(kit.snapshot().need, decided_at_s=None, decided_by="")) == ""
