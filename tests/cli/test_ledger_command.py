"""``endurance ledger``: every unit accounted for, in every supply of every demo scenario."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import pytest

from console.scenario.load import load_scenario, packaged_scenario, packaged_scenario_names

LEDGERS = [
    (scenario, supply)
    for scenario in packaged_scenario_names()
    for supply in load_scenario(packaged_scenario(scenario)).craft.supplies
]


@pytest.mark.parametrize(("scenario", "supply"), LEDGERS)
@pytest.mark.parametrize("units", ["as-written", "us"])
def test_the_ledger_closes_to_a_billionth(endurance: Any, scenario: str, supply: str, units: str) -> None:
    document = endurance("ledger", supply, "--units", units, "--json", packaged_scenario(scenario)).document
    *lines, left = [line["amount"] for line in document["lines"]]
    assert document["lines"][0]["kind"] == "on board"
    assert document["lines"][-1]["kind"] == "left at need"
    assert math.fsum(lines) == pytest.approx(left, rel=1e-9, abs=1e-9 * lines[0])


@pytest.mark.parametrize(("scenario", "supply"), LEDGERS)
def test_the_ledger_ends_where_margins_say_it_does(endurance: Any, scenario: str, supply: str) -> None:
    folder = packaged_scenario(scenario)
    lines = endurance("ledger", supply, "--json", folder).document["lines"]
    told = endurance("margins", "--json", folder).document["supplies"][supply]
    assert lines[0]["amount"] == pytest.approx(told["on_board"], rel=1e-9)
    assert lines[-1]["amount"] == pytest.approx(told["left_at_need"]["p50"], rel=1e-9)


@pytest.mark.parametrize(("scenario", "supply"), LEDGERS)
def test_the_rates_of_the_uses_are_those_of_the_plan(endurance: Any, scenario: str, supply: str) -> None:
    folder = packaged_scenario(scenario)
    rates = endurance("ledger", supply, "--json", folder).document["rates"]
    told = endurance("margins", "--json", folder).document["supplies"][supply]
    per_hour = math.fsum(rate["per_hour"] for rate in rates)
    assert per_hour == pytest.approx(told["rate_plan"], rel=1e-9)
    for rate in rates:
        assert rate["per_day"] == pytest.approx(24 * rate["per_hour"], rel=1e-12)
        if rate["people"]:
            assert rate["per_person_day"] * rate["people"] == pytest.approx(rate["per_day"], rel=1e-12)


def test_the_text_says_the_units_of_its_rates_and_whose_they_are(endurance: Any, tern: Path) -> None:
    said = endurance("ledger", "oxygen", tern).out
    head = next(line for line in said.splitlines() if line.startswith("use now"))
    columns = ["use now, by the model: kg", "per hour", "per day", "per person-hour", "per person-day"]
    assert re.split(r"  +", head) == columns
    assert "crew-oxygen, 4 people" in said
    power = endurance("ledger", "power", tern).out
    assert "A·h per day" in power
    assert "person" not in power
