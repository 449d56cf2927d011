"""The brief and its card in every form: no word surer than the figures, no figure without its word."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

CONFIGS = Path(__file__).parents[2] / "configs"
SCENARIOS = ("tern", "vole", "whelk")
FORMS = ((), ("--long",), ("--json",), ("--card",), ("--form", "markdown"), ("--form", "markdown", "--long"))
TOO_SURE = re.compile(r"\b(will|certain|certainly|sure|surely|safe|safely|guaranteed|definitely)\b", re.I)
METRIC = re.compile(r"\d (kg|kg/h|L|L/h|m3|k?Pa|MPa|bar|degC|m/s)\b")


@pytest.mark.parametrize("form", FORMS, ids=" ".join)
@pytest.mark.parametrize("scenario", SCENARIOS)
def test_no_form_has_a_word_surer_than_the_figures(
    endurance: Any, scenario: str, form: tuple[str, ...]
) -> None:
    said = endurance("brief", *form, CONFIGS / scenario)
    assert said.status == 0
    assert TOO_SURE.findall(said.out) == []


@pytest.mark.parametrize("form", FORMS, ids=" ".join)
@pytest.mark.parametrize("scenario", SCENARIOS)
def test_in_us_units_only_the_gauges_own_figures_are_metric(
    endurance: Any, scenario: str, form: tuple[str, ...]
) -> None:
    said = endurance("brief", *form, "--units", "us", CONFIGS / scenario)
    assert said.status == 0
    # A gauge is read in the unit that it shows, whatever people read figures in.
    gauges = re.search(r"^GAUGES .*?(?=^CABIN)", said.out, flags=re.M | re.S)
    shown = said.out if gauges is None else said.out.replace(gauges.group(), "")
    assert METRIC.findall(shown) == []
    # What is in the store by it is read in theirs.
    assert gauges is None or not re.findall(r"= [\d.]+ (kg|L|m3)\b", gauges.group())


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_the_need_on_the_card_says_of_each_margin_whether_it_is_short(endurance: Any, scenario: str) -> None:
    card = endurance("brief", "--card", CONFIGS / scenario).out
    head = re.sub(r"\s+", " ", card[card.index("NEED: ") : card.index("QUANTITIES")])
    margins = re.findall(r"[\d.]+ h (short|to spare) (at the low end|central)", head)
    assert [end for _, end in margins] == ["at the low end", "central"]
    assert "~" not in head


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_an_absorbents_heat_is_among_the_unknown_where_a_warm_limit_leaves_it_out(
    endurance: Any, scenario: str
) -> None:
    document = endurance("brief", "--json", CONFIGS / scenario).document
    clocks = endurance("margins", "--json", CONFIGS / scenario).document["cabin_clocks"]
    warm = {clock["limit"] for clock in clocks if "heat that an absorbent gives off" in clock["why"]}
    unknown = document["answers"][-1]["answer"].lower()
    found = re.search(r"[^.]*: the heat that an absorbent gives off", unknown)
    assert (found is not None) == bool(warm)
    assert all(name.lower() in (found.group() if found else "") for name in warm)
