"""The ledger's rates: by the hour and the day, for all and for one person, never one for another."""

from __future__ import annotations

import re
from typing import Any

import pytest

from console.engine.snapshot import LineKind, UseRate
from console.report.export import ledger_document
from console.report.ledger import ledger_text
from console.units import UnitSystem


def test_each_use_has_its_four_rates(kit: Any) -> None:
    rates = ledger_document(kit.snapshot(), "oxygen")["rates"]
    crew, leak = rates
    assert crew["people"] == 4
    assert crew["unit"] == "kg"
    assert crew["per_hour"] == pytest.approx(0.31 * 0.8)
    assert crew["per_day"] == pytest.approx(crew["per_hour"] * 24)
    assert crew["per_person_hour"] == pytest.approx(crew["per_hour"] / 4)
    assert crew["per_person_day"] == pytest.approx(crew["per_hour"] * 24 / 4)
    assert (leak["people"], leak["per_person_hour"], leak["per_person_day"]) == (None, None, None)


def test_charge_is_in_amps_and_in_amp_hours_a_day(kit: Any) -> None:
    snapshot = kit.snapshot()
    rates = ledger_document(snapshot, "power")["rates"]
    assert rates[0]["per_hour"] == pytest.approx(0.31 * 0.8)
    assert rates[0]["per_day"] == pytest.approx(0.31 * 0.8 * 24)
    head = next(line for line in ledger_text(snapshot, "power").splitlines() if line.startswith("use now"))
    assert re.search(r" A  A·h per day", head)


def test_what_three_people_breathe_in_a_day_is_not_taken_for_what_one_does(kit: Any) -> None:
    # Three people use 6 to 8 lb of oxygen a day together: common practice, no source.
    day_kg = 7.0 * 0.45359237
    rate = UseRate(kind=LineKind.USE, name="breathing", rate_si_per_s=day_kg / 86400.0, people=3)
    oxygen = kit.supply("oxygen", "kg", 99.0, UnitSystem.US, rates=(rate,))
    snapshot = kit.snapshot(UnitSystem.US, supplies={"oxygen": oxygen})
    lines = ledger_text(snapshot, "oxygen").splitlines()
    at = next(index for index, line in enumerate(lines) if line.startswith("use now, by the model: lb"))
    assert lines[at + 1].split()[-4:] == ["0.292", "7.00", "0.098", "2.34"]
    assert ledger_document(snapshot, "oxygen")["rates"][0]["per_person_day"] == pytest.approx(7.0 / 3)


def test_a_supply_that_nobody_uses_by_the_head_has_no_columns_for_people(kit: Any) -> None:
    leak = UseRate(kind=LineKind.USE, name="leak", rate_si_per_s=1e-5, people=None)
    snapshot = kit.snapshot(supplies={"oxygen": kit.supply("oxygen", "kg", 99.0, rates=(leak,))})
    assert "person" not in ledger_text(snapshot, "oxygen")


def test_an_electrical_supply_shows_currents_and_shares_below(kit: Any) -> None:
    said = ledger_text(kit.snapshot(), "power")
    assert re.search(r"burn OVER\s+T\+35h00m\s+83\.6\s+104\.4\s+80\.0\s+bat-1\s+26\.1\s+25\.0", said)
    assert re.search(r"bat-1\s+25\.0 %\s+measured\s+5\.65 A\s+30\.0 A\s+41\.3 h", said)
    document = ledger_document(kit.snapshot(), "power")
    assert [peak["name"] for peak in document["peaks"]] == ["coast", "burn"]
    assert set(document["bus"]) == {"bat-1"}
    assert ledger_document(kit.snapshot(), "water")["peaks"] == []


def test_no_line_of_a_ledgers_tables_is_wider_than_80_columns(kit: Any) -> None:
    snapshot = kit.snapshot()
    for name in snapshot.supplies:
        assert max(map(len, ledger_text(snapshot, name).splitlines())) <= 80
